package drift

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"sagline/session/units"
)

// told is the probability from which a finding is reported, alarm or not.
const told = 0.5

// listed is the probability from which an alternative is named by itself.
const listed = 0.01

// onsetShare is the share of the onset's probability that its range holds.
const onsetShare = 0.9

// findings name what is active at the newest dive, most probable first, what
// has an alarm before what is only likely.
func (a *analysis) findings(rep *Report, now *explanation, alarms *alarmBook) {
	for i := range now.parts {
		e := &now.parts[i]
		alarm := alarms.isOpen(e.cause)
		if !e.hypothesis.stays() || a.ownCourse(now, e) || !alarm && (e.changed() < told || a.unfit(now, e)) {
			continue
		}
		f := a.finding(rep, e, alarm)
		f.Test = a.test(e, now)
		rep.Findings = append(rep.Findings, f)
	}
	sort.SliceStable(rep.Findings, func(i, j int) bool {
		f, g := &rep.Findings[i], &rep.Findings[j]
		if f.Alarm != g.Alarm {
			return f.Alarm
		}
		return f.Probability > g.Probability
	})
	if f, ok := a.unexplained(now); ok {
		rep.Findings = append(rep.Findings, f)
	}
}

// ownCourse says whether a part is a repair of what another has been found wrong since
// earlier: that is how the fault goes on, in steps or more slowly, and no news of its own.
func (a *analysis) ownCourse(now *explanation, e *explained) bool {
	mends := a.causes[e.cause].Mends
	if mends == "" {
		return false
	}
	return slices.ContainsFunc(now.parts, func(p explained) bool {
		return p.hypothesis.stays() && p.onset < e.onset && a.causes[p.cause].Name == mends
	})
}

func (a *analysis) finding(rep *Report, e *explained, alarm bool) Finding {
	cause, p := a.named(e)
	c := &a.causes[cause]
	from, to := e.onsetRange()
	label := func(d int) string { return a.r.Dives[d].Log.Label }
	return Finding{Fault: c.Name, Probability: p, SinceDive: label(e.onset), OnsetFrom: label(from), OnsetTo: label(to),
		Evidence: a.evidence(rep, e), CheckNext: c.Check, Which: a.which(e, cause), Alternatives: a.alternatives(e), Cause: c, Alarm: alarm}
}

// onsetRange is the shortest run of dives that holds most of the onset's
// probability, the best among them.
func (e *explained) onsetRange() (from, to int) {
	by := map[int]float64{}
	for _, o := range e.onsets {
		by[o.h.onset] += o.log
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

// alternatives are what else a part may be, likeliest first. With the finding's
// own probability theirs add up to one.
func (a *analysis) alternatives(e *explained) []Alternative {
	out := []Alternative{}
	rest := 0.0
	add := func(name, words string, p float64) {
		if p < listed {
			rest += p
			return
		}
		out = append(out, Alternative{name, p, words})
	}
	for c, p := range e.stays {
		if !a.related(c, e.cause) {
			add(a.causes[c].Name, a.causes[c].Words, p)
		}
	}
	add(OnceOnly, "one dive alone", e.once)
	add(Nothing, "chance", e.none)
	sort.SliceStable(out, func(i, j int) bool { return out[i].Probability > out[j].Probability })
	if rest > 1e-9 {
		out = append(out, Alternative{Other, rest, "anything else"})
	}
	return out
}

// which are the cases of a cause that the readings do not tell apart, with their
// probabilities; none where it is plain.
func (a *analysis) which(e *explained, cause int) []Alternative {
	var out []Alternative
	for c, p := range e.stays {
		if a.related(c, cause) && p >= listed {
			out = append(out, Alternative{a.causes[c].Name, p, a.causes[c].Words})
		}
	}
	if len(out) < 2 {
		return nil
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Probability > out[j].Probability })
	return out
}

func (a *analysis) evidence(rep *Report, e *explained) []string {
	c := &a.causes[e.cause]
	switch {
	case e.pattern == Turns:
		return []string{"it is so in " + a.actingIn(&e.hypothesis) + ", and not in those between"}
	case c.Within:
		return []string{"readings within one dive disagree as if the loop's resistance came and went"}
	case c.Jammed > 0:
		return []string{"its current is that of a propeller that does not turn, and it does not push"}
	}
	for _, t := range rep.Trends {
		if t.Quantity != c.Quantity {
			continue
		}
		in := rep.Unit(t.Quantity)
		t, unit := t.In(in), in.Name
		out := []string{strings.TrimSpace(fmt.Sprintf("%s is %s (95 %%: %s to %s) %s", c.Words, units.Digits(t.Level.Value, 3), units.Digits(t.Level.Low, 3), units.Digits(t.Level.High, 3), unit)) +
			", sound: " + units.Digits(t.Baseline, 3)}
		if t.PerDive != nil {
			out = append(out, strings.TrimSpace(fmt.Sprintf("it changes by %s (95 %%: %s to %s) %s", units.Digits(t.PerDive.Value, 2), units.Digits(t.PerDive.Low, 2), units.Digits(t.PerDive.High, 2), unit))+" a dive")
		}
		return out
	}
	return nil
}
