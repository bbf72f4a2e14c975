// Package drift says what changes over many dives, since when, how fast and
// how sure that is. It believes that a fault begins at one dive and then
// steps, ramps or comes and goes; that sound dives scatter; and that an alarm
// may use only what was known at its dive. Every hypothesis is linear in a few
// amplitudes, so its evidence, with the calibration's uncertainty shared by
// all dives, is exact for the summaries that package fit makes.
package drift

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"sagline/predict"
	"sagline/predict/fit"
)

// A fault is one way to drift: which parameter, which way is worse, how large
// it typically is as a step, and as a ramp per dive.
type fault struct {
	name, quantity string
	param          int // of predict.Params
	worse          float64
	step, ramp     float64
	cleared        []string // services that end it
	check          string
}

const within = -1 // a fault's param: scatter within dives, not a level

// faults is the table of what can go wrong with a vehicle.
func faults(v *predict.Vehicle) []fault {
	out := []fault{
		{"power_loop", "excess_resistance_ohm", predict.LoopOhm, 1, 0.15, 0.02, []string{"tether", "joint"},
			"measure the loop with the vehicle end shorted, flex the joint while reading it, then re-make it"},
		{"intermittent_contact", "excess_resistance_ohm", within, 1, 0, 0, []string{"tether", "joint"},
			"move the tether and connectors by hand while one thruster runs and watch the ammeter"},
		{"thrust", "thrust_factor", predict.LogThrust, -1, 0.15, 0.02, []string{"thruster", "propeller"},
			"look for weed, line or a chipped blade, and a propeller loose on its shaft"},
		{"friction", "friction_a", predict.FrictionA, 1, 0.2, 0.03, []string{"thruster", "propeller"},
			"turn each propeller by hand, then run it in air and compare its no-load current"},
		{"ingress", "ingress_g", predict.TrimG, -1, 40, 5, []string{"seal", "ballast"},
			"weigh the vehicle dry against its first weight and look for water in tubes and foam"},
		{"battery", "battery_resistance_ohm", predict.BatteryOhm, 1, 0.015, 0.002, []string{"battery"},
			"rest and charge the battery, clean its terminals, and compare its sag with another battery"},
	}
	for i, t := range v.Thrusters {
		out = append(out, fault{"branch:" + t.Name, "branch_excess_ohm:" + t.Name, predict.FirstBranch + i, 1, 0.2, 0.03,
			[]string{"tether", "joint", "thruster", "propeller"},
			"measure the voltage across the " + t.Name + " thruster's relay contact and leads under load"})
	}
	return out
}

// A hypothesis is one fault that began at a dive in one pattern.
type hypothesis struct {
	fault   int
	pattern string
	onset   int
}

// at is the hypothesis's profile at a dive per unit of its size.
func (h hypothesis) at(dive int) float64 {
	switch {
	case dive < h.onset || h.pattern == Intermittent:
		return 0
	case h.pattern == Ramp:
		return float64(dive - h.onset + 1)
	}
	return 1
}

// hazard is the prior probability that one fault begins at one dive.
const hazard = 0.002

// certain is the log of the odds at which an alarm is raised: by simulation
// of sound logs, under one false alarm in fifty logs of 28 dives.
var certain = math.Log(30)

// analysis is a log's summaries with sound scatter integrated out.
type analysis struct {
	r      *fit.Result
	faults []fault
	place  []int // of each fault's parameter among the shared ones
	prec   *mat.SymDense
	info   []*mat.SymDense // per dive, scatter integrated out
	lin    [][]float64
	// the same when the contact comes and goes from line to line
	looseInfo []*mat.SymDense
	looseLin  [][]float64
	epoch     []int // per fault: the first dive of its present trend
}

func newAnalysis(r *fit.Result) *analysis {
	a := &analysis{r: r, faults: faults(r.Model.Vehicle)}
	a.prec = fit.Invert(r.Cov)
	a.place = make([]int, len(a.faults))
	a.epoch = make([]int, len(a.faults))
	for i, f := range a.faults {
		a.place[i] = -1
		a.epoch[i] = r.Baseline
		for j, k := range r.Shared {
			if k == f.param {
				a.place[i] = j
			}
		}
	}
	a.info, a.lin = make([]*mat.SymDense, len(r.Dives)), make([][]float64, len(r.Dives))
	a.looseInfo, a.looseLin = make([]*mat.SymDense, len(r.Dives)), make([][]float64, len(r.Dives))
	for d := r.Baseline; d < len(r.Dives); d++ {
		a.scattered(d)
	}
	return a
}

// scattered integrates a dive's sound scatter out of its summary; a quantity
// that was serviced later than this dive may have any level here.
func (a *analysis) scattered(d int) {
	variance := a.r.ScatterVariance()
	for f, fl := range a.faults {
		if d < a.epoch[f] && fl.param >= 0 {
			for i, k := range a.r.Drift {
				if k == fl.param {
					variance[i] = 1e6 * variance[i]
				}
			}
		}
	}
	s := a.r.Dives[d].Summary
	a.info[d], a.lin[d] = a.r.Scattered(&s.Quadratic, variance)
	a.looseInfo[d], a.looseLin[d] = a.r.Scattered(&s.Loose, variance)
}

// service starts the trends anew that the services before dive d touch.
func (a *analysis) service(d int, parts []string) {
	changed := false
	for f := range a.faults {
		if a.clears(f, parts) {
			a.epoch[f], changed = d, true
		}
	}
	if changed {
		for k := a.r.Baseline; k < d; k++ {
			a.scattered(k)
		}
	}
}

func (a *analysis) clears(f int, parts []string) bool {
	for _, p := range parts {
		for _, c := range a.faults[f].cleared {
			if p == c {
				return true
			}
		}
	}
	return false
}

// posterior is the joint Gaussian of the shared parameters and the amplitudes
// of some hypotheses (then of the services' fresh levels) after dives up to n.
type posterior struct {
	chol mat.Cholesky
	mean mat.VecDense
	log  float64 // evidence, up to a constant shared by all hypotheses
	ns   int
}

// columns are the profiles whose amplitudes are unknown: hypotheses, then a
// level for each trend that a service started anew.
type column struct {
	place int
	sign  float64
	sd    float64
	at    func(dive int) float64
}

func (a *analysis) columns(hs []hypothesis, n int) []column {
	var out []column
	for _, h := range hs {
		f := a.faults[h.fault]
		if f.param == within {
			continue
		}
		sd := f.step
		if h.pattern == Ramp {
			sd = f.ramp
		}
		out = append(out, column{a.place[h.fault], f.worse, sd, h.at})
	}
	for i, f := range a.faults {
		if e := a.epoch[i]; f.param != within && e > a.r.Baseline && e <= n {
			out = append(out, column{a.place[i], f.worse, 0.3 * f.step, func(d int) float64 {
				if d >= e {
					return 1
				}
				return 0
			}})
		}
	}
	return out
}

// solve is the posterior under hypotheses hs after dive n.
func (a *analysis) solve(hs []hypothesis, n int) *posterior {
	return a.solveGiven(hs, n, settled(hs, n))
}

// solveGiven is solve with the dives from loose on taken as made through a
// contact that comes and goes.
func (a *analysis) solveGiven(hs []hypothesis, n, loose int) *posterior {
	cols := a.columns(hs, n)
	ns := len(a.r.Shared)
	dim := ns + len(cols)
	info, lin := mat.NewSymDense(dim, nil), mat.NewVecDense(dim, nil)
	for i := range ns {
		for j := i; j < ns; j++ {
			info.SetSym(i, j, a.prec.At(i, j))
		}
	}
	p := &posterior{ns: ns}
	for c, col := range cols {
		info.SetSym(ns+c, ns+c, 1/(col.sd*col.sd))
		p.log -= math.Log(col.sd)
	}
	for d := a.r.Baseline; d <= n; d++ {
		s, l := a.info[d], a.lin[d]
		if d >= loose {
			s, l = a.looseInfo[d], a.looseLin[d]
		}
		for i := range ns {
			lin.SetVec(i, lin.AtVec(i)+l[i])
			for j := i; j < ns; j++ {
				info.SetSym(i, j, info.At(i, j)+s.At(i, j))
			}
		}
		for c, col := range cols {
			x := col.sign * col.at(d)
			if x == 0 {
				continue
			}
			o := ns + c
			lin.SetVec(o, lin.AtVec(o)+x*l[col.place])
			for i := range ns {
				info.SetSym(i, o, info.At(i, o)+x*s.At(i, col.place))
			}
			for e := c; e < len(cols); e++ {
				if y := cols[e].sign * cols[e].at(d); y != 0 {
					info.SetSym(o, ns+e, info.At(o, ns+e)+x*y*s.At(col.place, cols[e].place))
				}
			}
		}
	}
	if !p.chol.Factorize(info) {
		panic("drift: information is not positive definite")
	}
	_ = p.chol.SolveVecTo(&p.mean, lin)
	p.log += 0.5*mat.Dot(lin, &p.mean) - 0.5*p.chol.LogDet()
	for c, h := range a.levels(hs) {
		// a fault goes one way: the share of the amplitude that does, doubled
		m, v := p.mean.AtVec(ns+c), p.variance(ns+c)
		p.log += math.Log(2*distuv.UnitNormal.CDF(m/math.Sqrt(v)) + 1e-300)
		_ = h
	}
	for _, h := range hs {
		if h.pattern == Intermittent {
			p.log += a.within(h.onset, n)
		}
	}
	return p
}

// settled is the first dive since which hs believe in a contact that comes
// and goes, past n without.
func settled(hs []hypothesis, n int) int {
	for _, h := range hs {
		if h.pattern == Intermittent {
			return h.onset
		}
	}
	return n + 1
}

// levels are the hypotheses that have an amplitude, in column order.
func (a *analysis) levels(hs []hypothesis) []hypothesis {
	var out []hypothesis
	for _, h := range hs {
		if a.faults[h.fault].param != within {
			out = append(out, h)
		}
	}
	return out
}

func (p *posterior) variance(i int) float64 {
	unit := mat.NewVecDense(p.mean.Len(), nil)
	unit.SetVec(i, 1)
	var x mat.VecDense
	_ = p.chol.SolveVecTo(&x, unit)
	return x.AtVec(i)
}

// within is the log evidence for a contact that comes and goes since onset,
// averaged over the sizes tried.
func (a *analysis) within(onset, n int) float64 {
	best := math.Inf(-1)
	for i := range fit.WithinSizes {
		ll := 0.0
		for d := onset; d <= n; d++ {
			ll += max(a.r.Dives[d].Summary.Within[i], -2)
		}
		best = max(best, ll)
	}
	return best - math.Log(float64(len(fit.WithinSizes)))
}

// candidates are all ways in which fault f may have begun by dive n.
func (a *analysis) candidates(f, n int) []hypothesis {
	var out []hypothesis
	first := a.epoch[f]
	if first > a.r.Baseline {
		first++ // a service's own level needs a dive to be known
	}
	for k := first; k <= n; k++ {
		if a.faults[f].param == within {
			out = append(out, hypothesis{f, Intermittent, k})
			continue
		}
		out = append(out, hypothesis{f, Step, k})
		if k < n {
			out = append(out, hypothesis{f, Ramp, k})
		}
	}
	return out
}

// A state is what is believed after one dive: the faults present, each with
// its best pattern and the log odds that it is there.
type state struct {
	active []hypothesis
	odds   []float64
}

// believe explains the dives up to n by as few faults as the evidence asks
// for, adding the most telling one at a time, then doubts each of them again.
func (a *analysis) believe(n int) state {
	var st state
	now := a.solve(nil, n).log
	for len(st.active) < 3 {
		total, best, bestLog := make([]float64, len(a.faults)), make([]hypothesis, len(a.faults)), make([]float64, len(a.faults))
		top := -1
		for f := range a.faults {
			total[f], bestLog[f] = math.Inf(-1), math.Inf(-1)
			if st.has(f) {
				continue
			}
			for _, h := range a.candidates(f, n) {
				l := a.solveGiven(append(st.active[:len(st.active):len(st.active)], h), n, settled(st.active, n)).log + math.Log(hazard)
				if h.pattern != Intermittent {
					l -= math.Ln2
				}
				total[f] = logAdd(total[f], l)
				if l > bestLog[f] {
					best[f], bestLog[f] = h, l
				}
			}
			if top < 0 || total[f] > total[top] {
				top = f
			}
		}
		if top < 0 || total[top] == math.Inf(-1) {
			break
		}
		rival := now
		for f := range a.faults {
			if f != top {
				rival = logAdd(rival, total[f])
			}
		}
		odds := total[top] - rival
		if odds < 0 {
			break
		}
		st.active, st.odds = append(st.active, best[top]), append(st.odds, odds)
		now = a.solveGiven(st.active, n, settled(st.active, n)).log
	}
	return st
}

func (s *state) has(f int) bool {
	for _, h := range s.active {
		if h.fault == f {
			return true
		}
	}
	return false
}

func logAdd(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	if math.IsInf(b, -1) {
		return a
	}
	return a + math.Log1p(math.Exp(b-a))
}

func (p *posterior) covariance(i, j int) float64 {
	unit := mat.NewVecDense(p.mean.Len(), nil)
	unit.SetVec(i, 1)
	var x mat.VecDense
	_ = p.chol.SolveVecTo(&x, unit)
	return x.AtVec(j)
}

// A Kind is a fault that grows, for whoever wants to make one: its name, the
// quantity that shows it, the parameter that it changes and which way.
type Kind struct {
	Fault, Quantity string
	Param           int     // of predict.Params
	Worse           float64 // +1 or −1
}

// Kinds lists the faults that a vehicle can have, those that come and go
// within a dive left out.
func Kinds(v *predict.Vehicle) []Kind {
	var out []Kind
	for _, f := range faults(v) {
		if f.param != within {
			out = append(out, Kind{f.name, f.quantity, f.param, f.worse})
		}
	}
	return out
}
