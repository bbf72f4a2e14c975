// Package parallel runs work on several cores, with a state of its own for each worker. It assumes
// that the pieces of work are independent.
package parallel

import (
	"cmp"
	"sync"
	"sync/atomic"
)

// Each calls work for each i below n, spread over the workers. The calls must be independent, so
// that the results are the same as in sequence. The error is the first by i.
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

// Counter returns a function that counts one more thing done and reports it to progress, if that is
// not nil. It is safe for concurrent use.
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
