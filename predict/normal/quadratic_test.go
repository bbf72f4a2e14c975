package normal

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/mat"
)

// About another base a quadratic says the same of the same place.
func TestMove(t *testing.T) {
	of := func() *Quadratic {
		return &Quadratic{Info: mat.NewSymDense(2, []float64{4, 1, 1, 3}), Lin: []float64{0.5, -2}, Log: 7}
	}
	at := func(q *Quadratic, x, y float64) float64 {
		return q.Log + q.Lin[0]*x + q.Lin[1]*y - 0.5*(q.Info.At(0, 0)*x*x+2*q.Info.At(0, 1)*x*y+q.Info.At(1, 1)*y*y)
	}
	q, moved := of(), of()
	moved.Move([]float64{0.3, -0.2})
	for _, p := range [][2]float64{{0, 0}, {1, 0}, {0.4, -1.5}} {
		assert.InDelta(t, at(q, p[0], p[1]), at(moved, p[0]-0.3, p[1]+0.2), 1e-12)
	}
}

// What a dive says with its scatter integrated out is the integral, summed up here, over departures of the parameters that
// scatter.
func TestIntegrateIsTheIntegral(t *testing.T) {
	q := &Quadratic{Info: mat.NewSymDense(3, []float64{5, 1, -2, 1, 3, 0.5, -2, 0.5, 4}), Lin: []float64{1, -2, 0.7}, Log: -3}
	variance := []float64{0.3, 0.8}
	at := func(info mat.Symmetric, lin []float64, x ...float64) float64 {
		v := mat.NewVecDense(3, x)
		return mat.Dot(mat.NewVecDense(3, lin), v) - 0.5*mat.Inner(v, info, v)
	}
	l := q.Integrate([]int{0, 2}, variance, Likelihood{})
	for _, x := range [][]float64{{0, 0, 0}, {0.5, -0.3, 0.2}, {-0.4, 0.6, 1}} {
		sum, step := 0.0, 0.05
		for u := -5.0; u < 5; u += step {
			for w := -5.0; w < 5; w += step {
				sum += step * step / (2 * math.Pi * math.Sqrt(variance[0]*variance[1])) *
					math.Exp(q.Log+at(q.Info, q.Lin, x[0]+u, x[1], x[2]+w)-0.5*u*u/variance[0]-0.5*w*w/variance[1])
			}
		}
		assert.InDelta(t, math.Log(sum), l.Log+at(mat.NewSymDense(3, l.Info), l.Lin, x...), 1e-6)
	}
	again := q.Integrate([]int{0, 2}, variance, Likelihood{Info: make([]float64, 9), Lin: []float64{7, 7, 7}})
	assert.Equal(t, l, again, "in storage that was used before")
}

// What rounding has left no inverse says nothing.
func TestIntegrateOfNothing(t *testing.T) {
	q := &Quadratic{Info: mat.NewSymDense(2, []float64{-9, 1, 1, 2}), Lin: []float64{1, 2}, Log: 3}
	l := q.Integrate([]int{0}, []float64{1}, Likelihood{Info: []float64{1, 1, 1, 1}, Lin: []float64{1, 1}, Log: 5})
	assert.Equal(t, Likelihood{Info: make([]float64, 4), Lin: make([]float64, 2)}, l)
}
