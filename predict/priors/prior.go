package priors

import (
	"gonum.org/v1/gonum/lapack/lapack64"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/lsq"
	"sagline/predict/normal"
)

// A Prior is what is known of the static parameters before any reading: normal,
// with the covariance that keys which enter several of them make.
type Prior struct {
	Mean      []float64
	Cov       *mat.SymDense
	Precision *mat.SymDense
	root      *mat.TriDense // upper, rootᵀ·root = precision
}

// LeastBeside keeps the prior regular, as a share of each parameter's own
// standard deviation: fewer keys than parameters are unknown.
const LeastBeside = 0.02

func (s *Space) priorOf(m *predict.Model) Prior {
	n := len(s.Static)
	p := Prior{Cov: mat.NewSymDense(n, nil), Mean: make([]float64, n)}
	for i, at := range s.Static {
		k, of := s.All[at], s.Known(at)
		p.Mean[i] = priorMean(m, s, k)
		for j := i; j < n; j++ {
			p.Cov.SetSym(i, j, s.FromKeys(k, s.All[s.Static[j]]))
		}
		p.Cov.SetSym(i, i, p.Cov.At(i, i)+sq(of.Beside)+sq(LeastBeside*of.Prior))
	}
	p.Precision, _ = normal.Invert(p.Cov) // definite by leastBeside
	u := mat.NewSymDense(n, nil)
	u.CopySym(p.Precision)
	t, _ := lapack64.Potrf(u.RawSymmetric())
	p.root = mat.NewTriDense(n, mat.Upper, nil)
	for i := range n {
		for j := i; j < n; j++ {
			p.root.SetTri(i, j, t.Data[i*t.Stride+j])
		}
	}
	return p
}

// Known adds the prior to a system, its parameters from unknown first on.
func (p *Prior) Known(s *lsq.System, first int) {
	for i := range p.Mean {
		r := 0.0
		for j := i; j < len(p.Mean); j++ {
			r += p.root.At(i, j) * (s.X[first+j] - p.Mean[j])
		}
		slopes := s.Add(r)
		for j := i; slopes != nil && j < len(p.Mean); j++ {
			slopes[first+j] = p.root.At(i, j)
		}
	}
}

// Add adds the prior to information about x − at, the parameters first.
func (p *Prior) Add(sum *normal.Information, at []float64) {
	n := len(p.Mean)
	for i := range n {
		for j := range n {
			sum.Lin[i] += p.Precision.At(i, j) * (p.Mean[j] - at[j])
			if j >= i {
				sum.Info.SetSym(i, j, sum.Info.At(i, j)+p.Precision.At(i, j))
			}
		}
	}
}

// priorMean is what a parameter is assumed to be before any reading.
func priorMean(m *predict.Model, sp *Space, k int) float64 {
	return m.NewParams()[k] + sp.Of[k].Mean
}

func sq(x float64) float64 { return x * x }
