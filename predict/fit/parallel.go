package fit

import (
	"runtime"
	"sync"
	"sync/atomic"

	"sagline/predict"
)

// inParallel does the same work for each of some dives on all cores, each
// worker with a model and a scratch of its own. Dives do not bear on each
// other, so the results are those of one after the other; so is the error, which
// is that of the first dive to have one.
func inParallel(v *predict.Vehicle, l layout, dives []dive, work func(i int, m *predict.Model, sc *scratch) error) error {
	errs := make([]error, len(dives))
	var next atomic.Int64
	var all sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(dives)) {
		all.Go(func() {
			m, sc := predict.NewModel(v), newScratch(l.dim, mostCells(dives))
			for i := int(next.Add(1)) - 1; i < len(dives); i = int(next.Add(1)) - 1 {
				errs[i] = work(i, m, sc)
			}
		})
	}
	all.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// counter tells progress, when not nil, of one dive after the other.
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
