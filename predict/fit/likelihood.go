package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/normal"
)

// A Likelihood is what one dive says of the space's parameters and of any level
// added to them, its own scatter integrated out: Log + Lin·δ − ½·δᵀ·Info·δ, Info
// in rows of len(Lin), full.
type Likelihood struct {
	Info, Lin []float64
	Log       float64
}

// A Free is a place that a dive has a value of its own at, within a standard
// deviation.
type Free struct {
	Place int
	SD    float64
}

// Integrate integrates scatter of the given variances out of a dive's
// likelihood; to is storage to use again.
func (r *Result) Integrate(q *Quadratic, variance []float64, to Likelihood) Likelihood {
	ns := len(q.Lin)
	if to.Info == nil {
		to = Likelihood{Info: make([]float64, ns*ns), Lin: make([]float64, ns)}
	}
	places := r.Space.Scatter
	nd := len(places)
	// With W = V⁻¹ + I_UU = UᵀU: I − X·Xᵀ for X = I_·U·U⁻¹.
	w := mat.NewSymDense(nd, nil)
	x := blas64.General{Rows: ns, Cols: nd, Stride: nd, Data: make([]float64, ns*nd)}
	y := make([]float64, nd)
	for i, a := range places {
		for j := i; j < nd; j++ {
			w.SetSym(i, j, q.Info.At(a, places[j]))
		}
		w.SetSym(i, i, w.At(i, i)+1/variance[i])
		y[i] = q.Lin[a]
		for k := range ns {
			x.Data[k*nd+i] = q.Info.At(k, a)
		}
	}
	copy(to.Lin, q.Lin)
	for i := range ns {
		for j := range ns {
			to.Info[i*ns+j] = q.Info.At(i, j)
		}
	}
	u, ok := lapack64.Potrf(w.RawSymmetric())
	if !ok { // beyond what can be computed with: says nothing
		clear(to.Info)
		clear(to.Lin)
		to.Log = 0
		return to
	}
	blas64.Trsm(blas.Right, blas.NoTrans, 1, u, x)
	blas64.Trsv(blas.Trans, u, normal.Vector(y))
	to.Log = q.Log + 0.5*blas64.Dot(normal.Vector(y), normal.Vector(y))
	for i, v := range variance {
		to.Log -= 0.5*math.Log(v) + math.Log(u.Data[i*u.Stride+i])
	}
	blas64.Gemm(blas.NoTrans, blas.Trans, -1, x, x, 1, blas64.General{Rows: ns, Cols: ns, Stride: ns, Data: to.Info})
	blas64.Gemv(blas.NoTrans, -1, x, normal.Vector(y), 1, normal.Vector(to.Lin))
	return to
}

// Causes is the table of what may have changed of the fitted vehicle.
func (r *Result) Causes() []causes.Cause { return r.Space.Causes }

// Places is how many parameters the space holds, Place where one of
// predict.Params stands in it (−1: not at all), Static the places of those that
// the file does not tell exactly, and Param which one stands at a place.
func (r *Result) Places() int         { return len(r.Space.All) }
func (r *Result) Place(param int) int { return r.Space.Place[param] }
func (r *Result) Static() []int       { return r.Space.Static }
func (r *Result) Param(place int) int { return r.Space.All[place] }

// UsualPrecision is the inverse of UsualCov.
func (r *Result) UsualPrecision() *mat.SymDense { return r.usualPrecision }

// ScatterAt is the index of a place among what scatters, −1 where it does not.
func (r *Result) ScatterAt(place int) int { return slices.Index(r.Space.Scatter, place) }

// SoundOf is what the vehicle has, when sound, of a parameter that is shown
// absolute: the battery's resistance in Ω, the insulation's logarithm.
func (r *Result) SoundOf(param int) float64 {
	if param == predict.BatteryOhm {
		return r.Model.Vehicle.Battery.ResistanceOhm + r.Base[param]
	}
	return r.Base[param]
}
