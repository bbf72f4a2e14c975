package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
)

// own is what a dive and the calibration say of the dive's drifts and, last,
// of the baseline's battery resistance, all else integrated out: the drifts'
// own priors are left to be added.
type own struct {
	info *mat.SymDense
	lin  []float64
}

// ownInformation gathers a dive's own.
func (r *Result) ownInformation(l layout, s *Summary, sc *scratch) own {
	ns, nd := len(l.shared), len(l.drift)
	sc.joint.clear()
	all, lin := sc.joint.info, sc.joint.lin
	// the drifts come first, then the battery, then what is integrated out
	place := make([]int, ns)
	next := nd + 1
	for a, p := range l.shared {
		if p == predict.BatteryOhm {
			place[a] = nd
			continue
		}
		place[a] = next
		next++
	}
	at := r.positions()
	add := func(i, j int, x float64) { all.SetSym(i, j, all.At(i, j)+x) }
	calibrated := r.prec
	for a, pa := range place {
		lin[pa] = s.Lin[a]
		for b := a; b < ns; b++ {
			add(pa, place[b], calibrated.At(a, b)+s.Info.At(a, b))
		}
		for i, k := range at {
			add(i, pa, s.Info.At(a, k))
		}
	}
	for i, p := range at {
		lin[i] = s.Lin[p]
		for j := i; j < nd; j++ {
			add(i, j, s.Info.At(p, at[j]))
		}
	}
	out := own{mat.NewSymDense(nd+1, nil), make([]float64, nd+1)}
	sc.joint.marginal(nd + 1)
	sc.joint.head(out.info, out.lin)
	return out
}

// about is the same of the drifts' departures from usual.
func (o *own) about(usual []float64) own {
	out := own{o.info, slices.Clone(o.lin)}
	from := append(slices.Clone(usual), 0)
	blas64.Symv(-1, o.info.RawSymmetric(), vector(from), 1, vector(out.lin))
	return out
}

// A gauss is the posterior of own's unknowns under one prior of each drift.
type gauss struct {
	cov  [][]float64 // full, symmetric
	mean []float64
	log  float64 // evidence, but for the priors' own part
}

func newGauss(n int) *gauss { return &gauss{cov: rows(n, n), mean: make([]float64, n)} }

// under is the posterior, in the scratch, when drift k has the variance
// prior(k).
func (o *own) under(prior func(k int) float64, sc *scratch) *gauss {
	n, cov, g := len(o.lin), sc.cov, sc.base
	cov.CopySym(o.info)
	for k := range n - 1 {
		cov.SetSym(k, k, cov.At(k, k)+1/prior(k))
	}
	u, ok := lapack64.Potrf(cov.RawSymmetric())
	if !ok {
		panic("fit: dive information is not positive definite")
	}
	g.log = 0
	for k := range n {
		g.log -= math.Log(u.Data[k*u.Stride+k])
	}
	lapack64.Potri(u)
	for i := range n {
		for j := range n {
			g.cov[i][j] = cov.At(i, j)
		}
	}
	for i, row := range g.cov {
		g.mean[i] = blas64.Dot(vector(row), vector(o.lin))
	}
	g.log += 0.5 * blas64.Dot(vector(g.mean), vector(o.lin))
	return g
}

// A change is what another prior of one drift does to a gauss, which its
// column c of the covariance tells: mean − gain·c, cov − shrink·c·cᵀ.
type change struct {
	c            []float64
	gain, shrink float64
	log          float64 // added to the evidence
}

// change is that of adding precision to drift k's prior; negative, it widens
// the prior (Sherman and Morrison).
func (g *gauss) change(k int, precision float64) change {
	c, m := g.cov[k], g.mean[k]
	ratio := 1 + precision*c[k]
	shrink := precision / ratio
	return change{c, shrink * m, shrink, -0.5*shrink*m*m - 0.5*math.Log(ratio)}
}

// changed is g after a change, in the storage of to.
func (g *gauss) changed(ch change, to *gauss) *gauss {
	for i, row := range g.cov {
		to.mean[i] = g.mean[i] - ch.gain*ch.c[i]
		f := ch.shrink * ch.c[i]
		for j, x := range row {
			to.cov[i][j] = x - f*ch.c[j]
		}
	}
	to.log = g.log + ch.log
	return to
}
