package fit

import (
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/lsq"
	"sagline/session/quantity"
)

// scratch is the work of one fit after the other of one vehicle's dives.
type scratch struct {
	grad   [][]float64 // quantity.Predicted × Dim, of one observation
	jac    [][]float64 // cells × Dim
	r      []float64   // cells
	pt     predict.Point
	params predict.Params
	seen   predictions
	solver lsq.Solver

	cells, kept, fresh []Cell // as they were before something was tried

	slopes, shared []float64     // by the shared parameters, then the dive's battery
	dive           information   // of the same
	joint          information   // of the drifts, the baseline's battery and the rest shared
	cov            *mat.SymDense // of the drifts and the baseline's battery
	base, one      *gauss
	parts          []part
	moments        []float64 // means and deviations of parts
}

// newScratch is enough for dives of up to so many cells.
func newScratch(l layout, cells int) *scratch {
	ns, nd := len(l.shared), len(l.drift)
	return &scratch{
		grad: rows(quantity.Predicted, l.dim), jac: rows(cells, l.dim), r: make([]float64, cells),
		seen:   predictions{want: make([]float64, cells), slope: rows(cells, l.dim)},
		params: make(predict.Params, l.dim),
		cells:  make([]Cell, 0, cells), kept: make([]Cell, 0, cells), fresh: make([]Cell, 0, cells),
		slopes: make([]float64, ns+2), shared: make([]float64, ns+2),
		dive: newInformation(ns + 2), joint: newInformation(ns + nd),
		cov: mat.NewSymDense(nd+1, nil), base: newGauss(nd + 1), one: newGauss(nd + 1),
		parts: make([]part, mostParts(nd)), moments: make([]float64, 2*nd*mostParts(nd)),
	}
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
