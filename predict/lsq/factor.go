package lsq

import (
	"math"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
)

// A layout says which unknowns a row of a Jacobian may depend on: the own unknowns of its group,
// and those shared by all rows. A row stores only these columns, own first, and one more for a
// right-hand side.
type layout struct {
	perGroup, groups, shared int
}

func (l layout) dim() int    { return l.perGroup*l.groups + l.shared }
func (l layout) width() int  { return l.perGroup + l.shared }
func (l layout) common() int { return l.perGroup * l.groups } // index of the first shared unknown

// column returns the column of unknown i in a row.
func (l layout) column(i int) int {
	if i < l.common() {
		return i % l.perGroup
	}
	return i - l.common() + l.perGroup
}

// first returns the first unknown of the block that unknown i belongs to, its group's or the shared
// one. Row i of a triangle starts there; its entries before the diagonal are zero.
func (l layout) first(i int) int {
	if i < l.common() {
		return i / l.perGroup * l.perGroup
	}
	return l.common()
}

// A matrix holds rows of a layout, with the right-hand side last.
type matrix struct {
	layout
	a    blas64.General
	v, w []float64 // scratch of a reflection: by row, and by column
}

func (m *matrix) shape(rows int, l layout) {
	cols := l.width() + 1
	m.layout = l
	m.a = blas64.General{Rows: rows, Cols: cols, Stride: cols, Data: resized(m.a.Data, rows*cols)}
	m.v, m.w = resized(m.v, max(blockRows, rows)), resized(m.w, cols)
}

// columns returns a view of all columns but the right-hand side.
func (m *matrix) columns() blas64.General {
	return blas64.General{Rows: m.a.Rows, Cols: m.width(), Stride: m.a.Stride, Data: m.a.Data[:len(m.a.Data)-1]}
}

// row returns row i and its right-hand side.
func (m *matrix) row(i int) []float64 {
	return m.a.Data[i*m.a.Stride : i*m.a.Stride+m.a.Cols]
}

// blockRows is the number of rows taken into a triangle at a time: few enough to stay in the
// processor's cache.
const blockRows = 64

// reduce sets t to the R of the QR factorisation of m, and t's right-hand side to Qᵀ·rhs. The first
// rows of m belong to the groups; rows holds their number by group. It overwrites m.
//
// Each group's own unknowns are eliminated from its rows first; what is left of all rows determines
// the shared ones (Björck, Numerical Methods for Least Squares Problems, 1996, 6.3). The work grows
// with the rows, not with their square.
func (m *matrix) reduce(rows []int, t *triangle) {
	start := 0
	for g, n := range rows {
		for j := range m.perGroup {
			copy(t.row(g*m.perGroup+j), m.row(start+j))
			clear(m.row(start + j))
			m.reflect(t.row(g*m.perGroup+j), start+j+1, start+n, j)
		}
		start += n
	}
	clear(t.a.Data[m.common()*t.a.Stride:])
	m.reduceShared(t)
}

// join updates t to the R of the QR factorisation of t above m. The first rows of m are own rows
// for each group, the rest have only shared unknowns. It overwrites m.
func (m *matrix) join(t *triangle) {
	for i := range m.common() {
		first := i / m.perGroup * m.perGroup
		m.reflect(t.row(i), first, first+m.perGroup, i-first)
	}
	m.reduceShared(t)
}

// reduceShared takes rows in which only shared unknowns are left into t.
func (m *matrix) reduceShared(t *triangle) {
	for start := 0; start < m.a.Rows; start += blockRows {
		end := min(start+blockRows, m.a.Rows)
		for j := range m.shared {
			m.reflect(t.row(m.common()+j), start, end, m.perGroup+j)
		}
	}
}

// reflect applies the Householder reflection of head and some rows that makes column j of the rows
// zero.
func (m *matrix) reflect(head []float64, start, end, j int) {
	for start < end && m.a.Data[start*m.a.Stride+j] == 0 {
		start++
	}
	for start < end && m.a.Data[(end-1)*m.a.Stride+j] == 0 {
		end--
	}
	if start == end {
		return
	}
	n, from := end-start, start*m.a.Stride+j
	v := m.v[:n]
	for i := range v {
		v[i] = m.a.Data[from+i*m.a.Stride]
	}
	alpha := head[j]
	beta := -math.Copysign(math.Hypot(alpha, norm(vector(v))), alpha)
	tau, scale := (beta-alpha)/beta, 1/(alpha-beta)
	for i := range v {
		v[i] *= scale
		m.a.Data[from+i*m.a.Stride] = 0
	}
	head[j] = beta
	rest := head[j+1:]
	below := blas64.General{Rows: n, Cols: len(rest), Stride: m.a.Stride, Data: m.a.Data[from+1:]}
	w := vector(m.w[:len(rest)])
	copy(w.Data, rest)
	blas64.Gemv(blas.Trans, 1, below, vector(v), 1, w)
	blas64.Axpy(-tau, w, vector(rest))
	blas64.Ger(-tau, vector(v), w, below)
}

// norm returns the length of a vector, safe from overflow.
func norm(v blas64.Vector) float64 {
	sum := 0.0
	for i := 0; i < v.N; i++ {
		x := v.Data[i*v.Inc]
		sum += x * x
	}
	if tiny, huge := 0x1p-900, 0x1p900; sum < tiny || sum > huge {
		return blas64.Nrm2(v)
	}
	return math.Sqrt(sum)
}

// A triangle is an upper triangular matrix R of a layout, with a right-hand side: first the rows of
// each group's own unknowns, then those of the shared ones.
type triangle struct{ matrix }

func (t *triangle) shape(l layout) { t.matrix.shape(l.dim(), l) }

// diagonal returns the diagonal entry of R at unknown j.
func (t *triangle) diagonal(j int) float64 { return t.row(j)[t.column(j)] }

// rhs returns the right-hand side of row j.
func (t *triangle) rhs(j int) float64 { return t.row(j)[t.width()] }

// corner returns a view of the R of the shared unknowns.
func (t *triangle) corner() blas64.Triangular {
	from := min(t.common()*t.a.Stride+t.perGroup, len(t.a.Data))
	return blas64.Triangular{N: t.shared, Stride: t.a.Stride, Data: t.a.Data[from:], Uplo: blas.Upper, Diag: blas.NonUnit}
}

// block returns a view of the R of a group's own unknowns.
func (t *triangle) block(g int) blas64.Triangular {
	return blas64.Triangular{N: t.perGroup, Stride: t.a.Stride, Data: t.a.Data[g*t.perGroup*t.a.Stride:],
		Uplo: blas.Upper, Diag: blas.NonUnit}
}

// coupling returns a view of a group's rows in the columns of the shared unknowns.
func (t *triangle) coupling(g int) blas64.General {
	return blas64.General{Rows: t.perGroup, Cols: t.shared, Stride: t.a.Stride, Data: t.a.Data[g*t.perGroup*t.a.Stride+t.perGroup:]}
}

// split returns views of a vector: its shared part, and the part of each group.
func (t *triangle) split(x []float64) (shared blas64.Vector, of func(g int) blas64.Vector) {
	return vector(x[t.common():]), func(g int) blas64.Vector { return vector(x[g*t.perGroup : (g+1)*t.perGroup]) }
}

// solve sets x to R⁻¹·x.
func (t *triangle) solve(x []float64) {
	shared, of := t.split(x)
	blas64.Trsv(blas.NoTrans, t.corner(), shared)
	for g := range t.groups {
		blas64.Gemv(blas.NoTrans, -1, t.coupling(g), shared, 1, of(g))
		blas64.Trsv(blas.NoTrans, t.block(g), of(g))
	}
}

// solveTransposed sets x to R⁻ᵀ·x.
func (t *triangle) solveTransposed(x []float64) {
	shared, of := t.split(x)
	for g := range t.groups {
		blas64.Trsv(blas.Trans, t.block(g), of(g))
		blas64.Gemv(blas.Trans, -1, t.coupling(g), of(g), 1, shared)
	}
	blas64.Trsv(blas.Trans, t.corner(), shared)
}

// times sets x to R·x.
func (t *triangle) times(x []float64) {
	shared, of := t.split(x)
	for g := range t.groups {
		blas64.Trmv(blas.NoTrans, t.block(g), of(g))
		blas64.Gemv(blas.NoTrans, 1, t.coupling(g), shared, 1, of(g))
	}
	blas64.Trmv(blas.NoTrans, t.corner(), shared)
}

// transposedTimes sets x to Rᵀ·x.
func (t *triangle) transposedTimes(x []float64) {
	shared, of := t.split(x)
	blas64.Trmv(blas.Trans, t.corner(), shared)
	for g := range t.groups {
		blas64.Gemv(blas.Trans, 1, t.coupling(g), of(g), 1, shared)
		blas64.Trmv(blas.Trans, t.block(g), of(g))
	}
}

// logDet returns ln det RᵀR, −Inf when R lacks rank.
func (t *triangle) logDet() float64 {
	sum := 0.0
	for j := range t.dim() {
		sum += 2 * math.Log(math.Abs(t.diagonal(j)))
	}
	return sum
}

// columnNorms sets norms to the norms of the columns of R, which are those of the matrix that was
// reduced.
func (t *triangle) columnNorms(norms []float64) {
	for j := range norms {
		col := t.column(j)
		first := t.first(j)
		if j >= t.common() {
			first = 0
		}
		norms[j] = norm(blas64.Vector{N: j + 1 - first, Inc: t.a.Stride, Data: t.a.Data[first*t.a.Stride+col:]})
	}
}

func vector(x []float64) blas64.Vector { return blas64.Vector{N: len(x), Inc: 1, Data: x} }
