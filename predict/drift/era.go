package drift

import (
	"math"
	"slices"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/fit"
)

// A level tells since when a parameter has its present sound level: since the baseline, or since a
// service or a rebuild that may have set it anew.
type level struct {
	since      int
	sd         float64 // prior standard deviation of a level set anew; 0: the baseline's level
	linked     int     // dives before it have the baseline's level; those from it up to since, any
	ifRestored float64 // prior standard deviation if the service restored it; 0: it need not have, or that is decided
}

// frees reports whether a block says nothing of the place's level today.
func (l *level) frees(b *block) bool { return b.first < l.since && b.end() > l.linked }

// spread returns the prior standard deviation of a level set anew, with the probability that it was
// restored where that is not decided.
func (l *level) spread(restored float64) float64 {
	if l.ifRestored == 0 {
		return l.sd
	}
	return math.Sqrt(restored*l.ifRestored*l.ifRestored + (1-restored)*l.sd*l.sd)
}

// freed returns a block as information on today's levels. Places whose level was another then are
// integrated out, in a copy.
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
		out.free(f.Place, unlinkedSizes*f.SD)
	}
	return out
}

// begin sets anew, at dive n, the levels of what was rebuilt just before it, and switches to the
// dive's battery; now explains the dives before. It reports whether another battery came into use.
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
	first, other := a.r.Baseline, !a.r.InBaseline(a.battery)
	if other {
		for a.r.Dives[first].Battery != a.battery { // dive n has it, so this ends
			first++
		}
	}
	for _, f := range a.r.OtherBattery() {
		l := level{since: first, linked: math.MaxInt}
		if other {
			l = level{since: first, sd: f.SD}
		}
		a.levels[f.Place] = l
		a.restartCauses(f.Place, first, other)
	}
	a.review()
	return true
}

// restartCauses restarts, at dive d, the trends of the causes that change a place, which no instrument's
// do. renewed says that they start at a level of their own.
func (a *analysis) restartCauses(place, d int, renewed bool) {
	for i := range a.causes {
		if k := a.causes[i].Param(); k >= 0 && a.causes[i].Kind != causes.Instrument && a.r.Space.Place[k] == place {
			a.epoch[i], a.renewed[i] = d, renewed
		}
	}
}

// unlinkedSizes is how many times its usual size a level before a service may differ from that
// after it, so that neither informs the other.
const unlinkedSizes = 100.0

// service sets anew, at dive d, the levels that causes cleared by the services change. Dives before
// any of those causes is likely to have acted keep the earlier level; now explains the dives before
// d.
func (a *analysis) service(d int, services []string, now *explanation) {
	defer a.review()
	a.notePersistent(services, now)
	a.noteEnded(d, services, now)
	linked := a.endOf(d, now, func(c *causes.Cause) bool { return c.ClearedBy(services) })
	for i := range a.causes {
		c := &a.causes[i]
		if !c.ClearedBy(services) {
			continue
		}
		a.epoch[i], a.renewed[i] = d, true
		for _, t := range c.Reach() {
			at := a.r.Space.Place[t.Param]
			a.restart(at, d, t.Per, linked)
			if share := restoredShare(c, services); share > 0 && !a.improved(c, now) {
				a.levels[at].ifRestored = share * t.Per
			}
		}
	}
	if slices.Contains(services, "battery") {
		for _, f := range a.r.OtherBattery() {
			a.restart(f.Place, d, f.SD, linked)
		}
	}
}

// restorers are the services that usually restore what they end, and by how much a level may then
// differ from the sound one, one standard deviation as a share of the usual size of what it ended. What
// is cleaned, re-made or dried is as before: joints that are re-made differ by 0.03 Ω. Motors and
// propellers of one make differ by 7 % of thrust and 0.1 A. Common practice, no source. With any
// level after a service of a thruster, in logs without a pull, friction was known to 0.4 A and the
// wiring to 0.3 Ω for ten dives, and a fault that began one dive after the service was lost.
var restorers = map[string]float64{"joint": 0.2, "hull": 0.2, "seal": 0.2, "thruster": 0.35, "propeller": 0.35}

// restoredOdds are the prior odds of a restored level against any level, and restoredWires the share
// of instruments, which are zeroed or put right, and of wiring; common practice, no source.
const restoredOdds, restoredWires = 3.0, 0.2

// restoredShare returns within which share of its usual size services usually restore what a cause
// changes; 0 if they need not.
func restoredShare(c *causes.Cause, services []string) (share float64) {
	if c.Kind == causes.NotLogged {
		return 0
	}
	for _, s := range services {
		if !slices.Contains(c.Cleared, s) {
			continue
		}
		of, restores := restorers[s]
		if !restores && c.Kind == causes.Vehicle {
			return 0
		}
		share = max(share, of)
	}
	if c.Kind == causes.Instrument || c.Scale.Unit == "Ω" {
		return restoredWires
	}
	return share
}

// improved reports whether what a cause changes may have become better than in the baseline, so that
// what restores it is not known.
func (a *analysis) improved(c *causes.Cause, now *explanation) bool {
	return slices.ContainsFunc(now.components, func(e component) bool {
		for k, p := range e.stays {
			if p > minProbability && a.causes[k].Mends == c.Name {
				return true
			}
		}
		return false
	})
}

// undecided reports whether services of the last dives may have restored levels.
func (a *analysis) undecided() bool {
	return slices.ContainsFunc(a.levels, func(l level) bool { return l.ifRestored > 0 })
}

// clearly is by how many nats restored levels must be likelier than others, or less likely, for that
// to be settled: common practice, no source.
const clearly = 5.0

// decideRestored settles whether levels set anew at least so many dives ago were restored.
func (a *analysis) decideRestored(dives int) {
	for i := range a.levels {
		l := &a.levels[i]
		if l.ifRestored > 0 && a.n-l.since >= dives {
			l.sd, l.ifRestored = l.spread(a.restored), 0
		}
	}
}

// notCured is the prior odds of a service that leaves what it should end as it was, against one
// that sets an arbitrary level. Most leave a sound level, which the readings tell from both: common
// practice, no source.
const notCured = 0.5

// notePersistent keeps the hypotheses that services should end and that were likely before them:
// they may go on. What was not written down is left out, because the service is then the missing
// line.
func (a *analysis) notePersistent(services []string, now *explanation) {
	a.mayPersist = slices.DeleteFunc(a.mayPersist, func(h hypothesis) bool { return a.causes[h.cause].ClearedBy(services) })
	for i := range now.components {
		e := &now.components[i]
		for c, p := range e.stays {
			row, h := &a.causes[c], e.best[c]
			if !e.hypothesis.stays() || p <= minProbability || row.Kind == causes.NotLogged || len(a.causes[h.cause].Amplitudes) == 0 || !row.ClearedBy(services) || h.pattern != findings.Step && h.pattern != findings.Ramp {
				continue
			}
			for h.size = range causes.Sizes {
				for _, h.pattern = range []string{findings.Step, findings.Ramp} {
					if row.MaySize(h.size, h.way) && (h.pattern == findings.Step || row.Ramp > 0) {
						a.mayPersist = append(a.mayPersist, h)
					}
				}
			}
		}
	}
}

// noteEnded keeps what services at dive d may have ended, whatever each component is named: where the
// readings do not tell drag from thrust, a clean hull tells.
func (a *analysis) noteEnded(d int, services []string, now *explanation) {
	a.mayHaveEnded = a.mayHaveEnded[:0]
	for i := range now.components {
		e := &now.components[i]
		for c, p := range e.stays {
			h := e.best[c]
			if e.hypothesis.stays() && p > minProbability && a.causes[c].ClearedBy(services) && len(a.causes[h.cause].Amplitudes) > 0 && (h.pattern == findings.Step || h.pattern == findings.Ramp) {
				h.until = d
				a.mayHaveEnded = append(a.mayHaveEnded, h)
			}
		}
	}
}

// seenSince is for how many dives after a service it is open whether it has ended what it should.
const seenSince = 2 * lately

// dropEnded drops from mayPersist what services have ended, as the dives since have shown.
func (a *analysis) dropEnded(now *explanation) {
	a.mayPersist = slices.DeleteFunc(a.mayPersist, func(h hypothesis) bool {
		return a.n-a.epoch[h.cause] >= seenSince && !slices.Contains(now.hypotheses(), h)
	})
	a.mayHaveEnded = slices.DeleteFunc(a.mayHaveEnded, func(h hypothesis) bool { return a.n-h.until >= seenSince })
}

// persists reports whether a hypothesis goes on at its level although a service should have ended
// it.
func (a *analysis) persists(h hypothesis) bool {
	return h.stays() && h.onset < a.epoch[h.cause] && slices.Contains(a.mayPersist, h)
}

// minProbability is the probability from which a cause may have acted before a service that ends
// it; common practice, no source.
const minProbability = 0.05

// majority is the least share of a component's probability that a service's causes must have to
// count as having acted where the component is named otherwise. Below it the readings before the
// service are left to whatever else the component may be. With minProbability in its place, of
// ballast lost, 0.8, or a scale that is off, 0.16, none was left when the scale was serviced and
// read as before. Common practice, no source.
const majority = 0.5

// endOf ends, at dive d, the components of causes accepted by of. It returns the dive before which
// none of them is likely to have acted, at most d; now explains the dives before d.
func (a *analysis) endOf(d int, now *explanation, of func(*causes.Cause) bool) (sound int) {
	sound = d
	acted := func(e *component, least float64) {
		all, first := 0.0, d
		for c, p := range e.stays {
			if !of(&a.causes[c]) {
				continue
			}
			all += p
			if p > minProbability {
				first = min(first, e.best[c].onset-lately)
			}
		}
		if all > least {
			sound = min(sound, first)
		}
	}
	if s, ok := a.scanner(now.hypotheses()); ok && len(a.held) > 0 && !enough(now.hypotheses()) {
		suspected := s.weigh(s.scan())
		acted(&suspected, minProbability)
	}
	for i := range now.components {
		e := &now.components[i]
		switch c := &a.causes[e.cause]; {
		case e.until > 0:
		case !of(c):
			acted(e, majority*e.changed())
		case c.Fails.Thruster > 0: // its dives are still read under the failure
			e.until = d
		case len(c.Amplitudes) > 0 && (e.pattern == findings.Step || e.pattern == findings.Ramp):
			e.hypothesis = a.likeliestCase(e)
			e.until = d
		default:
			sound = min(sound, e.onset-lately)
			acted(e, minProbability)
		}
	}
	return sound
}

// likeliestCase returns the likeliest step or ramp in a component's family. Where no case is plain
// the component has the hypothesis of the whole family, which fits its dives less well.
func (a *analysis) likeliestCase(e *component) hypothesis {
	out, most := e.hypothesis, e.stays[a.reportedAs(e.cause)]
	for c, p := range e.stays {
		if h := e.best[c]; p > most && a.related(c, e.cause) && (h.pattern == findings.Step || h.pattern == findings.Ramp) {
			out, most = h, p
		}
	}
	return out
}

// restart sets a place's level anew at dive d, within sd of the previous one; folded blocks from
// dive linked on forget it for good.
func (a *analysis) restart(at, d int, sd float64, linked int) {
	a.forgot[at] = d
	l := &a.levels[at]
	ifRestored := 0.0
	if l.since == d {
		sd, ifRestored = max(l.sd, sd), l.ifRestored
	}
	*l = level{d, sd, min(l.linked, linked), ifRestored}
	for i := range a.folded {
		if b := &a.folded[i]; l.frees(b) {
			b.free(at, unlinkedSizes*sd)
		}
	}
}

// services returns what was worked on just before or within a dive.
func (a *analysis) services(n int) []string {
	var out []string
	d := a.r.Dives[n].Log
	for i := range d.Lines {
		out = append(out, d.Lines[i].Serviced...)
	}
	return slices.Compact(out)
}

// ending returns, by cause, the trends that a service, a rebuild or another battery may end at dive
// n, as they were the dive before.
func (a *analysis) ending(n int, now *explanation, services []string) map[int]findings.Trend {
	out := map[int]findings.Trend{}
	if d := &a.r.Dives[n]; n <= a.r.Baseline || len(services) == 0 && d.Era == a.r.Dives[n-1].Era && d.Battery == a.battery {
		return out
	}
	for _, c := range a.tracked {
		out[c] = a.trend(c, now, n-1)
	}
	return out
}

// end keeps as eras those of some trends that dive n has begun anew.
func (a *analysis) end(trends map[int]findings.Trend, n int) {
	for c, t := range trends {
		if a.epoch[c] == n && len(t.Levels) == n {
			a.eras[c] = append(a.eras[c], findings.Era{From: t.From, To: n, Pattern: t.Pattern, Way: t.Way, PerDive: t.PerDive, Levels: t.Levels[t.From:],
				Another: a.causes[c].Param() == predict.BatteryOhm && a.r.Dives[n].Battery != a.r.Dives[n-1].Battery})
		}
	}
}

// ended returns the eras of a cause that ended by dive from, at which the present trend begins.
// When a battery came back, this leaves out those of the battery in between.
func (a *analysis) ended(c, from int) []findings.Era {
	var out []findings.Era
	for _, e := range a.eras[c] {
		if e.To <= from {
			out = append(out, e)
		}
	}
	return out
}
