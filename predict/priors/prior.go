package priors

import (
	"math"

	"gonum.org/v1/gonum/lapack/lapack64"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/lsq"
	"sagline/predict/normal"
)

// A Prior is the normal prior of the static parameters. Keys that enter several of them make its
// covariance.
type Prior struct {
	Mean      []float64
	Cov       *mat.SymDense
	Beside    *mat.SymDense // the part of Cov that neither keys nor Along make
	Precision *mat.SymDense
	LogDet    float64       // of Precision
	root      *mat.TriDense // upper, rootᵀ·root = precision
}

// leastBeside keeps the prior regular, as a share of each parameter's own standard deviation: there
// are fewer uncertain keys than parameters.
const leastBeside = 0.02

func (s *Space) priorOf(m *predict.Model) Prior {
	n := len(s.Static)
	p := Prior{Mean: make([]float64, n), Cov: mat.NewSymDense(n, nil), Beside: mat.NewSymDense(n, nil)}
	for i, at := range s.Static {
		k, of := s.All[at], s.Known(at)
		p.Mean[i] = priorMean(m, s, k)
		for j := i; j < n; j++ {
			p.Cov.SetSym(i, j, s.FromKeys(k, s.All[s.Static[j]]))
		}
		p.Beside.SetSym(i, i, sq(of.Beside)+sq(leastBeside*of.Prior))
	}
	p.Cov.AddSym(p.Cov, p.Beside)
	p.invert()
	return p
}

// invert computes Precision, LogDet and root from Cov.
func (p *Prior) invert() {
	n := len(p.Mean)
	p.Precision, _ = normal.Invert(p.Cov) // definite by leastBeside
	u := mat.NewSymDense(n, nil)
	u.CopySym(p.Precision)
	t, _ := lapack64.Potrf(u.RawSymmetric())
	p.root = mat.NewTriDense(n, mat.Upper, nil)
	for i := range n {
		p.LogDet += 2 * math.Log(t.Data[i*t.Stride+i])
		for j := i; j < n; j++ {
			p.root.SetTri(i, j, t.Data[i*t.Stride+j])
		}
	}
}

// A Direction is one along which static parameters may lie farther from the file than its keys
// allow: what one unit adds to each, and one standard deviation in units.
type Direction struct {
	Per []float64
	SD  float64
}

// Along returns the direction of a cause's one amplitude, with SD for its usual size. ok is false
// if the cause has none or several, or if the file tells one of its parameters exactly.
func (s *Space) Along(cause int) (d Direction, ok bool) {
	d.Per = make([]float64, len(s.Static))
	columns := 0
	for _, col := range s.Columns {
		if col.Cause != cause || col.Way > 0 {
			continue
		}
		columns++
		d.SD = col.SD
		for _, t := range col.Terms {
			i := s.InStatic[t.At]
			if i < 0 {
				return d, false
			}
			d.Per[i] = t.Per
		}
	}
	return d, columns == 1
}

// AlongKey returns the direction in which a key moves the static parameters; SD is times the key's
// standard deviation.
func (s *Space) AlongKey(key *Doubt, times float64) Direction {
	d := Direction{Per: make([]float64, len(s.Static)), SD: times}
	for i, at := range s.Static {
		d.Per[i] = key.By[s.All[at]]
	}
	return d
}

// Along returns the prior widened along a direction.
func (p *Prior) Along(d Direction) Prior {
	out := Prior{Mean: p.Mean, Cov: mat.NewSymDense(len(p.Mean), nil), Beside: p.Beside}
	out.Cov.SymRankOne(p.Cov, sq(d.SD), mat.NewVecDense(len(d.Per), d.Per))
	out.invert()
	return out
}

// Known adds the prior to a least-squares system; its parameters start at unknown first.
func (p *Prior) Known(s *lsq.System, first int) {
	for i := range p.Mean {
		r := 0.0
		for j := i; j < len(p.Mean); j++ {
			r += p.root.At(i, j) * (s.X[first+j] - p.Mean[j])
		}
		slopes := s.Add(r)
		for j := i; slopes != nil && j < len(p.Mean); j++ {
			slopes[s.Column(first+j)] = p.root.At(i, j)
		}
	}
}

// Add adds the prior to information about x − at, whose first unknowns are the parameters.
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

// priorMean is the prior mean of a parameter.
func priorMean(m *predict.Model, sp *Space, k int) float64 {
	return m.NewParams()[k] + sp.Of[k].Mean
}

func sq(x float64) float64 { return x * x }
