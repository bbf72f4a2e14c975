package normal

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

// readings are three residuals of four unknowns, and what was known of each of those.
func readings() (rows [][]float64, r []float64, s Information) {
	rows, r = [][]float64{{1, 2, 0, -1}, {0.5, 0, 3, 1}, {0, -1, 1, 2}}, []float64{0.7, -1.2, 2}
	s = NewInformation(4)
	for i, row := range rows {
		s.Add(row, r[i])
	}
	for i := range 4 {
		s.Prior(i, 0.3*float64(i), 0.5+float64(i))
	}
	return rows, r, s
}

// Residuals and priors add up to the sum of squares that they are.
func TestInformation(t *testing.T) {
	rows, r, s := readings()
	for i := range 4 {
		lin := 0.3 * float64(i) / (0.5 + float64(i))
		for k, row := range rows {
			lin += r[k] * row[i]
		}
		assert.InDelta(t, lin, s.Lin[i], 1e-12)
		for j := i; j < 4; j++ {
			want := 0.0
			if i == j {
				want = 1 / math.Pow(0.5+float64(i), 2)
			}
			for _, row := range rows {
				want += row[i] * row[j]
			}
			assert.InDelta(t, want, s.Info.At(i, j), 1e-12)
		}
	}
	head, lin := mat.NewSymDense(2, nil), make([]float64, 2)
	s.Head(head, lin)
	assert.Equal(t, s.Lin[:2], lin)
	for i := range 2 {
		for j := range 2 {
			assert.Equal(t, s.Info.At(i, j), head.At(i, j))
		}
	}
}

// With unknowns integrated out, A − B·C⁻¹·Bᵀ is left of the information and a − B·C⁻¹·c of the rest; the integral's logarithm is
// ½·cᵀ·C⁻¹·c − ½·ln|C|.
func TestMarginal(t *testing.T) {
	for n := range 5 {
		_, _, s := readings()
		full, lin := mat.NewSymDense(4, nil), mat.NewVecDense(4, append([]float64(nil), s.Lin...))
		full.CopySym(s.Info)
		log, err := s.Marginal(n)
		require.NoError(t, err)
		if n == 4 {
			assert.Zero(t, log)
			assert.Equal(t, full.At(3, 3), s.Info.At(3, 3))
			continue
		}
		c := full.SliceSym(n, 4)
		var inverse, solved mat.Dense
		require.NoError(t, inverse.Inverse(c))
		rest := lin.SliceVec(n, 4)
		solved.Mul(&inverse, rest)
		assert.InDelta(t, 0.5*mat.Dot(rest, solved.ColView(0))-0.5*math.Log(mat.Det(c)), log, 1e-12, "%d left", n)
		for i := range n {
			b := mat.NewVecDense(4-n, nil)
			for k := range 4 - n {
				b.SetVec(k, full.At(i, n+k))
			}
			assert.InDelta(t, lin.AtVec(i)-mat.Dot(b, solved.ColView(0)), s.Lin[i], 1e-12)
			for j := i; j < n; j++ {
				other := mat.NewVecDense(4-n, nil)
				for k := range 4 - n {
					other.SetVec(k, full.At(j, n+k))
				}
				assert.InDelta(t, full.At(i, j)-mat.Inner(b, &inverse, other), s.Info.At(i, j), 1e-12)
			}
		}
	}
	none := NewInformation(2)
	_, err := none.Marginal(1)
	assert.ErrorIs(t, err, ErrNotDefinite)
}

// What is not positive definite has no inverse.
func TestInvert(t *testing.T) {
	a := mat.NewSymDense(2, []float64{4, 1, 1, 3})
	out, ok := Invert(a)
	require.True(t, ok)
	var unit mat.Dense
	unit.Mul(a, out)
	assert.True(t, mat.EqualApprox(&unit, mat.NewDense(2, 2, []float64{1, 0, 0, 1}), 1e-12))
	assert.Equal(t, 4.0, a.At(0, 0), "its own is left")
	_, ok = Invert(mat.NewSymDense(2, []float64{1, 2, 2, 1}))
	assert.False(t, ok)
}

func TestCongruent(t *testing.T) {
	got := Congruent(mat.NewDense(2, 3, []float64{1, 2, 0, 0, 1, -1}), mat.NewSymDense(3, []float64{4, 1, 0, 1, 3, 2, 0, 2, 5}))
	assert.True(t, mat.EqualApprox(got, mat.NewSymDense(2, []float64{20, 3, 3, 4}), 1e-12), "%v", mat.Formatted(got))
}

// Rows lie side by side and end where they end.
func TestRows(t *testing.T) {
	rows := Rows(3, 2)
	for i := range rows {
		rows[i][0], rows[i][1] = float64(i), float64(10*i)
	}
	rows[0] = append(rows[0], 99)
	assert.Equal(t, [][]float64{{0, 0, 99}, {1, 10}, {2, 20}}, rows)
}
