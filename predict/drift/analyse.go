package drift

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"sagline/predict"
	"sagline/predict/fit"
	"sagline/session"
)

// Analyse reads a fitted log as a history: dive after dive, what was believed
// then, which alarms that raised and which services cleared them, and what is
// believed now.
func Analyse(r *fit.Result) *Report {
	a := newAnalysis(r)
	rep := &Report{Schema: 1, Vehicle: r.Model.Vehicle.Name, Units: r.Model.Vehicle.Units, Dives: []Dive{}, Alarms: []Alarm{}, Findings: []Finding{}}
	var now state
	open := map[int]int{} // fault → index of its alarm
	for n := range r.Dives {
		parts := serviced(r.Dives[n].Log)
		rep.Dives = append(rep.Dives, a.dive(n, parts))
		if n < r.Baseline {
			continue
		}
		if len(parts) > 0 {
			a.service(n, parts)
			for f, i := range open {
				if a.clears(f, parts) {
					label := r.Dives[n].Log.Label
					rep.Alarms[i].ClearedDive = &label
					delete(open, f)
				}
			}
		}
		a.learn(n)
		now = a.believe(n)
		for i, h := range now.active {
			if now.odds[i] < certain || alarmed(open, a, h.fault) {
				continue
			}
			open[h.fault] = len(rep.Alarms)
			rep.Alarms = append(rep.Alarms, Alarm{a.faults[h.fault].quantity, r.Dives[n].Log.Label, r.Dives[h.onset].Log.Label, h.pattern, nil})
		}
	}
	a.trends(rep, now)
	a.findings(rep, now)
	rep.Remarks = a.remarks()
	return rep
}

// alarmed says whether the fault's quantity has an open alarm already.
func alarmed(open map[int]int, a *analysis, f int) bool {
	for g := range open {
		if a.faults[g].quantity == a.faults[f].quantity {
			return true
		}
	}
	return false
}

func serviced(d *session.Dive) []string {
	var out []string
	for i := range d.Lines {
		out = append(out, d.Lines[i].Serviced...)
	}
	return out
}

// dive is one dive's own estimates in the units of the report.
func (a *analysis) dive(n int, parts []string) Dive {
	d := &a.r.Dives[n]
	out := Dive{Dive: d.Log.Label, Date: d.Log.Date.Format("2006-01-02"), SetAside: []SetAside{}, Estimates: map[string]Estimate{}, Serviced: parts}
	for _, c := range a.r.SetAside(n) {
		out.SetAside = append(out.SetAside, SetAside(c))
	}
	for _, f := range a.faults {
		for i, k := range a.r.Drift {
			if k == f.param {
				out.Estimates[f.quantity] = f.shown(d.Drift[i].Value, d.Drift[i].Low, d.Drift[i].High)
			}
		}
	}
	return out
}

// shown turns a parameter into its quantity: a thrust factor from its
// logarithm, ingress from lost buoyancy.
func (f *fault) shown(value, low, high float64) Estimate {
	switch f.param {
	case predict.LogThrust:
		return Estimate{math.Exp(value), math.Exp(low), math.Exp(high)}
	case predict.TrimG:
		return Estimate{0 - value, 0 - high, 0 - low} // no −0
	}
	return Estimate{value, low, high}
}

// zero is the parameter's sound value: absolute for the battery.
func (a *analysis) zero(f *fault) float64 {
	if f.param == predict.BatteryOhm {
		return a.r.Model.Vehicle.Battery.ResistanceOhm + a.r.Base[predict.BatteryOhm]
	}
	return 0
}

func (a *analysis) limit(f *fault) float64 {
	l := &a.r.Model.Vehicle.Limits
	switch f.param {
	case predict.LoopOhm:
		return l.ExcessResistanceOhm
	case predict.LogThrust:
		return l.ThrustFactor
	case predict.FrictionA:
		return l.FrictionA
	case predict.TrimG:
		return l.IngressG
	case predict.BatteryOhm:
		return l.BatteryResistanceOhm
	}
	return l.BranchExcessOhm
}

// trends are one line a quantity: what it does since its part was serviced.
func (a *analysis) trends(rep *Report, now state) {
	last := len(a.r.Dives) - 1
	for f := range a.faults {
		fl := &a.faults[f]
		if fl.param == within {
			continue
		}
		t := Trend{Quantity: fl.quantity, Pattern: Steady, Limit: a.limit(fl), Baseline: a.zero(fl), Services: fl.cleared}
		if fl.param == predict.LogThrust {
			t.Baseline = 1
		}
		if a.epoch[f] > a.r.Baseline {
			t.From = a.epoch[f]
		}
		for i, h := range now.active {
			if a.faults[h.fault].quantity == fl.quantity && (h.fault == f || t.Pattern == Steady) {
				t.Pattern, t.OnsetDive = h.pattern, a.r.Dives[h.onset].Log.Label
				t.Probability = 1 / (1 + math.Exp(-now.odds[i]))
			}
		}
		a.level(&t, f, now, last)
		rep.Trends = append(rep.Trends, t)
	}
}

// level fills in what is believed at each dive, the slope and the dives left.
func (a *analysis) level(t *Trend, f int, now state, last int) {
	fl := &a.faults[f]
	if last < a.r.Baseline {
		zero := a.zero(fl)
		t.Level = fl.shown(zero, zero, zero)
		for range a.r.Dives {
			t.Believed = append(t.Believed, t.Level)
		}
		return
	}
	hs := now.active
	if t.Pattern == Steady && a.epoch[f] == a.r.Baseline {
		// what a steady quantity's dives since the baseline have been on average
		hs = append(hs[:len(hs):len(hs)], hypothesis{f, Step, a.r.Baseline})
	}
	p := a.solve(hs, last)
	cols := a.columns(hs, last)
	w := make([]float64, len(p.mean))
	at := func(d int) (m, sd float64) {
		clear(w)
		if fl.param == predict.BatteryOhm {
			w[a.place[f]] = 1
		}
		for c, col := range cols {
			if col.place == a.place[f] {
				w[p.ns+c] = col.sign * col.at(d)
			}
		}
		m, v := p.linear(w)
		// what scatters from dive to dive averages out of a believed level, all
		// but the part that the dives since the epoch cannot tell from it
		v += a.variance[a.driftIndex(fl.param)] / float64(max(last-a.epoch[f]+1, 1))
		return m, math.Sqrt(v)
	}
	for d := range a.r.Dives {
		m, sd := at(d)
		m += a.zero(fl)
		t.Believed = append(t.Believed, fl.shown(m, m-2*sd, m+2*sd))
	}
	t.Level = t.Believed[last]
	if t.Pattern == Ramp {
		a.slope(t, f, now, p, cols)
	}
}

func (a *analysis) driftIndex(param int) int {
	for i, k := range a.r.Drift {
		if k == param {
			return i
		}
	}
	return 0
}

// slope is a ramp's gain per dive and the dives until the limit.
func (a *analysis) slope(t *Trend, f int, now state, p *posterior, cols []column) {
	fl := &a.faults[f]
	for c, h := range a.levels(now.active) {
		if h.fault != f {
			continue
		}
		m, sd := p.mean[p.ns+c], math.Sqrt(p.variance(p.ns+c))
		scale := fl.worse
		if fl.param == predict.LogThrust {
			scale *= t.Level.Value // per dive, of a factor
		}
		if fl.param == predict.TrimG {
			scale = 1 // ingress grows as buoyancy falls
		}
		e := Estimate{scale * m, scale * (m - 2*sd), scale * (m + 2*sd)}
		if e.Low > e.High {
			e.Low, e.High = e.High, e.Low
		}
		t.PerDive = &e
		gap := math.Abs(t.Limit - t.Level.Value)
		past := (t.Limit-t.Level.Value)*e.Value <= 0
		if left := func(rate float64) float64 { return math.Min(gap/math.Max(math.Abs(rate), 1e-9), 999) }; past {
			t.DivesToLimit = &Estimate{}
		} else {
			slow, fast := math.Abs(e.Low), math.Abs(e.High)
			if slow > fast {
				slow, fast = fast, slow
			}
			t.DivesToLimit = &Estimate{left(e.Value), left(fast), left(slow)}
		}
	}
}

// linear is the mean and variance of w·x.
func (p *posterior) linear(w []float64) (m, v float64) {
	for i, x := range w {
		if x == 0 {
			continue
		}
		m += x * p.mean[i]
		for j, y := range w {
			if y != 0 {
				v += x * y * p.cov.At(i, j)
			}
		}
	}
	return m, max(v, 0)
}

// findings name what is active at the newest dive, most probable first.
func (a *analysis) findings(rep *Report, now state) {
	for i, h := range now.active {
		if now.odds[i] < certain && !a.open(rep, h.fault) {
			continue
		}
		f := &a.faults[h.fault]
		rep.Findings = append(rep.Findings, Finding{
			Fault: f.name, Probability: 1 / (1 + math.Exp(-now.odds[i])), SinceDive: a.r.Dives[h.onset].Log.Label,
			Evidence: a.evidence(rep, f, h), CheckNext: f.check,
		})
	}
	sort.SliceStable(rep.Findings, func(i, j int) bool { return rep.Findings[i].Probability > rep.Findings[j].Probability })
}

func (a *analysis) open(rep *Report, f int) bool {
	for _, al := range rep.Alarms {
		if al.Quantity == a.faults[f].quantity && al.ClearedDive == nil {
			return true
		}
	}
	return false
}

func (a *analysis) evidence(rep *Report, f *fault, h hypothesis) []string {
	for _, t := range rep.Trends {
		if t.Quantity != f.quantity {
			continue
		}
		if h.pattern == Intermittent {
			return []string{"readings within one dive disagree as if the loop's resistance came and went"}
		}
		words, _ := Words(t.Quantity)
		in := rep.Unit(t.Quantity)
		t, unit := t.In(in), in.Name
		out := []string{strings.TrimSpace(fmt.Sprintf("%s is %.3g (95 %%: %.3g to %.3g) %s", words, t.Level.Value, t.Level.Low, t.Level.High, unit)) +
			fmt.Sprintf(", sound: %.3g", t.Baseline)}
		if t.PerDive != nil {
			out = append(out, strings.TrimSpace(fmt.Sprintf("it changes by %.2g (95 %%: %.2g to %.2g) %s", t.PerDive.Value, t.PerDive.Low, t.PerDive.High, unit))+" a dive")
		}
		return out
	}
	return nil
}

// PerDive is a report of the dives' own estimates alone: no trends beyond the
// quantities' names, no alarms.
func PerDive(r *fit.Result) *Report {
	a := newAnalysis(r)
	rep := &Report{Schema: 1, Vehicle: r.Model.Vehicle.Name, Units: r.Model.Vehicle.Units, Dives: []Dive{}}
	for n := range r.Dives {
		rep.Dives = append(rep.Dives, a.dive(n, serviced(r.Dives[n].Log)))
	}
	for _, f := range a.faults {
		if f.param != within {
			rep.Trends = append(rep.Trends, Trend{Quantity: f.quantity})
		}
	}
	rep.Remarks = a.remarks()
	return rep
}
