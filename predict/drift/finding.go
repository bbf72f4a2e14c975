package drift

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/session/units"
)

// listed is the probability from which an alternative is listed by itself.
const listed = 0.01

// surest is the largest probability of a finding. What has changed may be no row of the table of causes,
// or not be as its row has it, and how a vehicle differs from the model it does in every dive: no
// number of dives tells that from a row. Of findings with more than 0.99 11 of 131 were wrong on 1420
// seasons of four simulators with other physics, of those from 0.8 to 0.95 four of 93.
const surest = 0.97

// onsetShare is the share of the onset's probability that its range holds.
const onsetShare = 0.9

// findings fills in what is active at the newest dive, each cause once. Findings above
// findings.LeastReported come first: those with an alarm, those without, what no cause explains; each group
// by probability.
func (a *analysis) findings(rep *findings.Report, now *explanation, alarms *alarmBook) {
	for i := range now.components {
		e := &now.components[i]
		other := a.otherFailure(e)
		alarm := alarms.isOpen(e.cause) || other >= 0 && alarms.isOpen(other)
		if !e.hypothesis.stays() || a.ownCourse(now, e) || a.ofFailed(now, e) || !alarm && e.changed() < findings.LeastReported || a.unfit(now, e) {
			continue
		}
		f := a.finding(rep, now, e, alarm)
		f.Test = a.test(e, now)
		rep.Findings = merge(rep.Findings, f)
	}
	if f, ok := a.unexplained(now); ok {
		rep.Findings = append(rep.Findings, f)
	}
	rank := func(f *findings.Finding) int {
		switch {
		case f.Sure() < findings.LeastReported:
			return 3
		case f.Fault == findings.Unexplained:
			return 2
		case !f.Alarm:
			return 1
		}
		return 0
	}
	sort.SliceStable(rep.Findings, func(i, j int) bool {
		f, g := &rep.Findings[i], &rep.Findings[j]
		if rank(f) != rank(g) {
			return rank(f) < rank(g)
		}
		return f.Sure() > g.Sure()
	})
}

// merge adds a finding. Of two findings of one cause the one above findings.LeastReported stays. Of two
// above it the earlier stays, begun again with the later; its cause is as probable as that of the
// surer.
func merge(all []findings.Finding, f findings.Finding) []findings.Finding {
	i := slices.IndexFunc(all, func(g findings.Finding) bool { return g.Fault == f.Fault })
	if i < 0 {
		return append(all, f)
	}
	g := &all[i]
	if f.Probability >= findings.LeastReported && g.Probability >= findings.LeastReported {
		if f.Onset < g.Onset {
			f, *g = *g, f
		}
		g.Again, g.Alarm = append(g.Again, f.SinceDive), g.Alarm || f.Alarm
		if f.Probability > g.Probability {
			g.Probability, g.Alternatives, g.Which, g.Either, g.Cause, g.CheckNext = f.Probability, f.Alternatives, f.Which, f.Either, f.Cause, f.CheckNext
		}
	} else if f.Probability > g.Probability {
		*g = f
	}
	return all
}

// ownCourse reports whether a component is a repair (Cause.Mends) of a fault found since earlier:
// that is how the fault goes on, in steps or more slowly, and no news of its own.
func (a *analysis) ownCourse(now *explanation, e *component) bool {
	mends := a.causes[e.cause].Mends
	if mends == "" {
		return false
	}
	return slices.ContainsFunc(now.components, func(p component) bool {
		return p.hypothesis.stays() && p.onset < e.onset && a.causes[p.cause].Name == mends
	})
}

// ofFailed reports whether a component is of a thruster that had failed at its onset, or that did
// not run between its onset and the failure: a motor that stands, gets no current or turns nothing
// tells nothing else of itself, nor do the dives between its jams. It also reports whether a component
// is of the battery since a thruster is jammed: that is read in haste, before the battery has sagged.
func (a *analysis) ofFailed(now *explanation, e *component) bool {
	k := a.causes[e.cause].Param()
	return slices.ContainsFunc(now.components, func(p component) bool {
		how := a.causes[p.cause].Fails
		if how.Jam() && p.hypothesis.stays() && k == predict.BatteryOhm {
			return p.onset == e.onset
		}
		if k < predict.FirstThruster || how.Thruster == 0 || p.hypothesis == e.hypothesis || !p.hypothesis.stays() || (k-predict.FirstThruster)/predict.PerThruster != how.Thruster-1 {
			return false
		}
		for d := e.onset; d < p.onset; d++ {
			if !a.silent(d, p.cause) {
				return false
			}
		}
		return true
	})
}

func (a *analysis) finding(rep *findings.Report, now *explanation, e *component, alarm bool) findings.Finding {
	e = a.atMost(e)
	cause, p := a.named(e)
	from, to := e.onsetRange()
	label := func(d int) string { return a.r.Dives[d].Log.Label }
	c, either := a.oneOf(e, cause)
	which, covers := a.which(e, cause), func(c int) bool { return a.related(c, e.cause) }
	if a.root(cause) != cause && (either == nil || a.otherFailure(e) >= 0) { // put down to one thruster alone
		p, which, covers = e.stays[cause], nil, func(c int) bool { return c == cause }
	}
	if when := a.causes[e.cause].When(e.way); when != "" {
		of := *c
		of.What += ", " + when
		c = &of
	}
	evidence, check := a.evidence(rep, now, e, len(either) > 0), c.Check
	if most, length := a.longerTether(e.onset); most > 0 && c.Param() == predict.LoopOhm {
		u := a.r.Model.Vehicle.Units
		evidence = append(evidence, fmt.Sprintf("from dive %s on the log has up to %s out of a tether of %s", label(e.onset), u.Plain(most, "m"), u.Plain(length, "m")))
		check = fmt.Sprintf("was the tether lengthened or exchanged? if so say it with sagline change --from %q --set tether.length_m=%g; if not, ", label(e.onset), most) + check
	}
	return findings.Finding{Fault: c.Name, Probability: p, SinceDive: label(e.onset), OnsetFrom: label(from), OnsetTo: label(to),
		Evidence: evidence, CheckNext: check, Which: which, Alternatives: a.alternatives(e, covers), Cause: c, Either: either, Alarm: alarm, Onset: e.onset}
}

// atMost returns a component whose finding would be surer than surest with causes scaled down to that,
// and any other as it is.
func (a *analysis) atMost(e *component) *component {
	cause, p := a.named(e)
	sum := 0.0
	if _, either := a.either(e, cause); either != nil {
		for _, c := range either {
			sum += c.Probability
		}
	}
	if p = max(p, sum); p <= surest {
		return e
	}
	out := *e
	out.stays = slices.Clone(e.stays)
	for c := range out.stays {
		out.stays[c] *= surest / p
	}
	return &out
}

// pastEnd is how many times a tether's length its marks, read in whole feet or fathoms, may say is out: common
// practice, no source.
const pastEnd = 1.05

// longerTether returns the most tether, m, that the log pays out from a dive on and the tether's
// length, if that is more than there is and was not before; else 0.
func (a *analysis) longerTether(from int) (most, length float64) {
	for d := range a.r.Dives {
		for _, l := range a.r.Dives[d].Log.Lines {
			if !l.TetherOut.Measured() {
				continue
			}
			if length = a.r.ModelOf(d).Vehicle.Tether.LengthM; l.TetherOut.X <= pastEnd*length {
				continue
			}
			if d < from {
				return 0, 0
			}
			most = max(most, l.TetherOut.X)
		}
	}
	return most, length
}

// anyOf returns the row of a cause worded as any one of its cases, with the quantity of the
// likeliest; nil if it may be something else.
func (a *analysis) anyOf(c *causes.Cause, which []findings.Alternative) *causes.Cause {
	var rows []*causes.Cause
	for _, w := range which {
		i := slices.IndexFunc(a.causes, func(o causes.Cause) bool { return o.Name == w.Fault })
		if row := &a.causes[i]; row.Of == c.Name && (len(rows) == 0 || row.Alike(rows[0])) {
			rows = append(rows, row)
		}
	}
	if len(rows) < 2 || len(rows) < len(which) {
		return nil
	}
	out := rows[0].Either(rows)
	out.Name = c.Name
	return out
}

// onsetRange returns the shortest run of dives with onsetShare of the onset's probability that
// includes the best onset.
func (e *component) onsetRange() (from, to int) {
	by := map[int]float64{}
	for _, o := range e.onsets {
		by[o.h.onset] += o.p
	}
	var dives []int
	for d := range by {
		dives = append(dives, d)
	}
	slices.Sort(dives)
	from, to = e.onset, e.onset
	best := len(dives) + 1
	for i := range dives {
		sum := 0.0
		for j := i; j < len(dives); j++ {
			sum += by[dives[j]]
			if sum >= onsetShare && dives[i] <= e.onset && e.onset <= dives[j] {
				if j-i < best {
					best, from, to = j-i, dives[i], dives[j]
				}
				break
			}
		}
	}
	return from, to
}

// alternatives returns what else a component may be than the causes that its finding covers, likeliest
// first, and last what is no cause's (surest). With the finding's own probability theirs add up to one.
func (a *analysis) alternatives(e *component, covers func(cause int) bool) []findings.Alternative {
	out := []findings.Alternative{}
	rest := 1 - e.once - e.none
	for _, p := range e.stays {
		rest -= p
	}
	add := func(name, words string, p float64) {
		if p < listed {
			rest += p
			return
		}
		out = append(out, findings.Alternative{Fault: name, Probability: p, Words: words})
	}
	for c, p := range e.stays {
		if !covers(c) {
			add(a.causes[c].Name, a.causes[c].Words, p)
		}
	}
	add(findings.OnceOnly, "one dive alone", e.once)
	add(findings.Nothing, "chance", e.none)
	sort.SliceStable(out, func(i, j int) bool { return out[i].Probability > out[j].Probability })
	if rest > 1e-9 {
		out = append(out, findings.Alternative{Fault: findings.Other, Probability: rest, Words: "anything else"})
	}
	return out
}

// which returns the cases of a cause that are as likely as listed, with their probabilities,
// likeliest first; nil if there are fewer than two.
func (a *analysis) which(e *component, cause int) []findings.Alternative {
	var out []findings.Alternative
	for c, p := range e.stays {
		if a.related(c, cause) && p >= listed {
			out = append(out, findings.Alternative{Fault: a.causes[c].Name, Probability: p, Words: a.causes[c].Words})
		}
	}
	if len(out) < 2 {
		return nil
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Probability > out[j].Probability })
	return out
}

// nothingTold is the resistance of an open circuit, over its thruster's voltage per ampere,
// held, above which only a lower bound is reported.
const nothingTold = 16.0

// ballastLogged words the ballast that was logged at or just before a dive: it may never have been on.
func (a *analysis) ballastLogged(dive int) (out []string) {
	for d := max(dive-1, 0); d <= dive; d++ {
		lines, before := a.r.Dives[d].Log.Lines, 0.0
		if d > 0 {
			last := a.r.Dives[d-1].Log.Lines
			before = last[len(last)-1].BallastG
		}
		if by := lines[len(lines)-1].BallastG - before; by != 0 {
			out = append(out, fmt.Sprintf("dive %s has a ballast_g of %+.0f: was that done as written?", a.r.Dives[d].Log.Label, by))
		}
	}
	return out
}

// evidence words what speaks for a component; may is whether another thruster may have it instead.
func (a *analysis) evidence(rep *findings.Report, now *explanation, e *component, may bool) []string {
	c := &a.causes[e.cause]
	switch {
	case e.pattern == findings.Turns:
		return []string{"it is so in " + a.actingIn(&e.hypothesis) + ", and not in the others since then"}
	case c.Contact > 0:
		how := "readings within one dive disagree as if the loop's resistance came and went, "
		if dives := a.wholeDives(&e.hypothesis); dives != nil {
			of := "the loop's resistance"
			if i := c.Thruster(); i >= 0 {
				of = "the resistance of " + a.r.Model.Vehicle.Thrusters[i].Name + "'s wiring"
			}
			how = of + " is higher in " + a.list(dives) + ", unlike from dive to dive, "
		}
		return []string{how + a.contactRange(&e.hypothesis).ComesBy()}
	case c.Fails.Jam():
		return []string{"its readings are those of a propeller that does not turn: the most current, and no push"}
	case c.Fails.How == causes.Open:
		by := a.failedBy(e.hypothesis)
		switch much := nothingTold * a.r.Model.TestOhm(a.r.Base, c.Fails.Thruster-1); {
		case by.Value == 0, by.Value > much && by.Low <= 0:
			return []string{"its readings are those of next to no current"}
		case by.Value > much:
			return []string{"its readings are those of " + units.Digits(by.Low, 2) + " Ω or more in its circuit"}
		}
		return []string{"its readings are those of " + ranged(by) + " Ω more in its circuit"}
	case c.Fails.How == causes.Lost:
		return []string{"its readings are those of a motor with next to nothing to turn: little current, and hardly a push"}
	}
	if t := rep.Trend(c.Quantity); t != nil {
		return a.trendEvidence(*t, rep.Unit(c.Quantity), now, e, may)
	}
	return nil
}

// trendEvidence is evidence for a component whose quantity has a trend, shown in a unit.
func (a *analysis) trendEvidence(t findings.Trend, in units.Unit, now *explanation, e *component, may bool) []string {
	c, ifThis := &a.causes[e.cause], ""
	if alone := a.course(e.cause, now.hypotheses(), true, a.n); may && alone != nil {
		t.Level, ifThis = a.display(e.cause, alone[a.n].Value, alone[a.n].Low, alone[a.n].High), " if it is that one"
	}
	t, unit := t.In(in), in.Name
	if c.Mends != "" {
		return []string{mended(&t, unit, a.r.Dives[e.onset].Log.Label)}
	}
	out := []string{strings.TrimSpace(fmt.Sprintf("%s is %s %s", c.Words, ranged(t.Level), unit)) + ifThis + ", sound: " + units.Digits(t.Baseline, 3)}
	switch {
	case t.PerDive == nil || t.PerDive.Low < 0 && t.PerDive.High > 0: // which way it goes is not known
	case c.Scale.Times(t.PerDive.Value, t.Level.Value) != 0:
		times := func(perDive float64) string { return units.Digits(c.Scale.Times(perDive, t.Level.Value), 2) }
		out = append(out, fmt.Sprintf("each dive it is %s (95 %%: %s to %s) times what it was", times(t.PerDive.Value), times(t.PerDive.Low), times(t.PerDive.High)))
	default:
		out = append(out, strings.TrimSpace(fmt.Sprintf("it changes by %s %s", ranged(*t.PerDive), unit))+" a dive")
	}
	if a.persists(e.hypothesis) {
		out = append(out, "what was done before dive "+a.r.Dives[a.epoch[e.cause]].Log.Label+" did not end it")
	}
	if c.Name == "ballast" {
		out = append(out, a.ballastLogged(e.onset)...)
	}
	return out
}

// ranged words a value with its 95 % range, to the digits that the range leaves known.
func ranged(e findings.Estimate) string {
	half := (e.High - e.Low) / 2
	return fmt.Sprintf("%s (95 %%: %s to %s)", findings.Rounded(e.Value, half), findings.Rounded(e.Low, half), findings.Rounded(e.High, half))
}

// mended words what a repair did, by its own amplitude alone: other faults beside it are left out.
func mended(t *findings.Trend, unit, dive string) string {
	x := t.Level
	if t.Cause.Scale.Factor {
		return fmt.Sprintf("it is %s times what it was before dive %s", ranged(x), dive)
	}
	if x.Value < 0 {
		x = findings.Estimate{Value: -x.Value, Low: -x.High, High: -x.Low}
	}
	return strings.TrimSpace(fmt.Sprintf("it is %s %s", ranged(x), unit)) + " less than it was before dive " + dive
}
