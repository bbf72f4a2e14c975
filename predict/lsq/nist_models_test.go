package lsq_test

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"sagline/predict/lsq"
)

// model returns f(x; b) and fills ∂f/∂b.
type model func(x float64, b, d []float64) float64

var models = map[string]model{
	"Misra1a": saturating, "BoxBOD": saturating, "Hahn1": rational, "Thurber": rational,
	"MGH17": func(x float64, b, d []float64) float64 {
		p, q := math.Exp(-x*b[3]), math.Exp(-x*b[4])
		d[0], d[1], d[2], d[3], d[4] = 1, p, q, -x*b[1]*p, -x*b[2]*q
		return b[0] + b[1]*p + b[2]*q
	},
	"Lanczos3": func(x float64, b, d []float64) (f float64) {
		for i := 0; i < 6; i += 2 {
			e := math.Exp(-b[i+1] * x)
			d[i], d[i+1] = e, -x*b[i]*e
			f += b[i] * e
		}
		return f
	},
	"Rat43": func(x float64, b, d []float64) float64 {
		e := math.Exp(b[1] - b[2]*x)
		u := 1 + e
		f := b[0] * math.Pow(u, -1/b[3])
		d[0], d[1], d[2], d[3] = f/b[0], -f*e/(b[3]*u), f*x*e/(b[3]*u), f*math.Log(u)/(b[3]*b[3])
		return f
	},
	"Eckerle4": func(x float64, b, d []float64) float64 {
		z := (x - b[2]) / b[1]
		e := math.Exp(-z * z / 2)
		f := b[0] / b[1] * e
		d[0], d[1], d[2] = e/b[1], f*(z*z-1)/b[1], f*z/b[1]
		return f
	},
}

func saturating(x float64, b, d []float64) float64 {
	e := math.Exp(-b[1] * x)
	d[0], d[1] = 1-e, b[0]*x*e
	return b[0] * (1 - e)
}

func rational(x float64, b, d []float64) float64 {
	x2, x3 := x*x, x*x*x
	n, m := b[0]+b[1]*x+b[2]*x2+b[3]*x3, 1+b[4]*x+b[5]*x2+b[6]*x3
	d[0], d[1], d[2], d[3] = 1/m, x/m, x2/m, x3/m
	d[4], d[5], d[6] = -n*x/(m*m), -n*x2/(m*m), -n*x3/(m*m)
	return n / m
}

// problem returns the fit of f to the data.
func (s *nistSet) problem(f model) lsq.Problem {
	d := make([]float64, len(s.certified))
	return lsq.Problem{Dim: len(d), Size: len(s.x), Eval: func(r []float64, jac *mat.Dense, b []float64) {
		for i, x := range s.x {
			r[i] = f(x, b, d) - s.y[i]
			if jac != nil {
				jac.SetRow(i, d)
			}
		}
	}}
}
