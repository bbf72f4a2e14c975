package fit

import (
	"runtime"

	"sagline/predict"
	"sagline/predict/lsq"
	"sagline/predict/normal"
	"sagline/session/quantity"
)

// scratch is storage reused by successive fits of one vehicle's dives.
type scratch struct {
	grad      [][]float64 // quantity.Count × Dim, of one observation
	jac       [][]float64 // cells × Dim
	sound     [][]float64 // jac of a sound vehicle
	r, per    []float64   // cells
	pt        predict.Point
	params    predict.Params
	predicted predictions
	solver    lsq.Solver
	line      lineRows

	cells, fresh []Cell // before something is tried
	best         []Cell // of the best fit so far
}

// newScratch allocates for dives of up to cells cells and vehicles of dim parameters.
func newScratch(dim, cells int) *scratch {
	return &scratch{
		grad: normal.Rows(int(quantity.Count), dim), jac: normal.Rows(cells, dim), sound: normal.Rows(cells, dim), r: make([]float64, cells), per: make([]float64, cells),
		predicted: predictions{want: make([]float64, cells), slope: normal.Rows(cells, dim)},
		params:    make(predict.Params, dim),
		cells:     make([]Cell, 0, cells), best: make([]Cell, 0, cells), fresh: make([]Cell, 0, cells),
	}
}

func mostCells(dives []dive) int {
	most := 0
	for i := range dives {
		most = max(most, len(dives[i].cells))
	}
	return most
}

// A worker has one model for each era and a scratch of its own.
type worker struct {
	models []*predict.Model
	sc     *scratch
}

// newWorkers returns a worker for each core, but no more than dives and at least one. The first
// uses the given models, the others copies.
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
