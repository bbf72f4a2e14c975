package fit

import (
	"runtime"
	"sync"
	"sync/atomic"

	"sagline/predict"
)

// A worker has models, one an era, and a scratch of its own.
type worker struct {
	models []*predict.Model
	sc     *scratch
}

// newWorkers are one for each core, or for each of fewer dives, but at least
// one, which has the given models.
func newWorkers(models []*predict.Model, dives []dive) []worker {
	cells, dim := mostCells(dives), models[0].Dim()
	out := []worker{{models, newScratch(dim, cells)}}
	for len(out) < min(runtime.GOMAXPROCS(0), len(dives)) {
		w := worker{sc: newScratch(dim, cells)}
		for _, m := range models {
			w.models = append(w.models, predict.NewModel(m.Vehicle))
		}
		out = append(out, w)
	}
	return out
}

// inParallel does the same work for each of n dives by all workers. Dives do
// not bear on each other, so the results are those of one after the other; so is
// the error, which is that of the first dive to have one.
func inParallel(workers []worker, n int, work func(i int, w worker) error) error {
	errs := make([]error, n)
	var next atomic.Int64
	serve := func(w worker) {
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
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// counter counts progress, when not nil, of one dive after the other.
func counter(progress func(done, all int), all int) func() {
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
