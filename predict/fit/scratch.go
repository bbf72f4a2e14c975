package fit

import (
	"sagline/predict"
	"sagline/predict/lsq"
)

// scratch is the work of one fit after the other of one vehicle's dives.
type scratch struct {
	grad   [][]float64 // predict.Outputs × Dim, of one observation
	jac    [][]float64 // cells × Dim
	r      []float64   // cells
	pt     predict.Point
	params predict.Params

	solvers map[[2]int]*lsq.Solver // by unknowns and residuals
}

// newScratch is enough for dives of up to so many cells.
func newScratch(dim, cells int) *scratch {
	return &scratch{grad: rows(int(predict.Outputs), dim), jac: rows(cells, dim), r: make([]float64, cells),
		params: make(predict.Params, dim), solvers: map[[2]int]*lsq.Solver{}}
}

// mostSolvers bounds what is kept: dives of a log have much the same shape.
const mostSolvers = 16

// fit minimises a problem; the solver is kept for the next of its size.
func (sc *scratch) fit(p lsq.Problem, x []float64) (*lsq.Result, error) {
	size := [2]int{p.Dim, p.Size}
	s := sc.solvers[size]
	if s == nil {
		var err error
		if s, err = lsq.NewSolver(p.Dim, p.Size); err != nil {
			return nil, err
		}
		if len(sc.solvers) == mostSolvers {
			clear(sc.solvers)
		}
		sc.solvers[size] = s
	}
	return s.Fit(p, x, nil)
}

func rows(n, dim int) [][]float64 {
	out, data := make([][]float64, n), make([]float64, n*dim)
	for i := range out {
		out[i] = data[i*dim : (i+1)*dim : (i+1)*dim]
	}
	return out
}

func mostCells(dives []dive) int {
	most := 0
	for i := range dives {
		most = max(most, len(dives[i].cells))
	}
	return most
}
