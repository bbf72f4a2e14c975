package drift

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/forecast"
	"sagline/predict/normal"
	"sagline/session/quantity"
	"sagline/session/units"
)

// remarks returns what was set aside in the newest dive and may show a failed thruster or a leak, what
// its readings cannot tell, and the one reading that would tell most: if it would at least halve an
// interval wider than half of the way from the sound value to the limit.
func (a *analysis) remarks(trends []findings.Trend) []string {
	out := []string{}
	newest := len(a.r.Dives) - 1
	if newest < 0 {
		return out
	}
	streaks := a.longStreaks()
	for _, s := range a.r.Outliers(newest) {
		if (s.Sinks || s.Jammed+s.Open != "") && !slices.Contains(streaks, s.Column) {
			out = append(out, fmt.Sprintf("dive %s, line %d, %s", a.r.Dives[newest].Log.Label, s.Line, s.Words()))
		}
	}
	for _, c := range a.tracked {
		row := &a.causes[c]
		if row.Name != "power_loop" && row.Name != "thrust" {
			continue
		}
		reported := slices.ContainsFunc(trends, func(t findings.Trend) bool {
			return t.Quantity == row.Quantity && (t.State == findings.Sound || t.State == findings.Drifting || t.State == findings.PastLimit || t.State == findings.NotAsBuilt || t.State == findings.NearLimit)
		})
		way := math.Abs(row.Scale.Amplitude(row.Limit(&a.r.Model.Vehicle.Limits), a.sound(c)))
		unit := ""
		if row.Scale.Unit != "" {
			unit = " " + row.Scale.Unit
		}
		if g, ok := forecast.MostTelling(a.r, newest, row.Param()); ok && g.Before > way/2 && g.With < g.Before/2 {
			open := "one dive's readings leave %s open: resistance and thrust hardly separate; %s would take ±%s%s to ±%s%s"
			if reported {
				open = "only all dives together tell %s: in one, resistance and thrust hardly separate; %s would take its ±%s%s to ±%s%s"
			}
			out = append(out, fmt.Sprintf(open, row.Words, g.Quantity.Instrument(), units.Digits(g.Before, 2), unit, units.Digits(g.With, 2), unit))
		}
	}
	return append(out, a.unknownSinceWork(trends)...)
}

// byWarming is the least share of its limit by which warmer water alone, which nobody read, must have
// changed the hover weight to be remarked on: common practice, no source.
const byWarming = 0.25

// unreadWarming returns a remark where the hover weight of the newest dives is put down to water that
// has warmed or cooled since the first dives and was not read: water taken in may look the same.
func (a *analysis) unreadWarming(s fit.Statics) []string {
	p := slices.Clone(a.r.Base)
	for i, at := range a.r.Space.Static {
		p[a.r.Space.All[at]] += s.Mean[i]
	}
	k, unread := a.r.Warming(p)
	if !unread || !a.r.Reads()[quantity.Trim] {
		return nil
	}
	m := a.r.Model
	c := predict.Condition{Sign: make([]int8, len(m.Vehicle.Thrusters)), WaterC: 15}
	then := m.NetBuoyancyG(&c, p)
	c.WaterC += k
	by := m.NetBuoyancyG(&c, p) - then
	if math.Abs(by) < byWarming*m.Vehicle.Limits.IngressG {
		return nil
	}
	warmer, g := "warmer", m.Vehicle.Units.In("g")
	if k < 0 {
		warmer = "colder"
	}
	return []string{fmt.Sprintf("%s of the hover weight since the first dives is put down to water that is about %s %s than then, and no line says so: read water_c, as water taken in would look the same", g.Signed(by, 0), m.Vehicle.Units.In("K").Show(math.Abs(k), 0), warmer)}
}

// leastLow is the least number of newest dives with a low battery that are remarked on: one that was
// not charged is soon seen to be so.
const leastLow = 2

// lowBattery returns a remark if the newest dives, explained by nothing else, are those of a battery
// that began them far lower than as a rule and none of them read it at rest: it may be one that was
// not charged, or one whose resistance rises.
func (a *analysis) lowBattery(now *explanation) []string {
	i := a.r.ScatterAt(a.r.Space.Place[predict.OpenCircuitV])
	if i < 0 || slices.ContainsFunc(now.components, func(e component) bool { return e.hypothesis.stays() }) {
		return nil
	}
	least, most, first := math.Inf(1), 0.0, len(a.r.Dives)
	for d := first - 1; d >= a.r.Baseline && a.r.Dives[d].Battery == a.battery; d-- {
		rest, read := a.r.Rest(d)
		by := a.rests[a.battery] - rest.Mean
		if read || by < surelyBelow*math.Sqrt(a.variance[i]+rest.Variance) {
			break
		}
		least, most, first = min(least, by), max(most, by), d
	}
	if len(a.r.Dives)-first < leastLow {
		return nil
	}
	by := units.Digits(least, 2)
	if to := units.Digits(most, 2); to != by {
		by += " to " + to
	}
	return []string{fmt.Sprintf("since dive %s the battery seems to begin dives %s V lower than as a rule, and none of them read it at rest: charge it, and read it with everything off before the next dive; if it then rests as high as before, its resistance has risen", a.r.Dives[first].Log.Label, by)}
}

// alarmsOfOtherBatteries returns the batteries that had an open alarm on the last dive that used them
// and were not worked on since.
func (a *analysis) alarmsOfOtherBatteries(alarms []findings.Alarm) (out []findings.OtherBattery) {
	for i := range alarms {
		alarm := &alarms[i]
		if !alarm.OtherBattery {
			continue
		}
		last := a.lastOn(alarm)
		battery := a.r.Dives[last].Battery
		// a battery that was used again has been judged anew
		again := slices.ContainsFunc(a.r.Dives[last+1:], func(d fit.DiveFit) bool { return d.Battery == battery })
		if !again && !a.workedOnSince(last, "battery") {
			out = append(out, findings.OtherBattery{Label: battery, Last: a.r.Dives[last].Log.Label, Alarm: alarm})
		}
	}
	return out
}

// otherMotor is the least share by which a thruster's current must have changed with work on it for
// another motor or propeller to be asked about: common practice, no source.
const otherMotor = 0.15

// otherMotors returns a remark on the thrusters that surely draw another current since they were
// worked on: by what all dives say together, alone and held, on a rested battery. What the first dives
// left open of a thruster, such as one that never ran alone, is no change.
func (a *analysis) otherMotors(now *explanation, posterior *fit.Posterior) []string {
	places, _ := a.setAnewWithOthers()
	change, cov := a.moments(places, now.hypotheses(), summed{counts: func(c *column) bool { return c.setAnew() }})
	if change == nil {
		return nil
	}
	m := a.r.Model
	v := m.Vehicle
	grad := normal.Rows(int(quantity.Count), m.Dim())
	var pt predict.Point
	var names, amps, before []string
	dive := ""
	for i := range v.Thrusters {
		at := a.levels[a.r.Space.Place[predict.OfThruster(i, predict.BranchOhm)]]
		if at.sd == 0 || at.since >= len(a.r.Dives) {
			continue
		}
		p := slices.Clone(a.r.Base)
		p[predict.OpenCircuitV], p[predict.SagVPerMinute] = v.Battery.RestV(), 0
		c := predict.Condition{Sign: make([]int8, len(v.Thrusters)), Held: true, Electrical: true, WaterC: 15, TetherOutM: v.Tether.LengthM}
		c.Sign[i] = 1
		for k, param := range posterior.Params {
			p[param] += posterior.Sound[k]
		}
		m.Solve(&c, p, &pt, grad)
		is, slopes := pt.Out[quantity.CurrentA], mat.NewVecDense(len(places), nil)
		for k, at := range places {
			slopes.SetVec(k, grad[quantity.CurrentA][a.r.Space.All[at]])
			p[a.r.Space.All[at]] -= change[k]
		}
		m.Solve(&c, p, &pt, nil)
		was := pt.Out[quantity.CurrentA]
		if by := math.Abs(is - was); by > surelyBelow*math.Sqrt(mat.Inner(slopes, cov, slopes)) && by > otherMotor*was {
			names, dive = append(names, v.Thrusters[i].Name), a.r.Dives[at.since].Log.Label
			amps, before = append(amps, units.Digits(is, 2)), append(before, units.Digits(was, 2))
		}
	}
	if len(names) == 0 {
		return nil
	}
	and := func(words []string) string { return strings.Join(words, " and ") }
	draw, propeller := "draws", "its propeller turns freely and sits firmly"
	if len(names) > 1 {
		draw, propeller = "draw", "each propeller turns freely and sits firmly"
	}
	return []string{fmt.Sprintf("since what was done before dive %s, %s %s %s A alone, and %s A by the file and the first dives: where another motor or propeller was fitted say it with sagline change --from %q --set thruster.%s.test_a=…; where none was, the work has not left it as it was: with the battery unplugged, see that %s, and that no lead is loose",
		dive, and(names), draw, and(amps), and(before), dive, names[0], propeller)}
}

// unknownSinceWork returns a remark for each dive before which something was worked on or rebuilt,
// with the quantities whose level since then the readings cannot tell. Later changes of them are
// still found.
func (a *analysis) unknownSinceWork(trends []findings.Trend) (out []string) {
	words := map[int][]string{}
	for _, t := range trends {
		if t.State == findings.CannotTell && t.From > a.r.Baseline {
			words[t.From] = append(words[t.From], t.Cause.Words)
		}
	}
	for _, d := range slices.Sorted(maps.Keys(words)) {
		out = append(out, fmt.Sprintf("what was done before dive %s may have changed these levels, by how much its readings and those since leave open: %s; what changes from there on is told all the same",
			a.r.Dives[d].Log.Label, strings.Join(words[d], ", ")))
	}
	return out
}
