package lsq_test

import (
	"bufio"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"sagline/predict/lsq"
)

// nistSet is one file of the NIST Statistical Reference Datasets, nonlinear
// regression.
type nistSet struct {
	start1, start2, certified, sd []float64
	residualSD                    float64
	x, y                          []float64
}

func readNIST(t *testing.T, name string) nistSet {
	f, err := os.Open(filepath.Join("testdata", name+".dat"))
	require.NoError(t, err)
	defer f.Close()
	var s nistSet
	data := false
	for sc := bufio.NewScanner(f); sc.Scan(); {
		line := sc.Text()
		if strings.Join(strings.Fields(line), " ") == "Data: y x" {
			data = true
			continue
		}
		w := strings.Fields(line)
		num := func(i int) float64 {
			x, err := strconv.ParseFloat(w[i], 64)
			require.NoError(t, err, line)
			return x
		}
		switch {
		case data && len(w) == 2:
			s.y, s.x = append(s.y, num(0)), append(s.x, num(1))
		case len(w) == 6 && w[1] == "=":
			s.start1, s.start2 = append(s.start1, num(2)), append(s.start2, num(3))
			s.certified, s.sd = append(s.certified, num(4)), append(s.sd, num(5))
		case strings.HasPrefix(line, "Residual Standard Deviation:"):
			s.residualSD = num(3)
		}
	}
	require.NotEmpty(t, s.certified)
	require.NotEmpty(t, s.x)
	return s
}

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

// All eight sets, from both official starts, to six digits in the parameters
// and five in their standard deviations. Rat43's file prints 9 degrees of
// freedom; its certified deviations are for 15 − 4 = 11.
func TestNISTNonlinear(t *testing.T) {
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
			res, err := lsq.Fit(p, start, &lsq.Settings{StepBound: 1}) // a first step of 100 throws BoxBOD off from its first start
			require.NoError(t, err, "%s from start %d", name, k+1)
			se := res.StdErr()
			for i := range start {
				assert.InEpsilon(t, s.certified[i], res.X[i], 1e-6, "%s start %d b%d", name, k+1, i+1)
				assert.InEpsilon(t, s.sd[i], se[i], 1e-5, "%s start %d sd of b%d", name, k+1, i+1)
			}
			assert.InEpsilon(t, s.residualSD, math.Sqrt(res.Cost/float64(res.DoF)), 1e-6, name)
		}
	}
}

// NIST/SEMATECH e-Handbook 1.3.6.7.2 and the normal table of 1.3.6.7.1.
func TestQuantiles(t *testing.T) {
	assert.InDelta(t, 2.17881, distuv.StudentsT{Sigma: 1, Nu: 12}.Quantile(0.975), 5e-6)
	assert.InDelta(t, 1.959964, distuv.UnitNormal.Quantile(0.975), 5e-7)
}
