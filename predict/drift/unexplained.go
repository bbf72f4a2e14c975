package drift

import (
	"cmp"
	"fmt"
	"slices"

	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/fit"
)

// nothingFits is what a finding blames when no cause of the table fits.
var nothingFits = causes.Cause{Name: findings.Unexplained, Quantity: findings.Unexplained, Words: "what nothing explains",
	What:  "no explanation fits",
	Check: "take these readings again, with another instrument if there is one, and look how their lines were written down: thrusters, held, units"}

// unexplained is the finding that readings of the newest dive lie off together
// though every cause was free to explain them: the more probable, the less such a
// pattern comes by chance. ok is false where all fit.
func (a *analysis) unexplained(now *explanation) (f findings.Finding, ok bool) {
	if len(a.r.Dives) <= a.r.Baseline {
		return f, false
	}
	last := len(a.r.Dives) - 1
	all := a.misfits(now, last)
	if len(all) == 0 {
		return f, false
	}
	first, chance := last, 1.0
	for ; first > a.r.Baseline && sameMisfit(a.misfits(now, first-1), all); first-- {
	}
	var evidence []string
	for _, m := range all {
		side := "more"
		if m.By < 0 {
			side = "less"
		}
		evidence = append(evidence, fmt.Sprintf("%d of %d readings of %s are %s than anything explains, by %.1f times their usual scatter on average",
			m.Off, m.Of, m.Quantity.Words(), side, max(m.By, -m.By)))
		chance = min(chance, m.Chance)
	}
	label := func(d int) string { return a.r.Dives[d].Log.Label }
	return findings.Finding{Fault: findings.Unexplained, Probability: 1 - chance, SinceDive: label(first), OnsetFrom: label(first), OnsetTo: label(first),
		Evidence: evidence, CheckNext: nothingFits.Check, Alternatives: []findings.Alternative{{Fault: findings.Nothing, Probability: chance, Words: "chance"}}, Cause: &nothingFits}, true
}

// unfit says whether no cause explains the readings of any dive since a part's
// onset: what the part makes of them is then no more than the best of what does not
// fit.
func (a *analysis) unfit(now *explanation, e *explained) bool {
	for d := e.onset; d <= a.n; d++ {
		if len(a.misfits(now, d)) == 0 {
			return false
		}
	}
	return true
}

// misfits are those of a dive as an explanation reads it: not by amplitudes where
// it has a contact that comes and goes, or a jam.
func (a *analysis) misfits(now *explanation, d int) []fit.Misfit {
	for i := range now.parts {
		h := now.parts[i].hypothesis
		if len(a.causes[h.cause].Amplitudes) == 0 && h.onset <= d && d <= a.last(h) && a.suggests(d, h.cause) {
			return nil
		}
	}
	return a.r.Misfits(d)
}

// sameMisfit says whether two dives have a quantity that lies off the same way.
func sameMisfit(a, b []fit.Misfit) bool {
	for _, x := range a {
		for _, y := range b {
			if x.Quantity == y.Quantity && x.By*y.By > 0 {
				return true
			}
		}
	}
	return false
}

// mayPass is the probability that something was in one dive alone from which that dive is asked to be
// repeated: common practice, no source.
const mayPass = 0.05

// repeats ask for a repeat of what only the newest dive shows so far: the likeliest
// of what it may be in full.
func (a *analysis) repeats(now *explanation) []string {
	last := len(a.r.Dives) - 1
	var all []findings.Alternative
	jam := false
	for i := range now.parts {
		if e := &now.parts[i]; e.onset == last && (e.pattern == findings.Once || e.once > mayPass) {
			all = append(all, findings.Alternative{Fault: a.causes[e.cause].What, Probability: 1 - e.none, Words: a.causes[e.cause].Words})
			jam = jam || a.causes[e.cause].Jammed > 0
		}
	}
	if len(all) == 0 {
		return nil
	}
	slices.SortStableFunc(all, func(a, b findings.Alternative) int { return cmp.Compare(b.Probability, a.Probability) })
	or := ""
	if len(all) > 1 {
		or = ", or " + all[1].Words
	}
	then := "take these readings again before anything is believed"
	if jam { // a motor that stands burns while it is read
		then = "with the battery unplugged, see that each propeller turns freely before it runs again"
	}
	return []string{fmt.Sprintf("dive %s alone reads as if %s (%s sure)%s: %s", a.r.Dives[last].Log.Label, all[0].Fault, findings.Sure(all[0].Probability), or, then)}
}
