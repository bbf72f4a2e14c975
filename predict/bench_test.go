package predict

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict/invented"
	"sagline/session/quantity"
)

// lines are the kinds of line that a dive has.
func lines() []struct {
	name string
	c    Condition
} {
	c := Condition{Electrical: true, Minute: 12, DepthM: 3, TetherOutM: 14, WaterC: 12}
	with := func(sign []int8, change func(*Condition)) Condition {
		d := c
		d.Sign = sign
		change(&d)
		return d
	}
	none := func(*Condition) {}
	return []struct {
		name string
		c    Condition
	}{
		{"rest", with([]int8{0, 0, 0}, none)},
		{"held", with([]int8{1, 1, 0}, func(c *Condition) { c.Held = true })},
		{"one", with([]int8{1, 0, 0}, none)},
		{"ahead", with([]int8{1, 1, 0}, none)},
		{"astern", with([]int8{-1, -1, 0}, none)},
		{"rise", with([]int8{0, 0, 0}, func(c *Condition) { c.Climbing = true })},
		{"climb", with([]int8{0, 0, 1}, func(c *Condition) { c.Climbing = true })},
		{"ahead and climb", with([]int8{1, 1, 1}, func(c *Condition) { c.Climbing = true })},
	}
}

// BenchmarkSolve is one operating point of each kind of line.
func BenchmarkSolve(b *testing.B) { benchmarkSolve(b, nil) }

// BenchmarkSolveWithGradient is the same with all derivatives.
func BenchmarkSolveWithGradient(b *testing.B) {
	benchmarkSolve(b, newGradient(NewModel(invented.Vehicle())))
}

func benchmarkSolve(b *testing.B, grad [][]float64) {
	m := NewModel(invented.Vehicle())
	p := m.NewParams()
	for _, l := range lines() {
		b.Run(l.name, func(b *testing.B) {
			var pt Point
			b.ReportAllocs()
			for b.Loop() {
				m.Solve(&l.c, p, &pt, grad)
			}
		})
	}
}

func newGradient(m *Model) [][]float64 {
	out := make([][]float64, quantity.Count)
	for k := range out {
		out[k] = make([]float64, m.Dim())
	}
	return out
}

// A point is solved without allocation, derivatives or not, once its slices
// have grown.
func TestSolveDoesNotAllocate(t *testing.T) {
	m := NewModel(invented.Vehicle())
	p, grad := m.NewParams(), newGradient(m)
	var pt Point
	for _, l := range lines() {
		assert.Zero(t, testing.AllocsPerRun(20, func() { m.Solve(&l.c, p, &pt, nil) }), l.name)
		assert.Zero(t, testing.AllocsPerRun(20, func() { m.Solve(&l.c, p, &pt, grad) }), l.name)
	}
}
