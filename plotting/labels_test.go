package plotting

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// Labels that found a place overlap none, cross no line and stay inside.
func TestPlacedLabelsKeepClear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const left, right, rows = 0.0, 300.0, 3
		labels := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Label {
			wide := rapid.Float64Range(5, 150).Draw(t, "wide")
			return Label{rapid.Float64Range(left, right).Draw(t, "x"), wide, wide / 2}
		}), 0, 25).Draw(t, "labels")
		placed := placeLabels(labels, left, right, rows)
		for i, p := range placed {
			if p.Row < 0 {
				for j, q := range placed[:i] {
					close := q.Row < 0 && !q.Crowded && math.Abs(labels[i].X-labels[j].X) < markGap
					assert.False(t, close && !p.Crowded, "the marks of %d and %d overlap", i, j)
				}
				continue
			}
			assert.GreaterOrEqual(t, p.Left, left)
			assert.LessOrEqual(t, p.Left+p.Width, right)
			assert.Less(t, p.Row, rows)
			for j, q := range placed {
				if j == i {
					continue
				}
				if q.Row == p.Row {
					assert.True(t, p.Left >= q.Left+q.Width || q.Left >= p.Left+p.Width, "labels %d and %d overlap", i, j)
				}
				if max(q.Row, 0) >= p.Row {
					x := labels[j].X
					assert.False(t, x > p.Left && x < p.Left+p.Width, "the line of %d crosses label %d", j, i)
				}
			}
		}
	})
}

func TestALoneLabelStandsRightThenLeft(t *testing.T) {
	assert.Equal(t, []Position{{0, 10, 50, false, false}}, placeLabels([]Label{{10, 50, 20}}, 0, 100, 2))
	assert.Equal(t, []Position{{0, 40, 50, false, false}}, placeLabels([]Label{{90, 50, 20}}, 0, 100, 2))
	assert.Equal(t, []Position{{0, 50, 20, true, false}}, placeLabels([]Label{{50, 60, 20}}, 0, 100, 2))
	assert.Equal(t, []Position{{Row: -1}}, placeLabels([]Label{{50, 90, 60}}, 0, 100, 2))
}

func TestApartKeepsTheGap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		y := rapid.SliceOfN(rapid.Float64Range(-50, 250), 1, 6).Draw(t, "y")
		slices.Sort(y)
		Apart(y, 20, 0, 200)
		for i, at := range y {
			assert.GreaterOrEqual(t, at, -1e-9)
			assert.LessOrEqual(t, at, 200+1e-9)
			if i > 0 {
				assert.GreaterOrEqual(t, at-y[i-1], 20-1e-9)
			}
		}
	})
}
