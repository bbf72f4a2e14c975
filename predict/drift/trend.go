package drift

import (
	"math"
	"slices"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/normal"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// tracked returns the causes whose quantities have a trend in every log: those of the vehicle
// itself that one dive's readings tell by themselves, one per quantity, the insulation only if it
// was read.
func tracked(r *fit.Result, of []causes.Cause) []int {
	var out []int
	for i := range of {
		c := &of[i]
		if !c.Tracked || c.Name == "insulation" && !r.Reads()[quantity.Insulation] {
			continue
		}
		out = append(out, i)
	}
	return out
}

// sound returns the sound value of an absolute quantity as an amplitude, 0 for a relative one.
func (a *analysis) sound(c int) float64 {
	row := &a.causes[c]
	if !row.Scale.Absolute {
		return 0
	}
	return a.r.SoundOf(row.Param())
}

// amplitude returns the amplitude of a cause at a level of its quantity.
func (a *analysis) amplitude(c int, level float64) float64 {
	return a.causes[c].Scale.Amplitude(level, a.sound(c))
}

// display converts an amplitude's interval to the quantity's.
func (a *analysis) display(c int, value, low, high float64) findings.Estimate {
	s, sound := a.causes[c].Scale, a.sound(c)
	return a.possible(c, ordered(s.Show(value, sound), s.Show(low, sound), s.Show(high, sound)))
}

// displayAbsolute is display for an amplitude that already includes the sound value.
func (a *analysis) displayAbsolute(c int, value, low, high float64) findings.Estimate {
	s := a.causes[c].Scale
	s.Absolute = false
	return a.possible(c, ordered(s.Show(value, 0), s.Show(low, 0), s.Show(high, 0)))
}

// possible cuts the interval of a total resistance at 0. One that lies entirely below is left for
// stateOf to report as impossible.
func (a *analysis) possible(c int, e findings.Estimate) findings.Estimate {
	if s := a.causes[c].Scale; s.Absolute && !s.Factor && e.High > 0 {
		e.Value, e.Low = max(e.Value, 0), max(e.Low, 0)
	}
	return e
}

func ordered(value, low, high float64) findings.Estimate {
	return findings.Estimate{Value: value, Low: min(low, high), High: max(low, high)}
}

// trends fills in one trend per quantity: what it has done since its part was serviced.
func (a *analysis) trends(rep *findings.Report, now *explanation) {
	last := len(a.r.Dives) - 1
	a.unseen = a.besidesAll(now)
	for _, c := range a.tracked {
		rep.Trends = append(rep.Trends, a.trend(c, now, last))
		a.estimateElsewhere(rep, c, now)
	}
	for i := range now.components { // what else is active
		e := &now.components[i]
		if !e.hypothesis.stays() {
			continue
		}
		for _, c := range a.candidates(e) {
			if a.causes[c].Param() < 0 || rep.Trend(a.causes[c].Quantity) != nil {
				continue
			}
			rep.Trends = append(rep.Trends, a.trend(c, now, last))
			a.estimate(rep, c)
			a.estimateElsewhere(rep, c, now)
		}
	}
}

// estimateElsewhere applies to a change of a cause's quantity that acts at another place than its
// own. From its onset on it replaces the dives' estimates by what each held dive says of that
// change, given the rest of the explanation.
func (a *analysis) estimateElsewhere(rep *findings.Report, c int, now *explanation) {
	if e := a.active(c, now); e == nil || e.way == 0 {
		return
	}
	s, cols, ok := a.solve(now.hypotheses())
	for i := range cols {
		col := &cols[i]
		if !ok || !col.instead || col.cause != c {
			continue
		}
		for n := max(col.onset, a.held[0].first); n <= a.n; n++ {
			slope, info := a.pull(a.seen(n), a.departure(s, cols, n, func(k *column) bool { return k != col }), col)
			if x := normal.Of(slope/(info+1/sq(col.sd)), 1/math.Sqrt(info+1/sq(col.sd))); col.profile(n) != 0 {
				rep.Dives[n].Estimates[a.causes[c].Quantity] = a.displayAbsolute(c, x.Value, x.Low, x.High)
			}
		}
	}
}

// estimate adds a cause's quantity to the reported estimates of every dive; for another battery it
// is the difference of its resistance.
func (a *analysis) estimate(rep *findings.Report, c int) {
	param, sound := a.causes[c].Param(), 0.0
	if param == predict.BatteryOhm && !a.causes[c].Scale.Absolute {
		sound = a.r.SoundOf(param)
	}
	for n := range rep.Dives {
		x := a.r.Departure(n, param)
		rep.Dives[n].Estimates[a.causes[c].Quantity] = a.displayAbsolute(c, x.Value-sound, x.Low-sound, x.High-sound)
	}
}

// trend returns what a cause's quantity does up to dive last.
func (a *analysis) trend(c int, now *explanation, last int) findings.Trend {
	row := &a.causes[c]
	t := findings.Trend{Quantity: row.Quantity, Pattern: findings.Steady, Cause: row, Baseline: row.Scale.Show(0, a.sound(c))}
	if row.Limit != nil {
		limit := row.Limit(&a.r.Model.Vehicle.Limits)
		t.Limit = &limit
	}
	if a.renewed[c] {
		t.From = a.epoch[c]
	}
	active := a.active(c, now)
	if active != nil {
		t.Pattern, t.OnsetDive, t.Probability = active.pattern, a.r.Dives[active.onset].Log.Label, a.probabilityOf(active)
		t.Begun = active.begun(last)
		if active.cause == c {
			t.Way = active.way
		}
		if a.causes[active.cause].Contact > 0 {
			t.ComesBy = a.contactRange(&active.hypothesis)
		}
	}
	for i := range now.components {
		if e := &now.components[i]; e.hypothesis.stays() && a.causes[e.cause].Fails.How == causes.Lost && slices.Contains(a.candidates(e), c) {
			t.Lost = lostTerms(row.Param())
		}
	}
	if active != nil && a.persists(active.hypothesis) { // no service has ended it, so its trend goes back further
		t.From = 0
		for _, e := range a.eras[c] {
			if e.From <= active.onset {
				t.From = e.From
			}
		}
	}
	t.Eras = a.ended(c, t.From)
	a.level(&t, c, active, now, last)
	t.State = a.stateOf(c, &t)
	if x := a.newest(quantity.Insulation, t.From); c == a.insulation() && t.State == findings.PastLimit && !math.IsInf(x, 1) {
		t.LastRead = &x
	}
	return t
}

// active returns the component that changes the quantity of cause c, nil if none surely does. Of
// several it is the newest ramp, which goes on, else the first.
func (a *analysis) active(c int, now *explanation) (active *component) {
	for i := range now.components {
		e := &now.components[i]
		switch {
		case !e.hypothesis.stays() || !a.activeFor(e, c) || a.probabilityOf(e) < mostly*e.changed():
		case active == nil, e.pattern == findings.Ramp && (active.pattern != findings.Ramp || e.onset > active.onset), active.pattern != findings.Ramp && e.onset < active.onset:
			active = e
		}
	}
	return active
}

// level fills in the level at each dive up to last, the slope and the dives to the limit.
func (a *analysis) level(t *findings.Trend, c int, active *component, now *explanation, last int) {
	if last < a.r.Baseline || a.causes[c].Param() < 0 {
		for range last + 1 {
			t.Levels = append(t.Levels, a.display(c, 0, 0, 0))
		}
		t.Level = a.display(c, 0, 0, 0)
		return
	}
	hs := now.hypotheses()
	if active == nil && !a.renewed[c] {
		// the mean level of a steady quantity since the baseline is one more step
		hs = append(hs, hypothesis{cause: c, pattern: findings.Step, onset: a.r.Baseline})
	}
	levels := a.course(c, hs, active != nil, last)
	if levels == nil {
		return
	}
	or, p := a.otherReading(c, now, hs)
	if or == nil && active == nil {
		or, p = a.unseenOf(c, hs)
	}
	if or != nil {
		if active != nil { // with a pattern the mean is the pattern's
			p = 0
		}
		for d, e := range a.course(c, or, active != nil, last) {
			l := &levels[d]
			*l = findings.Estimate{Value: (1-p)*l.Value + p*e.Value, Low: min(l.Low, e.Low), High: max(l.High, e.High)}
		}
	}
	for _, l := range levels {
		t.Levels = append(t.Levels, a.display(c, l.Value, l.Low, l.High))
	}
	t.Level = t.Levels[last]
	if t.Pattern == findings.Ramp && active.cause == c {
		a.slope(t, c, active, hs, last)
	}
}

// course returns a cause's amplitude at each dive up to last under some hypotheses, which may bend;
// nil if they have no solution.
func (a *analysis) course(c int, hs []hypothesis, bends bool, last int) []findings.Estimate {
	of := a.bentBy(c, hs, bends, last)
	if of == nil {
		return nil
	}
	out := make([]findings.Estimate, last+1)
	before := make([]weighted, len(of)) // in a long log most dives have the level of the one before
	for d := range out {
		var mean, square float64
		for i, b := range of {
			if w := a.weightsAt(b.state, b.cols, c, d); !slices.Equal(w, before[i].weights) {
				x, sd := a.levelOf(b.state, w, c, last)
				before[i] = weighted{w, x, sd}
			}
			x, sd := before[i].mean, before[i].sd
			mean, square = mean+b.weight*x, square+b.weight*(x*x+sd*sd)
		}
		sd := math.Sqrt(max(square-mean*mean, 0))
		out[d] = findings.Estimate{Value: mean, Low: mean - z95*sd, High: mean + z95*sd}
	}
	for _, h := range hs {
		if a.reportedAs(h.cause) == h.cause || a.reportedAs(h.cause) != c {
			continue
		}
		by := a.failedBy(h)
		for d := h.onset; d <= min(a.last(h), last); d++ {
			if h.pattern != findings.Turns || h.on[d-h.onset] == acts {
				out[d] = by
			}
		}
	}
	return out
}

// tail is the probability on either side of a 95 % interval: what is less likely need not be in it.
const tail = 0.025

// besidesAll returns what may have changed besides an explanation though that does not ask for it; nil
// if there are no dives to tell.
func (a *analysis) besidesAll(now *explanation) *component {
	if a.n < a.r.Baseline || len(a.r.Dives) == 0 {
		return nil
	}
	s, ok := a.scanner(now.hypotheses())
	if !ok {
		return nil
	}
	e := s.weigh(s.scan())
	return &e
}

// unseenOf returns hs together with the likeliest change of cause c's quantity that the explanation
// does not ask for, and its probability: nil if that is next to none. A ramp that has hardly begun to
// show is as large now as the readings leave open, not as on average since the baseline.
func (a *analysis) unseenOf(c int, hs []hypothesis) (or []hypothesis, p float64) {
	if a.unseen == nil {
		return nil, 0
	}
	best := -1
	for k, x := range a.unseen.stays {
		if a.causes[k].Quantity == a.causes[c].Quantity && len(a.causes[k].Amplitudes) > 0 {
			if p += x; best < 0 || x > a.unseen.stays[best] {
				best = k
			}
		}
	}
	if best < 0 || p < tail {
		return nil, 0
	}
	return append(slices.Clone(hs), a.unseen.best[best]), p
}

// otherReading returns how else the dives may be read, where a component is not surely of cause c's
// quantity or not surely of another: hypotheses to use in place of hs, and their probability. A
// level's interval has to cover both.
func (a *analysis) otherReading(c int, now *explanation, hs []hypothesis) (or []hypothesis, p float64) {
	for i := range now.components {
		e := &now.components[i]
		if !e.hypothesis.stays() {
			continue
		}
		of, best := 0.0, -1 // the likeliest cause on the other side
		ours := a.causes[e.cause].Quantity == a.causes[c].Quantity
		for k, p := range e.stays {
			same := a.causes[k].Quantity == a.causes[c].Quantity
			if same {
				of += p
			}
			if same != ours && (best < 0 || p > e.stays[best]) {
				best = k
			}
		}
		if of < tail || of > 1-tail {
			continue
		}
		or, p = slices.Clone(hs), of
		if ours {
			p = 1 - of
		}
		if best >= 0 && e.stays[best] > e.none+e.once || !ours {
			or[i] = e.best[best]
		} else {
			or = slices.Delete(or, i, i+1)
		}
		return or, p
	}
	return nil, 0
}

// z95 is the normal quantile at 0.975.
const z95 = vehicle.Z95

// A weighted is a weighted sum of a state's unknowns: the weights, its mean and standard deviation.
type weighted struct {
	weights  []float64
	mean, sd float64
}

// levelOf returns the mean and standard deviation of a cause's first parameter, less its sound
// value, from the weights w of a state's unknowns in it.
func (a *analysis) levelOf(s *state, w []float64, c, last int) (mean, sd float64) {
	mean, variance := s.linear(w)
	return mean, math.Sqrt(variance + a.unaveraged(c, last))
}

// unaveraged is the variance of a cause's level that scatter from dive to dive leaves: it averages
// out of a level, except for the part that the dives since the epoch cannot tell from it.
func (a *analysis) unaveraged(c, last int) float64 {
	i := a.r.ScatterAt(a.r.Space.Place[a.causes[c].Param()])
	if i < 0 {
		return 0
	}
	return a.variance[i] / float64(max(last-a.epoch[c]+1, 1))
}

// weightsAt returns the weights of the state's unknowns in a cause's first parameter at a dive; for
// a repair those of its own effect alone. What a service left open of single thrusters counts as
// their mean.
func (a *analysis) weightsAt(s *state, cols []column, c, d int) []float64 {
	w := make([]float64, s.n)
	at := a.r.Space.Place[a.causes[c].Param()]
	static := a.r.Space.Static
	if a.causes[c].Scale.Absolute {
		w[slices.Index(static, at)] = 1
		if a.causes[c].Param() == predict.BatteryOhm && a.r.LoadA > 0 {
			w[slices.Index(static, a.r.Space.Place[predict.SurfaceV])] = 1 / a.r.LoadA
		}
	}
	for k := range cols {
		for _, t := range cols[k].terms {
			per := t.per
			switch {
			case cols[k].setAnew() && a.isNewZero(t.at, cols[k].onset):
				continue
			case cols[k].setAnew() && a.ofOneThruster(t.at, c):
				per /= float64(len(a.r.Model.Vehicle.Thrusters))
			case cols[k].instead && cols[k].cause == c:
			case t.at != at || cols[k].offLevel || a.causes[c].Mends != "" && cols[k].cause != c:
				continue
			}
			w[len(static)+k] += per * cols[k].profile(d)
		}
	}
	return w
}

// isNewZero reports whether a place that was set anew at a dive starts at nothing there: ballast that was
// worked on is no water taken in.
func (a *analysis) isNewZero(at, dive int) bool {
	return at == a.r.Space.Place[predict.TrimG] && slices.Contains(a.services(dive), "ballast")
}

// ofOneThruster reports whether a place is one thruster's own share of what cause c changes for
// all.
func (a *analysis) ofOneThruster(at, c int) bool {
	return slices.ContainsFunc(a.causes, func(one causes.Cause) bool {
		return one.Of == a.causes[c].Name && one.Param() >= predict.FirstThruster && a.r.Space.Place[one.Param()] == at
	})
}

// hypotheses returns the hypotheses of an explanation's components.
func (e *explanation) hypotheses() []hypothesis {
	out := make([]hypothesis, len(e.components))
	for i := range e.components {
		out[i] = e.components[i].hypothesis
	}
	return out
}

// begun returns the probability that a change began at each dive up to last. Where onsets are
// spaced, each stands for those up to the next.
func (e *component) begun(last int) []float64 {
	out := make([]float64, last+1)
	by := map[int]float64{}
	for _, o := range e.onsets {
		by[o.h.onset] += o.p
	}
	for d, p := range by {
		to := d + 1
		for to <= last && by[to] == 0 && spacing(last-to+1) > 1 {
			to++
		}
		for k := d; k < to; k++ {
			out[k] += p / float64(to-d)
		}
	}
	return out
}
