package drift

import (
	"math"
	"slices"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/normal"
)

// analysis is a log's dives up to the newest taken, with sound scatter
// integrated out.
type analysis struct {
	r      *fit.Result
	causes []causes.Cause
	n      int    // newest dive taken
	worse  []bool // of each dive taken: by itself it has the loop's resistance higher than scatter

	tracked []int // causes whose quantities have trends

	scatter  *fit.Scatter
	variance []float64              // from sound dive to sound dive, per scattering parameter, as known now
	levels   []level                // of each place of the space
	forgot   []int                  // of each place: the dive before which levels are forgotten for good
	epoch    []int                  // of each cause: the first dive of its present trend
	renewed  []bool                 // of each cause: its trend begins at a level of its own
	battery  string                 // label of the one in use
	eras     map[int][]findings.Era // of each cause, that have ended

	folded  []block            // of dives before held
	held    []block            // of one dive each, the newest last
	view    []block            // of both, what they say of today's levels
	before  []block            // the same of the baseline's dives, which the calibration holds
	sum     *state             // of the static parameters: prior and view
	settled map[int]hypothesis // dives that are explained by themselves, for good
	other   map[regime]*block
	onsets  []int // of what explains the dives so far

	byTurnsNow []int // scattering parameters that change by turns

	reviewed bool // what dives say was worked out anew since they were explained from the start
}

// A level is since when a parameter has the sound level that it has now: since
// the baseline, or since a service or a rebuild that may have set it anew.
type level struct {
	since  int
	sd     float64 // of a level set anew, one standard deviation; 0: the baseline's
	linked int     // dives before this one have the baseline's level; those from there to since, any
}

func newAnalysis(r *fit.Result) *analysis {
	a := &analysis{r: r, causes: r.Space.Causes, n: r.Baseline - 1, other: map[regime]*block{}, settled: map[int]hypothesis{}, eras: map[int][]findings.Era{}}
	a.tracked = tracked(r, a.causes)
	a.sum = newState(r.UsualPrecision(), r.Usual)
	a.levels, a.forgot, a.epoch = make([]level, len(r.Space.All)), make([]int, len(r.Space.All)), make([]int, len(a.causes))
	for i := range a.levels {
		a.levels[i] = level{since: r.Baseline, linked: math.MaxInt}
	}
	a.renewed = make([]bool, len(a.causes))
	for i := range a.epoch {
		a.epoch[i] = r.Baseline
	}
	a.scatter = r.LearnScatter()
	a.variance = a.scatter.Upto(r.Baseline)
	if len(r.Dives) > 0 {
		a.battery = r.Dives[0].Battery
	}
	a.readBefore()
	return a
}

// lag keeps the newest dives out of what is learnt of scatter, so that a fault
// in its first dives does not pass for it.
const lag = 5

// relearnt is the ratio of variances from which what earlier dives say is worked
// out anew.
const relearnt = 1.1

// learn takes dive n in, and the scatter that earlier dives show. What the dives
// held say is worked out anew when that changed enough to matter.
func (a *analysis) learn(n int) {
	now := a.scatter.Upto(max(n+1-lag, a.r.Baseline))
	again := false
	for _, k := range a.byTurnsNow { // what comes and goes is no scatter
		now[k] = a.variance[k]
	}
	for k, v := range now {
		r := v / a.variance[k]
		again = again || r > relearnt || r < 1/relearnt
	}
	a.n = n
	if again {
		a.variance = now
		for i := range a.held {
			a.held[i] = a.read(a.held[i].first, a.held[i])
		}
		a.review()
	}
	for d := len(a.worse); d <= n; d++ {
		x := a.r.Departure(d, predict.LoopOhm)
		a.worse = append(a.worse, x.Value > outstanding*x.SD)
	}
	a.held = append(a.held, a.read(n, block{}))
	a.view = append(a.view, a.freed(&a.held[len(a.held)-1]))
	a.sum.take(a.r.Space.Static, &a.view[len(a.view)-1], 1)
}

// read is what dive d says, scatter integrated out, in the storage of to.
func (a *analysis) read(d int, to block) block {
	h, settled := a.settled[d]
	if settled && len(a.causes[h.cause].Amplitudes) == 0 {
		return a.readUnder(d, h.cause, true, to)
	}
	q := &a.r.Dives[d].Summary.Firm
	b := ofDive(d, a.r.Dives[d].Battery, q.Integrate(a.r.Space.Scatter, a.r.VarianceIn(d, a.variance), normal.Likelihood{Info: to.info[0], Lin: to.lin[0]}))
	if settled {
		for _, t := range a.causes[h.cause].Reach() {
			b.free(a.r.Space.Place[t.Param], t.Per)
		}
	}
	return b
}

// review works out anew what all dives say of today's levels.
func (a *analysis) review() {
	clear(a.other)
	a.reviewed = true
	a.readBefore()
	a.view = a.view[:0]
	a.sum = newState(a.r.UsualPrecision(), a.r.Usual)
	for _, blocks := range [][]block{a.folded, a.held} {
		for i := range blocks {
			b := a.freed(&blocks[i])
			a.view = append(a.view, b)
			a.sum.take(a.r.Space.Static, &b, 1)
		}
	}
}

// readBefore works out what the baseline's dives say of today's levels.
func (a *analysis) readBefore() {
	a.before = a.before[:0]
	for d := range min(a.r.Baseline, len(a.r.Dives)) {
		b := a.read(d, block{})
		a.before = append(a.before, a.freed(&b))
	}
}

// frees says whether what a block says of a place says nothing of its level today.
func (l *level) frees(b *block) bool { return b.first < l.since && b.end() > l.linked }

// freed is what a block says of today's levels: of places whose level then says
// nothing of that of today it is free, in storage of its own.
func (a *analysis) freed(b *block) block {
	var places []fit.Free
	for at, l := range a.levels {
		if l.frees(b) {
			places = append(places, fit.Free{Place: at, SD: l.sd})
		}
	}
	if b.mixed || b.battery != a.battery {
		places = append(places, a.r.OtherBattery()...)
	}
	if len(places) == 0 {
		return *b
	}
	out := b.clone()
	for _, f := range places {
		out.free(f.Place, unlinked*f.SD)
	}
	return out
}

// begin sets anew, at dive n, what was rebuilt before it, and takes the battery
// that it used, now being what explains the dives before. It says whether another battery came into use.
func (a *analysis) begin(n int, now *explanation) (another bool) {
	d := &a.r.Dives[n]
	if n > 0 && d.Era != a.r.Dives[n-1].Era {
		rebuilt := a.r.Rebuilt(d.Era)
		linked := a.endOf(n, now, func(c *causes.Cause) bool {
			return slices.ContainsFunc(c.Reach(), func(t causes.Term) bool {
				return slices.ContainsFunc(rebuilt, func(f fit.Free) bool { return f.Place == a.r.Space.Place[t.Param] })
			})
		})
		for _, f := range rebuilt {
			a.restart(f.Place, n, f.SD, linked)
			a.restartCauses(f.Place, n, true)
		}
		a.review()
	}
	if d.Battery == a.battery || n < a.r.Baseline {
		return false
	}
	a.battery = d.Battery
	first, other := a.r.Baseline, a.battery != a.r.Dives[0].Battery
	if other {
		for a.r.Dives[first].Battery != a.battery { // n has it
			first++
		}
	}
	for _, f := range a.r.OtherBattery() {
		l := level{since: first}
		if other {
			l.sd = f.SD
		}
		a.levels[f.Place] = l
		a.restartCauses(f.Place, first, other)
	}
	a.review()
	return true
}

// restartCauses begins the trends of the causes that change a place anew: renewed
// from a level of its own.
func (a *analysis) restartCauses(place, d int, renewed bool) {
	for i := range a.causes {
		if k := a.causes[i].Param(); k >= 0 && a.r.Space.Place[k] == place {
			a.epoch[i], a.renewed[i] = d, renewed
		}
	}
}

// unlinked is how many times its usual size a level before a service may be
// away from that after, so that the one says nothing of the other.
const unlinked = 100.0

// service starts anew, at dive d, the levels that services touch: of all that the causes change which they end. What
// earlier dives say of them counts where none of those causes acted, by now, which explains the dives before.
func (a *analysis) service(d int, services []string, now *explanation) {
	defer a.review()
	linked := a.endOf(d, now, func(c *causes.Cause) bool { return c.ClearedBy(services) })
	for i := range a.causes {
		c := &a.causes[i]
		if !c.ClearedBy(services) {
			continue
		}
		a.epoch[i], a.renewed[i] = d, true
		for _, t := range c.Reach() {
			a.restart(a.r.Space.Place[t.Param], d, t.Per, linked)
		}
	}
}

// thinkable is the probability from which a cause may have acted before a service that ends it; common practice,
// no source.
const thinkable = 0.05

// endOf ends, at dive d, what acted by some causes, and returns the dive before which no more of them is likely to have
// acted, d at most; now explains the dives before d.
func (a *analysis) endOf(d int, now *explanation, of func(*causes.Cause) bool) (sound int) {
	sound = d
	parts := slices.Clone(now.parts)
	if s, ok := a.scanner(now.hypotheses()); ok && len(a.held) > 0 && !enough(now.hypotheses()) {
		parts = append(parts, s.weigh(s.scan()))
	}
	for i := range parts {
		e := &parts[i]
		c := &a.causes[e.cause]
		if i < len(now.parts) && e.until == 0 && of(c) {
			if len(c.Amplitudes) > 0 && (e.pattern == findings.Step || e.pattern == findings.Ramp) {
				now.parts[i].until = d
				continue
			}
			sound = min(sound, e.onset-lately)
		}
		for c, p := range e.stays {
			if p > thinkable && of(&a.causes[c]) {
				sound = min(sound, e.best[c].onset-lately)
			}
		}
	}
	return sound
}

// restart sets a place's level anew at dive d, within sd of what it was before dive linked. Dives that
// are folded forget it, but those before that.
func (a *analysis) restart(at, d int, sd float64, linked int) {
	a.forgot[at] = d
	l := &a.levels[at]
	if l.since == d {
		sd = max(l.sd, sd)
	}
	*l = level{d, sd, min(l.linked, linked)}
	for i := range a.folded {
		if b := &a.folded[i]; l.frees(b) {
			b.free(at, unlinked*sd)
		}
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
