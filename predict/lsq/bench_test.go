package lsq_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"

	"sagline/predict/lsq"
)

// waves is a mildly nonlinear problem of 40 residuals and 12 parameters whose
// Eval costs little: r = A·x − y, with x[j]² added to r[j].
func waves() (p lsq.Problem, x0 []float64) {
	const m, n = 40, 12
	a := mat.NewDense(m, n, nil)
	for i := range m {
		for j := range n {
			a.Set(i, j, math.Sin(float64((i+1)*(j+2)))+math.Cos(float64(i*i+3*j)))
		}
	}
	y := make([]float64, m)
	for i := range y {
		y[i] = math.Sin(float64(7 * i))
	}
	eval := func(r []float64, jac *mat.Dense, x []float64) {
		for i := range r {
			row := a.RawRowView(i)
			sum := -y[i]
			for j, v := range row {
				sum += v * x[j]
			}
			r[i] = sum
		}
		for j, v := range x {
			r[j] += v * v
		}
		if jac != nil {
			jac.Copy(a)
			for j, v := range x {
				jac.Set(j, j, jac.At(j, j)+2*v)
			}
		}
	}
	x0 = make([]float64, n)
	for j := range x0 {
		x0[j] = 0.1
	}
	return lsq.Problem{Dim: n, Size: m, Eval: eval}, x0
}

func benchmarkFit(b *testing.B, s *lsq.Settings) {
	p, x0 := waves()
	var solver lsq.Solver
	steps := 0
	b.ReportAllocs()
	for b.Loop() {
		res, err := solver.Fit(p, x0, s)
		if err != nil || res.Status.Early() {
			b.Fatal(err, res.Status)
		}
		steps += res.Iterations
	}
	b.ReportMetric(float64(steps)/float64(b.N), "steps/op")
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(steps), "ns/step")
}

// BenchmarkFit is a warm start: every step undamped.
func BenchmarkFit(b *testing.B) { benchmarkFit(b, nil) }

// BenchmarkFitDamped begins with a bound so short that steps are damped.
func BenchmarkFitDamped(b *testing.B) { benchmarkFit(b, &lsq.Settings{StepBound: 0.01}) }

// BenchmarkEval is the part of a step that is not the solver's.
func BenchmarkEval(b *testing.B) {
	p, x0 := waves()
	r, jac := make([]float64, p.Size), mat.NewDense(p.Size, p.Dim, nil)
	for b.Loop() {
		p.Eval(r, jac, x0)
	}
}
