package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/normal"
)

// posterior solves for the static parameters g and every baseline dive's scatter θ together, then
// moves Base to the baseline's mean g* = g + M·mean(θ), to which every estimate is relative. Later
// sound dives scatter about g itself.
func (r *Result) posterior() error {
	sp, nb := r.Space, r.Baseline
	ns, nd := len(sp.Static), len(sp.Scatter)
	dim := ns + nd*nb
	base := make([]float64, ns)
	for i, at := range sp.Static {
		base[i] = r.Base[sp.All[at]]
	}
	variance := normal.Rows(nb, nd)
	for b := range variance {
		for i, at := range sp.Scatter {
			variance[b][i] = sq(sp.Known(at).Scatter)
		}
		if r.Dives[b].Battery != r.Dives[0].Battery {
			for _, f := range r.OtherBattery() {
				variance[b][slices.Index(sp.Scatter, f.Place)] += sq(f.SD)
			}
		}
	}
	var cov *mat.SymDense
	var x mat.VecDense
	scatters := make([]diveScatter, nd)
	solve := func() bool {
		sum := normal.NewInformation(dim)
		sp.Prior.Add(&sum, base)
		for b := range nb {
			for i := range nd {
				sum.Prior(ns+b*nd+i, 0, math.Sqrt(variance[b][i]))
			}
			r.addDive(&sum, &r.Dives[b].Summary.Quadratic, ns+b*nd)
		}
		var ok bool
		if cov, ok = normal.Invert(sum.Info); !ok {
			return false
		}
		x.MulVec(cov, mat.NewVecDense(dim, sum.Lin))
		for i, at := range sp.Scatter {
			scatters[i] = diveScatter{sp.Known(at), cov, x.RawVector().Data, sp.InStatic[at], variance, i, func(b int) int { return ns + b*nd + i }}
		}
		return true
	}
	for changed := true; changed; {
		if changed = false; !solve() {
			return normal.ErrNotDefinite
		}
		for i := range scatters {
			changed = scatters[i].inflate() || changed
		}
	}
	narrowed := false
	for i := range scatters {
		if scatters[i].stepped() { // package drift weighs steps; it needs these dives with the usual variance
			scatters[i].deflate()
			narrowed = true
		}
	}
	if narrowed && !solve() {
		return normal.ErrNotDefinite
	}
	for b := range nb {
		r.Dives[b].scatter = variance[b]
	}
	r.recentre(cov, &x)
	return nil
}

// recentre moves Base to the baseline's mean. It stores the covariance of that mean, of the level
// about which sound dives scatter, and the departures of each baseline dive.
func (r *Result) recentre(cov *mat.SymDense, x *mat.VecDense) {
	sp, nb := r.Space, r.Baseline
	ns, nd := len(sp.Static), len(sp.Scatter)
	dim := ns + nd*nb
	toMean := mat.NewDense(ns, dim, nil)
	for i := range ns {
		toMean.Set(i, i, 1)
	}
	for i, at := range sp.Scatter {
		if s := sp.InStatic[at]; s >= 0 {
			for b := range nb {
				toMean.Set(s, ns+b*nd+i, 1/float64(nb))
			}
		}
	}
	r.Cov = normal.Congruent(toMean, cov)
	var shift mat.VecDense
	shift.MulVec(toMean, x)
	r.SoundOffset, r.SoundCov = make([]float64, ns), mat.NewSymDense(ns, nil)
	moved := make([]float64, len(sp.All))
	for i, at := range sp.Static {
		moved[at] = shift.AtVec(i)
		r.Base[sp.All[at]] += shift.AtVec(i)
		r.SoundOffset[i] = x.AtVec(i) - shift.AtVec(i)
		for j := i; j < ns; j++ {
			r.SoundCov.SetSym(i, j, cov.At(i, j))
		}
	}
	r.Apart = make([]float64, nd)
	for i := range nd {
		for b := range nb {
			for e := range nb {
				r.Apart[i] += cov.At(ns+b*nd+i, ns+e*nd+i) / sq(float64(nb))
			}
		}
	}
	for b := range nb {
		r.Dives[b].Departures = r.ofBaseline(b, cov, x)
	}
	for b := range nb {
		s := r.Dives[b].Summary
		s.Firm.Move(moved)
		s.Quadratic = s.Firm
	}
}

// addDive adds one dive's quadratic in (g, θ), p = g + M·θ, with θ from index o on.
func (r *Result) addDive(sum *normal.Information, q *normal.Quadratic, o int) {
	sp := r.Space
	add := func(i, j int, x float64) { sum.Info.SetSym(i, j, sum.Info.At(i, j)+x) }
	for a, pa := range sp.Static {
		sum.Lin[a] += q.Lin[pa]
		for b := a; b < len(sp.Static); b++ {
			add(a, b, q.Info.At(pa, sp.Static[b]))
		}
		for i, pi := range sp.Scatter {
			add(a, o+i, q.Info.At(pa, pi))
		}
	}
	for i, pi := range sp.Scatter {
		sum.Lin[o+i] += q.Lin[pi]
		for j := i; j < len(sp.Scatter); j++ {
			add(o+i, o+j, q.Info.At(pi, sp.Scatter[j]))
		}
	}
}

// ofBaseline returns a baseline dive's departure from the baseline's mean, mean and variance, for
// each parameter of the space. A parameter without a static level (a stream) departs from zero.
func (r *Result) ofBaseline(b int, cov *mat.SymDense, x *mat.VecDense) []normal.Normal {
	sp, nb := r.Space, r.Baseline
	ns, nd := len(sp.Static), len(sp.Scatter)
	out := make([]normal.Normal, len(sp.All))
	w := mat.NewVecDense(ns+nd*nb, nil)
	for i, at := range sp.Scatter {
		w.Zero()
		absolute := absolute(sp, at)
		for e := range nb {
			if sp.InStatic[at] >= 0 && !absolute {
				w.SetVec(ns+e*nd+i, -1/float64(nb))
			}
		}
		w.SetVec(ns+b*nd+i, w.AtVec(ns+b*nd+i)+1)
		if absolute {
			w.SetVec(sp.InStatic[at], 1)
		}
		out[at].Mean = mat.Dot(w, x)
		if sp.All[at] == predict.BatteryOhm { // a higher coefficient of the cold goes with a lower resistance
			ohm, d := r.Model.Vehicle.Battery.ResistanceOhm+r.Base[predict.BatteryOhm], &r.Dives[b]
			for _, by := range d.raised {
				w.SetVec(sp.InStatic[sp.Place[by.param]], ohm*by.x/r.raisedBy(d))
			}
		}
		out[at].Variance = mat.Inner(w, cov, w)
		if absolute { // x is about the Base before recentre
			out[at].Mean += r.Base[sp.All[at]] - r.shiftOf(sp.InStatic[at], x)
		}
	}
	return out
}

// shiftOf is how far recentre moved Base in static parameter i.
func (r *Result) shiftOf(i int, x *mat.VecDense) float64 {
	return x.AtVec(i) - r.SoundOffset[i]
}
