package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/normal"
)

// posterior solves for the static parameters g and every baseline dive's own
// scatter θ together, then moves to the baseline's own mean
// g* = g + M·mean(θ), which is what every estimate is relative to. Later sound
// dives scatter about g itself.
func (r *Result) posterior() error {
	sp, nb := r.Space, r.Baseline
	ns, nd := len(sp.static), len(sp.scatter)
	dim := ns + nd*nb
	inStatic := sp.staticPlaces()
	base := make([]float64, ns)
	for i, at := range sp.static {
		base[i] = r.Base[sp.all[at]]
	}
	variance := normal.Rows(nb, nd)
	for b := range variance {
		for i, at := range sp.scatter {
			variance[b][i] = sq(sp.known(at).scatter)
		}
		if r.Dives[b].Battery != r.Dives[0].Battery {
			for _, f := range r.OtherBattery() {
				variance[b][slices.Index(sp.scatter, f.Place)] += sq(f.SD)
			}
		}
	}
	var cov *mat.SymDense
	var x mat.VecDense
	for range robustPasses {
		sum := normal.NewInformation(dim)
		sp.prior.add(&sum, base)
		for b := range nb {
			for i := range nd {
				sum.Prior(ns+b*nd+i, 0, math.Sqrt(variance[b][i]))
			}
			r.addDive(&sum, &r.Dives[b].Summary.Quadratic, ns+b*nd)
		}
		var ok bool
		if cov, ok = normal.Invert(sum.Info); !ok {
			return normal.ErrNotDefinite
		}
		x.MulVec(cov, mat.NewVecDense(dim, sum.Lin))
		changed := false
		for b := range nb {
			for i, at := range sp.scatter {
				j := ns + b*nd + i
				changed = widened(&variance[b][i], sp.known(at), x.AtVec(j), cov, j, inStatic[at]) || changed
			}
		}
		if !changed {
			break
		}
	}
	for b := range nb {
		r.Dives[b].scatter = variance[b]
	}
	r.settle(cov, &x)
	return nil
}

// settle moves Base to the baseline's mean and keeps what is known of it, of
// what sound dives scatter about, and of each baseline dive.
func (r *Result) settle(cov *mat.SymDense, x *mat.VecDense) {
	sp, nb := r.Space, r.Baseline
	ns, nd := len(sp.static), len(sp.scatter)
	dim := ns + nd*nb
	toMean := mat.NewDense(ns, dim, nil)
	for i := range ns {
		toMean.Set(i, i, 1)
	}
	inStatic := sp.staticPlaces()
	for i, at := range sp.scatter {
		if s := inStatic[at]; s >= 0 {
			for b := range nb {
				toMean.Set(s, ns+b*nd+i, 1/float64(nb))
			}
		}
	}
	r.Cov = normal.Congruent(toMean, cov)
	var shift mat.VecDense
	shift.MulVec(toMean, x)
	r.Usual, r.UsualCov = make([]float64, ns), mat.NewSymDense(ns, nil)
	moved := make([]float64, len(sp.all))
	for i, at := range sp.static {
		moved[at] = shift.AtVec(i)
		r.Base[sp.all[at]] += shift.AtVec(i)
		r.Usual[i] = x.AtVec(i) - shift.AtVec(i)
		for j := i; j < ns; j++ {
			r.UsualCov.SetSym(i, j, cov.At(i, j))
		}
	}
	r.apart = make([]float64, nd)
	for i := range nd {
		for b := range nb {
			for e := range nb {
				r.apart[i] += cov.At(ns+b*nd+i, ns+e*nd+i) / sq(float64(nb))
			}
		}
	}
	for b := range nb {
		r.Dives[b].own = r.ofBaseline(b, inStatic, cov, x)
	}
	for b := range nb {
		s := r.Dives[b].Summary
		s.Firm.moveBase(moved)
		s.Quadratic = s.Firm
	}
}

// moveBase turns a quadratic about one base into the same about another that
// lies moved from it.
func (q *Quadratic) moveBase(moved []float64) {
	var by mat.VecDense
	v := mat.NewVecDense(len(moved), moved)
	by.MulVec(q.Info, v)
	q.Log += mat.Dot(v, mat.NewVecDense(len(moved), q.Lin)) - 0.5*mat.Dot(v, &by)
	for i := range q.Lin {
		q.Lin[i] -= by.AtVec(i)
	}
}

// staticPlaces is the place among the static parameters of each of the space,
// −1 where there is none.
func (s *space) staticPlaces() []int {
	out := make([]int, len(s.all))
	for i := range out {
		out[i] = -1
	}
	for i, at := range s.static {
		out[at] = i
	}
	return out
}

// addDive adds one dive's quadratic in (g, θ), p = g + M·θ, with θ at o.
func (r *Result) addDive(sum *normal.Information, q *Quadratic, o int) {
	sp := r.Space
	add := func(i, j int, x float64) { sum.Info.SetSym(i, j, sum.Info.At(i, j)+x) }
	for a, pa := range sp.static {
		sum.Lin[a] += q.Lin[pa]
		for b := a; b < len(sp.static); b++ {
			add(a, b, q.Info.At(pa, sp.static[b]))
		}
		for i, pi := range sp.scatter {
			add(a, o+i, q.Info.At(pa, pi))
		}
	}
	for i, pi := range sp.scatter {
		sum.Lin[o+i] += q.Lin[pi]
		for j := i; j < len(sp.scatter); j++ {
			add(o+i, o+j, q.Info.At(pi, sp.scatter[j]))
		}
	}
}

// ofBaseline is a baseline dive's own departure from the baseline's mean, of
// each parameter of the space: mean and variance. What the baseline's mean is
// not taken of (a stream) is by itself.
func (r *Result) ofBaseline(b int, inStatic []int, cov *mat.SymDense, x *mat.VecDense) []normal.Normal {
	sp, nb := r.Space, r.Baseline
	ns, nd := len(sp.static), len(sp.scatter)
	out := make([]normal.Normal, len(sp.all))
	w := mat.NewVecDense(ns+nd*nb, nil)
	for i, at := range sp.scatter {
		w.Zero()
		absolute := sp.absolute(at)
		for e := range nb {
			if inStatic[at] >= 0 && !absolute {
				w.SetVec(ns+e*nd+i, -1/float64(nb))
			}
		}
		w.SetVec(ns+b*nd+i, w.AtVec(ns+b*nd+i)+1)
		if absolute {
			w.SetVec(inStatic[at], 1)
		}
		out[at].Mean = mat.Dot(w, x)
		if sp.all[at] == predict.BatteryOhm { // one that is higher in the cold than was taken is lower by itself
			ohm, d := r.Model.Vehicle.Battery.ResistanceOhm+r.Base[predict.BatteryOhm], &r.Dives[b]
			for _, by := range d.raised {
				w.SetVec(inStatic[sp.place[by.param]], ohm*by.x/r.raisedBy(d))
			}
		}
		out[at].Variance = mat.Inner(w, cov, w)
		if absolute { // x is about the Base of before
			out[at].Mean += r.Base[sp.all[at]] - r.shiftOf(inStatic[at], x)
		}
	}
	return out
}

// shiftOf is by how much Base moved in static parameter i.
func (r *Result) shiftOf(i int, x *mat.VecDense) float64 {
	return x.AtVec(i) - r.Usual[i]
}

// absolute says whether a parameter of the space is shown with what the
// vehicle has when sound in it.
func (s *space) absolute(at int) bool {
	k := s.all[at]
	return k == predict.BatteryOhm || k == predict.LogInsulation
}
