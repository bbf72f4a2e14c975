// Package parallel does work on several cores at once, each worker with what it works with. It assumes
// that pieces of work do not bear on each other.
package parallel

import (
	"cmp"
	"sync"
	"sync/atomic"
)

// Each does the same work for each of n things by all workers. They must
// not bear on each other, so the results are those of one after the other; so is
// the error, which is that of the first to have one.
func Each[W any](workers []W, n int, work func(i int, w W) error) error {
	errs := make([]error, n)
	var next atomic.Int64
	serve := func(w W) {
		for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
			errs[i] = work(i, w)
		}
	}
	var all sync.WaitGroup
	for _, w := range workers[1:] {
		all.Go(func() { serve(w) })
	}
	serve(workers[0])
	all.Wait()
	return cmp.Or(errs...)
}

// Counter counts progress, when not nil, of one thing after the other.
func Counter(progress func(done, all int), all int) func() {
	if progress == nil {
		return func() {}
	}
	var mu sync.Mutex
	done := 0
	return func() {
		mu.Lock()
		defer mu.Unlock()
		done++
		progress(done, all)
	}
}
