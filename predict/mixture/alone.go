package mixture

import (
	"slices"

	"gonum.org/v1/gonum/mat"

	"sagline/predict/normal"
)

// Alone is what a dive and the calibration say of the dive's departures (of the free parameters,
// then keptStatic), all else integrated out. Priors of the departures are not included.
type Alone struct {
	info *mat.SymDense
	lin  []float64
	log  float64 // of the integral, up to a constant of the calibration's
}

// Alone computes it for one dive from its log-likelihood.
func (c *Calibrated) Alone(q *normal.Quadratic) (Alone, error) {
	info, lin := q.Info, q.Lin
	sp := c.Space
	free, keep := c.Free, c.Keep
	nf, nk, ns := len(free), len(keep), len(sp.Static)
	n := nf + nk
	joint := normal.NewInformation(n + ns - nk)
	index := make([]int, ns) // of each static parameter
	next := n
	for i := range sp.Static {
		if j := slices.Index(keep, i); j >= 0 {
			index[i] = nf + j
			continue
		}
		index[i] = next
		next++
	}
	raw := joint.Info.RawSymmetric()
	add := func(i, j int, x float64) {
		if i > j {
			i, j = j, i
		}
		raw.Data[i*raw.Stride+j] += x
	}
	for a, pa := range sp.Static {
		joint.Lin[index[a]] = lin[pa]
		for b := a; b < ns; b++ {
			add(index[a], index[b], c.Precision.At(a, b)+info.At(pa, sp.Static[b]))
		}
		for i, k := range free {
			add(i, index[a], info.At(pa, k))
		}
	}
	for i, k := range free {
		joint.Lin[i] = lin[k]
		for j := i; j < nf; j++ {
			add(i, j, info.At(k, free[j]))
		}
	}
	log, err := joint.Marginal(n)
	if err != nil {
		return Alone{}, err
	}
	out := Alone{mat.NewSymDense(n, nil), make([]float64, n), q.Log + log}
	joint.Head(out.info, out.lin)
	return out, nil
}

// held is how many times more precisely the kept static parameters are known in GivenStatics.
const held = 1e4

// GivenStatics is Alone with the static parameters at the baseline's mean: what they have wrong is
// the same in all dives, and no part of how dives differ.
func (c *Calibrated) GivenStatics(q *normal.Quadratic) Alone {
	nf, n := len(c.Free), len(c.Free)+len(c.Keep)
	out := Alone{mat.NewSymDense(n, nil), make([]float64, n), q.Log}
	for i, k := range c.Free {
		out.lin[i] = q.Lin[k]
		for j := i; j < nf; j++ {
			out.info.SetSym(i, j, q.Info.At(k, c.Free[j]))
		}
	}
	for j, at := range c.Keep {
		out.info.SetSym(nf+j, nf+j, held*c.Precision.At(at, at))
	}
	return out
}

// StaticGiven returns the means of the static parameters given a dive's log-likelihood and its free
// departures.
func (c *Calibrated) StaticGiven(q *normal.Quadratic, free []float64) ([]float64, error) {
	static := c.Space.Static
	sum := normal.NewInformation(len(static))
	sum.Info.CopySym(c.Precision)
	for a, pa := range static {
		sum.Lin[a] = q.Lin[pa]
		for i, k := range c.Free {
			sum.Lin[a] -= q.Info.At(pa, k) * free[i]
		}
		for b := a; b < len(static); b++ {
			sum.Info.SetSym(a, b, sum.Info.At(a, b)+q.Info.At(pa, static[b]))
		}
	}
	cov, ok := normal.Invert(sum.Info)
	if !ok {
		return nil, normal.ErrNotDefinite
	}
	var x mat.VecDense
	x.MulVec(cov, mat.NewVecDense(len(static), sum.Lin))
	return x.RawVector().Data, nil
}
