package lsq

import (
	"math"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"
)

// factor is the QR factorisation of a matrix with a right-hand side as its
// last column, rows×(n+1). Factored together, that column becomes Qᵀ·rhs and
// Q itself is never wanted.
type factor struct {
	n    int
	a    blas64.General
	tau  []float64
	work []float64
}

// shape makes room for n columns of the given rows ≥ n.
func (f *factor) shape(rows, n int) {
	cols := n + 1
	f.n = n
	f.a = blas64.General{Rows: rows, Cols: cols, Stride: cols, Data: resized(f.a.Data, rows*cols)}
	f.tau, f.work = resized(f.tau, min(rows, cols)), resized(f.work, 1)
	lapack64.Geqrf(f.a, f.tau, f.work, -1) // asks for the size of work
	f.work = resized(f.work, int(f.work[0]))
}

// columns returns the first n columns, a view.
func (f *factor) columns() blas64.General {
	return blas64.General{Rows: f.a.Rows, Cols: f.n, Stride: f.a.Stride, Data: f.a.Data[:len(f.a.Data)-1]}
}

// row returns the n+1 values of row i.
func (f *factor) row(i int) []float64 {
	return f.a.Data[i*f.a.Stride : i*f.a.Stride+f.a.Cols]
}

// factorize replaces the matrix by R in its upper triangle and its last
// column by Qᵀ·rhs.
func (f *factor) factorize() {
	lapack64.Geqrf(f.a, f.tau, f.work, len(f.work))
}

// upper returns R, a view.
func (f *factor) upper() blas64.Triangular {
	return blas64.Triangular{N: f.n, Stride: f.a.Stride, Data: f.a.Data, Uplo: blas.Upper, Diag: blas.NonUnit}
}

// rhs returns the first n values of Qᵀ·rhs, a view.
func (f *factor) rhs() blas64.Vector {
	return blas64.Vector{N: f.n, Inc: f.a.Stride, Data: f.a.Data[f.n:]}
}

// logDet is the logarithm of the determinant of AᵀA for the matrix A that was
// factored, its last column left out: −Inf when it lacks rank.
func (f *factor) logDet() float64 {
	sum := 0.0
	for j := range f.n {
		sum += 2 * math.Log(math.Abs(f.row(j)[j]))
	}
	return sum
}

// columnNorms sets the n norms of the columns of R, which are those of the
// matrix that was factored.
func (f *factor) columnNorms(norms []float64) {
	for j := range norms {
		norms[j] = blas64.Nrm2(blas64.Vector{N: j + 1, Inc: f.a.Stride, Data: f.a.Data[j:]})
	}
}

func vector(x []float64) blas64.Vector { return blas64.Vector{N: len(x), Inc: 1, Data: x} }
