package normal

import (
	"math"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"
	"gonum.org/v1/gonum/mat"
)

// A Quadratic is one dive's log-likelihood Log + Lin·δ − ½·δᵀ·Info·δ in the departure δ of several
// parameters from a base.
type Quadratic struct {
	Info *mat.SymDense // per unit² of each parameter
	Lin  []float64
	Log  float64
}

// Move moves the base of q by moved; the log-likelihood stays the same.
func (q *Quadratic) Move(moved []float64) {
	by := make([]float64, len(moved))
	blas64.Symv(1, q.Info.RawSymmetric(), Vector(moved), 0, Vector(by))
	for a := range moved {
		q.Log += (q.Lin[a] - 0.5*by[a]) * moved[a]
		q.Lin[a] -= by[a]
	}
}

// A Likelihood is what one dive says of the space's parameters and of any level added to them, its
// own scatter integrated out: Log + Lin·δ − ½·δᵀ·Info·δ. Info holds both triangles in rows of
// len(Lin).
type Likelihood struct {
	Info, Lin []float64
	Log       float64
}

// Integrate integrates scatter with the given variances at some places out of a likelihood. It
// reuses to as storage.
func (q *Quadratic) Integrate(places []int, variance []float64, to Likelihood) Likelihood {
	ns := len(q.Lin)
	if to.Info == nil {
		to = Likelihood{Info: make([]float64, ns*ns), Lin: make([]float64, ns)}
	}
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
	if !ok { // beyond what can be computed: the dive says nothing
		clear(to.Info)
		clear(to.Lin)
		to.Log = 0
		return to
	}
	blas64.Trsm(blas.Right, blas.NoTrans, 1, u, x)
	blas64.Trsv(blas.Trans, u, Vector(y))
	to.Log = q.Log + 0.5*blas64.Dot(Vector(y), Vector(y))
	for i, v := range variance {
		to.Log -= 0.5*math.Log(v) + math.Log(u.Data[i*u.Stride+i])
	}
	blas64.Gemm(blas.NoTrans, blas.Trans, -1, x, x, 1, blas64.General{Rows: ns, Cols: ns, Stride: ns, Data: to.Info})
	blas64.Gemv(blas.NoTrans, -1, x, Vector(y), 1, Vector(to.Lin))
	return to
}
