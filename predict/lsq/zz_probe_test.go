package lsq_test

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"sagline/predict/lsq"
)

func TestProbe(t *testing.T) {
	for _, sb := range []float64{100, 10, 1, 0.1} {
		for name, f := range models {
			s := readNIST(t, name)
			for k, start := range [][]float64{s.start1, s.start2} {
				p := lsq.Problem{Dim: len(start), Size: len(s.x), Eval: func(r []float64, jac *mat.Dense, b []float64) {
					d := make([]float64, len(b))
					for i, x := range s.x {
						r[i] = f(x, b, d) - s.y[i]
						if jac != nil {
							jac.SetRow(i, d)
						}
					}
				}}
				res, err := lsq.Fit(p, start, &lsq.Settings{StepBound: sb})
				if err != nil {
					fmt.Println(sb, name, k+1, err)
					continue
				}
				lre := func(c, v []float64) float64 {
					m := 15.0
					for i := range c {
						m = math.Min(m, -math.Log10(math.Abs(v[i]/c[i]-1)))
					}
					return m
				}
				fmt.Printf("%5v %-9s %d par %5.1f sd %5.1f it %4d ev %4d %v %v\n", sb, name, k+1, lre(s.certified, res.X), lre(s.sd, res.StdErr()), res.Iterations, res.Evals, res.Status, res.Warnings)
			}
		}
	}
}
