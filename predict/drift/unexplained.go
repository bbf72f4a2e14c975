package drift

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/session/quantity"
	"sagline/session/units"
)

// nothingFits is what a finding blames when no cause of the table fits.
var nothingFits = causes.Cause{Name: findings.Unexplained, Quantity: findings.Unexplained, Words: "something unexplained",
	What:  "no explanation fits",
	Check: "take these readings again, with another instrument if there is one, and look how their lines were written down: thrusters, held, units"}

// unexplained returns the finding that several readings of the newest dives are off together though
// every cause was free to explain them. It is the more probable the less such a pattern comes by
// chance. ok is false if all fit, or if only the newest dive's do not: that asks for a repeat.
func (a *analysis) unexplained(now *explanation) (f findings.Finding, ok bool) {
	if len(a.r.Dives) <= a.r.Baseline {
		return f, false
	}
	last := len(a.r.Dives) - 1
	all, streaks := a.misfits(now, last), a.longStreaks()
	if slices.ContainsFunc(now.components, func(e component) bool { return e.hypothesis.stays() && a.causes[e.cause].Fails.Thruster > 0 }) {
		streaks = nil // the failure explains them
	}
	if len(all) == 0 && len(streaks) == 0 {
		return f, false
	}
	first, chance := last, 1.0
	for ; len(all) > 0 && first > a.r.Baseline && sameMisfit(a.misfits(now, first-1), all); first-- {
	}
	if first == last && len(streaks) == 0 {
		return f, false
	}
	var evidence []string
	for _, column := range streaks {
		s := a.streaks[column]
		evidence = append(evidence, a.streakWords(column))
		first, chance = min(first, s.dives[0]), min(chance, s.chance())
	}
	for _, m := range all {
		evidence, chance = append(evidence, misfitWords(&m)), min(chance, m.Chance)
	}
	check, hovers := nothingFits.Check, len(all) == 0
	for _, column := range streaks {
		hovers = hovers && a.streaks[column].of == quantity.Trim
	}
	switch {
	case hovers:
		check = "look at ballast_g since then, its numbers and its signs, and weigh something known on the scale: a litre of water is a kilogram; then weigh the vehicle again"
	case len(streaks) > 0: // it may be the vehicle, and a stalled motor burns while it is read
		check = "with the battery unplugged, see that each propeller sits fast on its shaft and turns freely; then " + check
	}
	label := func(d int) string { return a.r.Dives[d].Log.Label }
	return findings.Finding{Fault: findings.Unexplained, Probability: 1 - chance, SinceDive: label(first), OnsetFrom: label(first), OnsetTo: label(first),
		Evidence: evidence, CheckNext: check, Alternatives: []findings.Alternative{{Fault: findings.Nothing, Probability: chance, Words: "chance"}}, Cause: &nothingFits, Hovers: hovers}, true
}

func misfitWords(m *fit.Misfit) string {
	side := "higher"
	if m.By < 0 {
		side = "lower"
	}
	return fmt.Sprintf("%d of %d readings of %s are %s than anything explains, on average %.1f times as far off as such readings usually are",
		m.Off, m.Of, m.Quantity.Words(), side, max(m.By, -m.By))
}

// oddDive returns the request to repeat the newest dive's readings if no explanation fits them, unlike
// those of the dive before.
func (a *analysis) oddDive(now *explanation) []string {
	last := len(a.r.Dives) - 1
	if last < a.r.Baseline {
		return nil
	}
	all := a.misfits(now, last)
	if len(all) == 0 || last > a.r.Baseline && sameMisfit(a.misfits(now, last-1), all) {
		return nil
	}
	var words []string
	for i := range all {
		words = append(words, misfitWords(&all[i]))
	}
	return []string{fmt.Sprintf("no explanation fits dive %s: %s; %s", a.r.Dives[last].Log.Label, strings.Join(words, "; "), nothingFits.Check)}
}

// farAlone is how many standard deviations a reading of the newest dive lies from a sound vehicle's for a
// repeat to be asked for though nothing is seen to have changed: common practice, no source.
const farAlone = 6.0

// mostFar is the largest number of such readings that are listed.
const mostFar = 3

// farReadings returns the request to repeat readings of the newest dive that lie far from a sound
// vehicle's at its levels since then, if nothing is found to act in it and no misfit of it is told already.
func (a *analysis) farReadings(now *explanation) []string {
	last := len(a.r.Dives) - 1
	if last < a.r.Baseline || slices.ContainsFunc(now.components, func(e component) bool { return e.hypothesis.stays() || e.onset == last }) || len(a.misfits(now, last)) > 0 {
		return nil
	}
	var far []string
	for _, c := range a.r.NewComparison(a.addLevels(nil, now)...).Dive(last) {
		if !c.Outlier && math.Abs(c.Z) > farAlone {
			entered, want, sd := c.AsWritten()
			far = append(far, fmt.Sprintf("line %d, %s %s for %s", c.Line.Number, c.Line.Readings[c.Quantity].Column.Name, units.Digits(entered, 15), findings.Rounded(want, 2*sd)))
		}
	}
	if len(far) == 0 {
		return nil
	}
	if more := len(far) - mostFar; more > 0 {
		far = append(far[:mostFar], fmt.Sprintf("and %d more", more))
	}
	return []string{fmt.Sprintf("dive %s reads far from a sound vehicle, and what has changed is not plain (%s): take these readings again before anything is believed", a.r.Dives[last].Log.Label, strings.Join(far, "; "))}
}

// unfit reports whether no cause fits the readings of any dive since a component's onset, or the
// component explains only what was left after all readings of a column were set aside. It is then
// no more than the best of what does not fit.
func (a *analysis) unfit(now *explanation, e *component) bool {
	c := &a.causes[e.cause]
	if c.Fails.Thruster == 0 && c.UnderPower() && (a.setAsideSince(e.onset) || a.setAsideSince(e.onset+1)) {
		return true
	}
	for d := e.onset; d <= a.n; d++ {
		if len(a.misfits(now, d)) == 0 {
			return false
		}
	}
	return true
}

// misfits returns a dive's misfits as an explanation reads it: none if it reads the dive under a
// contact that comes and goes or a failed thruster.
func (a *analysis) misfits(now *explanation, d int) []fit.Misfit {
	for i := range now.components {
		h := now.components[i].hypothesis
		if len(a.causes[h.cause].Amplitudes) == 0 && h.onset <= d && d <= a.last(h) && a.suggests(d, h.cause) {
			return nil
		}
	}
	return a.r.Misfits(d)
}

// sameMisfit reports whether two dives have a quantity that is off in the same direction.
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

// mayPass is the probability that something was in one dive alone from which a repeat of that dive
// is asked for: common practice, no source.
const mayPass = 0.05

// repeats returns the request to repeat what only the newest dive shows so far, with the likeliest
// cause worded in full.
func (a *analysis) repeats(now *explanation) []string {
	last := len(a.r.Dives) - 1
	var all []findings.Alternative
	jam, leak := false, false
	for i := range now.components {
		if e := &now.components[i]; e.onset == last && (e.pattern == findings.Once || e.once > mayPass) {
			all = append(all, findings.Alternative{Fault: a.causes[e.cause].What, Probability: min(1-e.none, surest), Words: a.causes[e.cause].Words})
			row := &a.causes[e.cause]
			jam, leak = jam || row.Fails.Jam(), leak || row.Kind == causes.Vehicle && row.Param() == predict.TrimG
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
	switch {
	case jam: // a stalled motor burns while it is read
		then = "with the battery unplugged, see that each propeller turns freely before it runs again"
	case leak:
		then = "look for water in tubes and foam before the next dive, and weigh it again"
	}
	return []string{fmt.Sprintf("dive %s alone reads as if %s (%s sure)%s: %s", a.r.Dives[last].Log.Label, all[0].Fault, findings.Sure(all[0].Probability), or, then)}
}

// inARow is how many consecutive dives with readings of one column, all of them set aside in one
// direction, are enough to be no slips: common practice, no source.
const inARow = 3

// slipShare is the share of dives in which all readings of a column are slips in one direction:
// common practice, no source.
const slipShare = 0.02

// inARowOfSome is the same for readings with the same thrusters on, of which a column has several
// kinds, where the column's others fit. If they were set aside in their first dive too, the model
// has that thruster wrong.
const inARowOfSome = 4

// A streak is a run of dives in which all readings of a column, or all with the same thrusters on,
// were set aside in one direction, up to the newest dive that has such readings.
type streak struct {
	newest fit.Outlier
	dives  []int
	broken int // newest dive before them that has such readings
	of     quantity.Quantity
	some   bool // of readings with some thrusters on
	always bool // the first dive that has such readings set them aside as well
}

// extendStreaks takes dive n into the streaks, by column and by column and thrusters.
func (a *analysis) extendStreaks(n int) {
	outliers, read := map[string][]fit.Outlier{}, map[string]int{}
	for _, o := range a.r.Outliers(n) {
		for _, key := range keysOf(o.Column, o.Thrusters) {
			outliers[key] = append(outliers[key], o)
		}
	}
	for i := range a.r.Dives[n].Log.Lines {
		l := &a.r.Dives[n].Log.Lines[i]
		for q, v := range l.Readings {
			if v.Column == nil {
				continue
			}
			for _, key := range keysOf(v.Column.Name, l.Thrusters()) {
				if read[key]++; a.streaks[key] == nil {
					a.streaks[key] = &streak{broken: -1, of: quantity.Quantity(q), some: key != v.Column.Name}
				}
			}
		}
	}
	for key, times := range read {
		a.streaks[key].extend(n, times, outliers[key])
	}
}

// with separates column and thrusters in the key of a streak.
const with = " with "

// keysOf returns the keys of the streaks that a column's reading with some thrusters on belongs to.
func keysOf(column, thrusters string) []string {
	switch thrusters {
	case "":
		return []string{column}
	case "off":
		thrusters = "everything off"
	}
	return []string{column, column + with + thrusters}
}

// extend takes dive n, in which the column was read the given number of times, into the streak, or
// ends it.
func (s *streak) extend(n, times int, outliers []fit.Outlier) {
	whole := len(outliers) == times && !slices.ContainsFunc(outliers, func(o fit.Outlier) bool { return o.High() != outliers[0].High() })
	if s.broken < 0 && len(s.dives) == 0 {
		s.always = whole
	}
	if len(s.dives) > 0 && (!whole || outliers[0].High() != s.newest.High()) {
		s.broken, s.dives = s.dives[len(s.dives)-1], nil
	}
	if whole {
		s.newest, s.dives = outliers[0], append(s.dives, n)
	} else {
		s.broken = n
	}
}

// longStreaks returns the keys of streaks that are no slips.
func (a *analysis) longStreaks() (keys []string) {
	long := func(key string) bool { s := a.streaks[key]; return s != nil && len(s.dives) >= inARow }
	for key, s := range a.streaks {
		column, _, _ := strings.Cut(key, with)
		if s.some && len(s.dives) >= inARowOfSome && !s.always && !long(column) || !s.some && long(key) {
			keys = append(keys, key)
		}
	}
	slices.Sort(keys)
	return keys
}

// setAsideSince reports whether all readings of some column read under power were set aside in one
// direction from a dive on.
func (a *analysis) setAsideSince(from int) bool {
	for _, s := range a.streaks {
		at, _ := slices.BinarySearch(s.dives, from)
		if !s.of.Still() && !s.some && s.broken < from && len(s.dives)-at >= inARow {
			return true
		}
	}
	return false
}

// chance returns the probability that slips alone make a streak in one direction.
func (s *streak) chance() float64 { return 2 * math.Pow(slipShare, float64(len(s.dives))) }

// streakWords words a column's streak.
func (a *analysis) streakWords(column string) string {
	s := a.streaks[column]
	way, what := "low", "no slips"
	if s.newest.High() {
		way = "high"
	}
	switch {
	case s.newest.Jammed != "":
		what += "; is " + s.newest.Jammed + " jammed (unplugged, turn it by hand)?"
	case s.newest.Open != "":
		what += "; does " + s.newest.Open + " get no current (look at its wiring and its relay)?"
	}
	label := func(d int) string { return a.r.Dives[d].Log.Label }
	return fmt.Sprintf("%s was set aside as far too %s in each of the dives from %s to %s that have it: %s", column, way, label(s.dives[0]), label(s.dives[len(s.dives)-1]), what)
}
