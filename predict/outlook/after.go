package outlook

import (
	"fmt"
	"math"
	"strings"

	"sagline/predict"
	"sagline/predict/audit"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/forecast"
	"sagline/predict/vehicle"
)

// AfterDive is what to know once a dive is written down.
type AfterDive struct {
	Says  string // what the dive says, in a sentence
	Check string // what to check before the next; "" if nothing is open
	Read  string // the reading that would tell most on the next; "" if none would tell much
}

// After returns what to know after a dive of r; rep is r's report.
func After(r *fit.Result, rep *findings.Report, which int) AfterDive {
	out := AfterDive{Says: says(r, rep, which)}
	for _, reading := range NextReadings(r, rep, which, 1) {
		out.Read = reading
	}
	if len(rep.Findings) > 0 {
		out.Check = rep.Findings[0].CheckNext
	}
	return out
}

// says words a dive: what explains it, what has changed since the one before, and which alarms are
// open.
func says(r *fit.Result, rep *findings.Report, which int) string {
	words := []string{explained(rep, which)}
	if which < r.Baseline && !rep.Judged {
		words[0] = rep.Verdict()
		for _, m := range audit.Mismatches(r) {
			words = append(words, m.Said())
		}
	}
	if worse := since(rep, which); worse != "" {
		words = append(words, "since the dive before "+worse)
	}
	for _, s := range rep.Dives[which].SetAside {
		words = append(words, s.Words())
	}
	return strings.Join(append(words, openAlarms(rep, r.Dives[which].Log.Label)...), "; ")
}

// explained words the thruster failure that a dive looks like, and the losses that its readings are
// sure of.
func explained(rep *findings.Report, which int) string {
	var out []string
	for _, t := range rep.Trends {
		d := &rep.Dives[which]
		e, read := d.Estimates[t.Quantity]
		sound := d.SoundOf(&t)
		if !read || math.Abs(e.Value-sound.Value) <= math.Hypot(e.High-e.Low, sound.High-sound.Low)/2 || better(&t, d) {
			continue
		}
		unit := rep.Unit(t.Quantity)
		out = append(out, strings.TrimSpace(fmt.Sprintf("%s %s %s", t.Cause.Words, e.In(unit), unit.Name)))
	}
	failed, drifts := rep.Dives[which].LooksFailed(), strings.Join(out, ", ")
	switch {
	case failed != "" && drifts != "":
		return failed + ", besides " + drifts
	case failed != "":
		return failed
	case drifts != "":
		return "explained by " + drifts
	}
	return "a sound vehicle explains it; no loss stands out of the readings' scatter"
}

// better reports whether a dive's estimate of a quantity lies on the good side of the sound value,
// where no fault is.
func better(t *findings.Trend, d *findings.Dive) bool {
	way := t.Cause.Worse
	if t.Cause.Scale.Negative {
		way = -way
	}
	return way*(d.Estimates[t.Quantity].Value-d.SoundOf(t).Value) < 0
}

// since words what changed most since the dive before, "" if the readings are sure of no change.
func since(rep *findings.Report, which int) string {
	words, most := "", 1.0
	if which == 0 {
		return ""
	}
	for _, t := range rep.Trends {
		unit := rep.Unit(t.Quantity)
		was, before := rep.Dives[which-1].Estimates[t.Quantity]
		is, now := rep.Dives[which].Estimates[t.Quantity]
		if !before || !now {
			continue
		}
		a, b := was.In(unit), is.In(unit)
		half := math.Hypot(a.High-a.Low, b.High-b.Low) / 2
		if better(&t, &rep.Dives[which]) && better(&t, &rep.Dives[which-1]) {
			continue
		}
		if half > 0 && math.Abs(b.Value-a.Value)/half > most {
			most = math.Abs(b.Value-a.Value) / half
			way := map[bool]string{true: "up", false: "down"}[b.Value > a.Value]
			words = strings.TrimSpace(fmt.Sprintf("%s is %s by %s ± %s %s", t.Cause.Words, way, findings.Rounded(math.Abs(b.Value-a.Value), half), findings.Rounded(half, half), unit.Name))
		}
	}
	return words
}

// openAlarms words the alarms that are open, and which of them a dive raised.
func openAlarms(rep *findings.Report, dive string) (out []string) {
	for _, a := range rep.Alarms {
		switch {
		case a.ClearedDive != nil:
		case a.RaisedDive == dive:
			out = append(out, "it raises an alarm: "+a.Cause.Words)
		default:
			out = append(out, "alarm open since dive "+a.RaisedDive+": "+a.Cause.Words)
		}
	}
	return out
}

// NextReadings words the first n readings of the next dive's card, in the water of a dive, with
// what each should be, the most telling first.
func NextReadings(r *fit.Result, rep *findings.Report, which, n int) (out []string) {
	v := r.Model.Vehicle
	last := r.Dives[which].Log.Lines
	c := predict.Condition{TetherOutM: v.Tether.LengthM, WaterC: last[0].WaterC.X, Salinity: last[0].Salinity, BallastG: last[len(last)-1].BallastG}
	for i := range last {
		c.DepthM = max(c.DepthM, last[i].Depth.X)
	}
	for _, reading := range forecast.Card(r, Present(r, rep), rep.Posterior, c, r.Reads(), Open(r, rep.Findings), n) {
		out = append(out, readingText(v, &reading, rep.OnceFreed(v, reading.Sign)))
	}
	return out
}

// Open returns a card's weight of each parameter that a cause may change: 1, and 3 if it was found
// to have changed; common practice, no source.
func Open(r *fit.Result, found []findings.Finding) map[int]float64 {
	open := map[int]float64{}
	for k := range r.Space.Faults() {
		open[k] = 1
	}
	for _, f := range found {
		if k := f.Cause.Param(); k >= 0 {
			open[k] = 3
		}
	}
	return open
}

// readingText words a reading of the card; once is a mark that follows its thrusters.
func readingText(v *vehicle.Vehicle, x *forecast.Reading, once string) string {
	do := v.DrivesName(x.Sign)
	switch {
	case x.Climbing:
		do = "all off, floating up freely"
	case x.Held:
		do += " held still"
	}
	do += once
	unit := v.Units.In(x.Quantity.Unit())
	low, high := unit.FromBase(x.Low), unit.FromBase(x.High)
	half := (high - low) / 2
	return fmt.Sprintf("%s with %s, which should be %s to %s %s", x.Quantity.Words(), do, findings.Rounded(low, half), findings.Rounded(high, half), unit.Name)
}
