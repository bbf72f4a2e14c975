package drift

import (
	"slices"

	"sagline/predict/causes"
	"sagline/predict/fit"
)

// analysis is a log's summaries with sound scatter integrated out.
type analysis struct {
	r      *fit.Result
	causes []causes.Cause
	prior  *state // of what sound dives scatter about, after the baseline

	scatter  *fit.Scatter
	variance []float64        // from sound dive to sound dive, per scattering parameter, as known now
	firm     []fit.Likelihood // of each dive after the baseline, scatter integrated out
	other    map[regime]fit.Likelihood
	levels   []level // of each place of the space
	epoch    []int   // of each cause: the first dive of its present trend
	battery  string  // label of the one in use
}

// A level is since when a parameter has the sound level that it has now: since
// the baseline, or since a service or a rebuild that may have set it anew.
type level struct {
	since int
	sd    float64 // of a level set anew, one standard deviation
}

// A regime is a dive read otherwise than by amplitudes: with a loose contact, or
// a thruster jammed.
type regime struct{ dive, cause int }

func newAnalysis(r *fit.Result) *analysis {
	a := &analysis{r: r, causes: r.Causes(), other: map[regime]fit.Likelihood{}}
	a.prior = newState(r.UsualPrecision(), r.Usual)
	a.levels, a.epoch = make([]level, r.Places()), make([]int, len(a.causes))
	for i := range a.levels {
		a.levels[i].since = r.Baseline
	}
	for i := range a.epoch {
		a.epoch[i] = r.Baseline
	}
	a.scatter = r.LearnScatter()
	a.variance = a.scatter.Upto(r.Baseline)
	a.firm = make([]fit.Likelihood, len(r.Dives))
	if len(r.Dives) > 0 {
		a.battery = r.Dives[0].Battery
	}
	return a
}

// lag keeps the newest dives out of what is learnt of scatter, so that a fault
// in its first dives does not pass for it.
const lag = 5

// relearnt is the ratio of variances from which what earlier dives say is worked
// out anew.
const relearnt = 1.1

// learn takes dive n in, and the scatter that earlier dives show. What they
// say is worked out anew when that changed enough to matter.
func (a *analysis) learn(n int) {
	first := n
	now := a.scatter.Upto(max(n+1-lag, a.r.Baseline))
	for k, v := range now {
		if r := v / a.variance[k]; r > relearnt || r < 1/relearnt {
			first = a.r.Baseline
		}
	}
	if first < n {
		a.variance = now
	}
	a.integrate(first, n)
}

// integrate integrates sound scatter out of dives from first to n.
func (a *analysis) integrate(first, n int) {
	clear(a.other)
	for d := first; d <= n; d++ {
		a.firm[d] = a.r.Integrate(&a.r.Dives[d].Summary.Firm, a.variance, a.free(d), a.firm[d])
	}
}

// free are the places whose level before dive d+1 says nothing of that of
// today, with the standard deviation of what lies between.
func (a *analysis) free(d int) []fit.Free {
	var out []fit.Free
	for at, l := range a.levels {
		if d < l.since {
			out = append(out, fit.Free{Place: at, SD: unlinked * l.sd})
		}
	}
	if a.r.Dives[d].Battery != a.battery {
		for _, f := range a.r.OtherBattery() {
			out = append(out, fit.Free{Place: f.Place, SD: unlinked * f.SD})
		}
	}
	return out
}

// begin sets anew, at dive n, what was rebuilt before it, and takes the battery
// that it used. It says whether another battery came into use.
func (a *analysis) begin(n int) (another bool) {
	d := &a.r.Dives[n]
	if n > 0 && d.Era != a.r.Dives[n-1].Era {
		for _, f := range a.r.Rebuilt(d.Era) {
			a.restart(f.Place, n, f.SD)
			a.restartCauses(f.Place, n)
		}
		a.integrate(a.r.Baseline, n-1)
	}
	if d.Battery == a.battery || n < a.r.Baseline {
		return false
	}
	a.battery = d.Battery
	first := a.r.Baseline
	if a.battery != a.r.Dives[0].Battery {
		for first < n && a.r.Dives[first].Battery != a.battery {
			first++
		}
	}
	for _, f := range a.r.OtherBattery() {
		a.levels[f.Place] = level{first, f.SD}
		a.restartCauses(f.Place, first)
	}
	a.integrate(a.r.Baseline, n-1)
	return true
}

// restartCauses begins the trends of the causes that change a place anew.
func (a *analysis) restartCauses(place, d int) {
	for i := range a.causes {
		if k := a.causes[i].Param(); k >= 0 && a.r.Place(k) == place {
			a.epoch[i] = d
		}
	}
}

// unlinked is how many times its usual size a level before a service may be
// away from that after, so that the one says nothing of the other.
const unlinked = 100.0

// otherwise is what dive d says under the regime of a cause.
func (a *analysis) otherwise(d, cause int) fit.Likelihood {
	key := regime{d, cause}
	if l, ok := a.other[key]; ok {
		return l
	}
	s, q := a.r.Dives[d].Summary, (*fit.Quadratic)(nil)
	if c := &a.causes[cause]; c.Within {
		q = s.Loose
	} else {
		q = s.Jammed[c.Jammed-1]
	}
	if q == nil {
		q = &s.Firm
	}
	l := a.r.Integrate(q, a.variance, a.free(d), fit.Likelihood{})
	a.other[key] = l
	return l
}

// service starts anew, at dive d, the levels that services touch: of all that
// the causes change which they end. What earlier dives say of them no longer
// counts.
func (a *analysis) service(d int, services []string) {
	defer func() { a.integrate(a.r.Baseline, d-1) }()
	for i := range a.causes {
		c := &a.causes[i]
		if !c.ClearedBy(services) {
			continue
		}
		a.epoch[i] = d
		for _, amp := range c.Amplitudes {
			for _, t := range amp.Terms {
				a.restart(a.r.Place(t.Param), d, amp.Step*max(t.Per, -t.Per))
			}
		}
	}
}

// restart sets a place's level anew at dive d, within sd of what it was.
func (a *analysis) restart(at, d int, sd float64) {
	if l := &a.levels[at]; l.since == d && d > a.r.Baseline {
		l.sd = max(l.sd, sd)
	} else {
		*l = level{d, sd}
	}
}

// services are what was worked on just before or within a dive.
func (a *analysis) services(n int) []string {
	var out []string
	d := a.r.Dives[n].Log
	for i := range d.Lines {
		out = append(out, d.Lines[i].Serviced...)
	}
	return slices.Compact(out)
}
