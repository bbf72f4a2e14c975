package plotting

import (
	"cmp"
	_ "embed" // the page's template
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/causes"
	"sagline/predict/checklist"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/forecast"
	"sagline/predict/outlook"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
	"sagline/session/units"
)

// A NextDive is what is known of the dive that a Sheet is for.
type NextDive struct {
	DepthM, WaterC, SalinityPSU float64
	Readings                    int    // most readings to ask for
	Battery                     string // label; "" for the newest dive's battery
	Today                       time.Time
}

// LikeTheNewest returns the next dive of a log: in the water of the newest, as deep and with as many
// readings as is common practice, no source.
func LikeTheNewest(log *session.Log) NextDive {
	out := NextDive{DepthM: 3, WaterC: 15, SalinityPSU: log.NewestSalinityPSU(), Readings: 10}
	if c, ok := log.NewestWaterC(); ok {
		out.WaterC = c
	}
	return out
}

// ReadSheet returns the card for the dive after a fitted log's last.
func ReadSheet(r *fit.Result, rep *findings.Report, log *session.Log, o NextDive) *Sheet {
	v, battery := r.Model.Vehicle, cmp.Or(o.Battery, log.LastBattery())
	p, _ := outlook.On(r, rep, battery)
	if x := outlook.BegunAt(r, battery, &v.Battery); x > 0 {
		p[predict.OpenCircuitV] = x
	}
	after := "As built"
	if n := len(log.Dives); n > 0 {
		after = fmt.Sprintf("As estimated from the log up to dive %s%s", log.Dives[n-1].Label, findings.Of(Day(log.Dives[n-1].Day(), "2 Jan 2006")))
	}
	c := predict.Condition{DepthM: o.DepthM, TetherOutM: v.Tether.LengthM, WaterC: o.WaterC, Salinity: o.SalinityPSU, BallastG: log.LastBallastG()}
	short := func(unit string, x float64) string { // a depth typed in feet has many digits in metres
		u := v.Units.In(unit)
		return units.Digits(u.FromBase(x), 3) + " " + u.Name
	}
	s := &Sheet{Vehicle: v.Name,
		Basis: fmt.Sprintf("%s, on a rested battery%s of %.2f V, %s deep in water of %s and %g psu%s. Ranges hold 95 %%; "+
			"what the battery rests above or below that, add to every voltage.",
			after, strings.TrimRight(" "+battery, " "), p[predict.OpenCircuitV], short("m", o.DepthM), short("°C", o.WaterC), o.SalinityPSU, advice.Fresh(o.SalinityPSU, false, 0))}
	if text := r.NotConverged(); text != "" {
		s.Basis += " Note: " + text + "."
	}
	if worst := outlook.WorstOf(r); o.Battery == "" && worst != "" {
		s.Basis += " " + Capital(worst) + "."
	}
	for _, b := range rep.Rebuilt {
		s.Basis += " Rebuilt " + b + "."
	}
	s.Open = rep.UntilFreed()
	reported := rep.Reported()
	for _, f := range reported {
		if f.Test != nil {
			s.Open = append(s.Open, "read this first: "+f.Test.Words)
		}
		if f.Test == nil && f.Cause.Param() >= 0 {
			s.Open = append(s.Open, separatingReading(r, rep, p, c, &f))
		}
		s.Open = append(s.Open, fmt.Sprintf("%s since dive %s (%s sure); what to check is below, before the dive", f.Words(), f.SinceDive, findings.Sure(f.Sure())))
	}
	s.Open = slices.Concat(s.Open, standing(rep), rep.OfBatteries(o.Battery))
	for _, t := range rep.Trends {
		if t.DivesToLimit != nil {
			s.Services = append(s.Services, fmt.Sprintf("%s: dives until its limit: %s", t.Cause.Words, findings.Left(t.DivesToLimit)))
		}
	}
	for _, d := range rep.Dives {
		if len(d.Serviced) > 0 {
			s.Services = append(s.Services, fmt.Sprintf("%s serviced before dive %s%s", strings.Join(d.Serviced, ", "), d.Dive, findings.Of(d.Date)))
		}
	}
	s.Runs = runs(r, rep, log, forecast.Card(r, p, rep.Posterior, c, offered(r, log), outlook.Open(r, reported), o.Readings))
	margins := outlook.Margins(v, r, rep, log, c, 0, o.Battery)
	for _, l := range warnings(r, &margins) {
		s.Margins = append(s.Margins, l.String())
	}
	s.Services = append(s.Services, checklist.DueParts(v, log, o.Today)...)
	s.Before, s.After = checklist.Before(r, rep, &margins, c, offered(r, log)), checklist.After(v)
	s.Cautions = advice.AllCautions()
	return s
}

// warnings returns the margins that are not met, what jammed thrusters would do, and the dangers
// that the newest dive's readings show.
func warnings(r *fit.Result, margins *advice.Margins) (out []advice.Line) {
	v := r.Model.Vehicle
	for _, l := range margins.Lines(v.Units) {
		if l.Judged && !l.Met || !l.Judged && strings.HasPrefix(l.Name, "jammed") {
			out = append(out, l)
		}
	}
	if n := len(r.Dives); n > 0 {
		for _, d := range advice.DiveDangers(r.ModelOf(n-1).Vehicle, r.WithoutOutliers(n-1)) {
			if !strings.HasPrefix(d.Name, "tube") && d.Name != "insulation" { // the margins include these
				d.Name += " on dive " + r.Dives[n-1].Log.Label
				out = append(out, d)
			}
		}
	}
	return out
}

// NotMet lists the margins that the vehicle, as estimated now, does not meet with the whole tether
// out in fresh water of a temperature in °C, and the dangers that the newest dive's readings show.
func NotMet(r *fit.Result, rep *findings.Report, log *session.Log, waterC float64) (out []string) {
	v := r.Model.Vehicle
	margins := outlook.Margins(v, r, rep, log, predict.Condition{TetherOutM: v.Tether.LengthM, WaterC: waterC}, 0, "")
	for _, l := range warnings(r, &margins) {
		if l.Judged {
			out = append(out, l.String())
		}
	}
	return out
}

// halfway returns the reading half way between two others: the geometric mean for insulation,
// which is read by decades.
func halfway(q quantity.Quantity, a, b float64) float64 {
	if q == quantity.Insulation {
		return math.Sqrt(a * b)
	}
	return (a + b) / 2
}

// termsOf returns the parameters that a cause has changed, by the trend of its quantity, or that
// it may change if there is no trend.
func termsOf(rep *findings.Report, k *causes.Cause) []causes.Term {
	if t := rep.Trend(k.Quantity); t != nil {
		return t.TermsAt(len(rep.Dives) - 1)
	}
	return k.Amplitudes[0].Terms
}

// separatingReading words the one reading that best tells whether what is found is still there, and the
// value above or below which it is. Of thrusters of which it is not plain which one it is, it is of all
// together.
func separatingReading(r *fit.Result, rep *findings.Report, p predict.Params, c predict.Condition, f *findings.Finding) string {
	sound := append(predict.Params(nil), p...)
	of := []*causes.Cause{f.Cause}
	var together []int
	for _, e := range f.Either {
		if i := slices.IndexFunc(r.Space.Causes, func(k causes.Cause) bool { return k.Name == e.Fault }); i >= 0 {
			if k := &r.Space.Causes[i]; k.Param() >= predict.FirstThruster {
				of, together = append(of, k), append(together, (k.Param()-predict.FirstThruster)/predict.PerThruster)
			}
		}
	}
	for _, k := range of {
		for _, t := range termsOf(rep, k) {
			sound[t.Param] = r.Base[t.Param]
		}
	}
	words, with := f.Cause.Words, p
	if t := rep.Trend(f.Cause.Quantity); t != nil && f.Cause.Kind == causes.Instrument { // which p leaves out
		with = append(predict.Params(nil), p...)
		for _, term := range termsOf(rep, f.Cause) {
			with[term.Param] = r.Base[term.Param] + term.Per*f.Cause.Scale.Amplitude(t.Level.Value, 0)
		}
	}
	x, there, apart, ok := forecast.Separates(r, with, sound, c, false, together...)
	if !ok {
		return fmt.Sprintf("does %s still show? no single reading of this log's kinds would say", words)
	}
	column := session.ColumnIn(x.Quantity.String(), r.Model.Vehicle.Units)
	side, limit := "below", halfway(x.Quantity, x.Expected, there)
	if x.Expected > limit {
		side = "above"
	}
	at := column.FromBase(limit)
	half := max(math.Abs(at-column.FromBase(x.Expected)), spread(column, &x))
	return fmt.Sprintf("does %s still show? read the %s, %s: %s %s %s says yes; %s", words, x.Quantity.Words(), whatRuns(r.Model.Vehicle, &x)+rep.OnceFreed(r.Model.Vehicle, x.Sign), side,
		findings.Rounded(at, half), column.Unit, howOften(apart))
}

// howOften says how often to take a reading. apart is the distance between its values with and
// without the fault, in standard deviations of the reading. At 4, each is 2 from the middle, and a
// reading says the wrong one once in 44 times.
func howOften(apart float64) string {
	if apart < 4 {
		return "take it three times, as yes and no lie near each other"
	}
	return "one reading is enough"
}

// whatRuns words what runs while a reading is taken.
func whatRuns(v *vehicle.Vehicle, x *forecast.Reading) string {
	switch do := v.DrivesName(x.Sign); {
	case x.Climbing:
		return "all off, floating up freely"
	case do == "off":
		return "all off, at rest"
	case x.Held:
		return do + ", held still"
	default:
		return do
	}
}

// offered returns the quantities that the card may ask for: those that the log has read or, before
// its first reading, those that it has columns for.
func offered(r *fit.Result, log *session.Log) map[quantity.Quantity]bool {
	read := r.Reads()
	if len(read) > 0 {
		return read
	}
	for _, name := range log.Columns {
		if c, ok := session.Find(name); ok {
			if q, reads := c.Reads(); reads {
				read[q] = true
			}
		}
	}
	return read
}

// runs groups readings by what runs. Groups follow the order of the newest dive's lines; those
// without a line come after, the most informative first. Within a group readings follow the order
// of the log's columns.
func runs(r *fit.Result, rep *findings.Report, log *session.Log, all []forecast.Reading) (out []SheetRun) {
	v := r.Model.Vehicle
	order := map[string]int{}
	if n := len(log.Dives); n > 0 {
		lines := log.Dives[n-1].Lines
		for i := range lines {
			if !lines[i].Electrical {
				continue
			}
			signs, _ := lines[i].Signs(v.ThrusterNames())
			do := whatRuns(v, &forecast.Reading{Sign: signs, Held: lines[i].Held})
			if _, known := order[do]; !known {
				order[do] = i
			}
		}
	}
	column := map[string]int{}
	for i, name := range log.Columns {
		column[name] = i
	}
	type placed struct {
		run, column int
		SheetReading
		do string
	}
	var rows []placed
	for i := range all {
		x := &all[i]
		do := whatRuns(v, x)
		if _, known := order[do]; !known {
			order[do] = 1<<20 + i // a log has fewer lines
		}
		c := session.ColumnIn(x.Quantity.String(), v.Units)
		k, known := column[c.Name]
		if !known {
			k = len(column) + int(x.Quantity)
		}
		reading := sheetReading(r, x, c, i+1)
		reading.Expect += timed(v.Units, courseM(log, x.Quantity), x)
		rows = append(rows, placed{order[do], k, reading, do + rep.OnceFreed(v, x.Sign)})
	}
	slices.SortStableFunc(rows, func(a, b placed) int { return cmp.Or(cmp.Compare(a.run, b.run), cmp.Compare(a.column, b.column)) })
	for _, row := range rows {
		if n := len(out); n == 0 || out[n-1].Do != row.do {
			out = append(out, SheetRun{Do: row.do})
		}
		run := &out[len(out)-1]
		run.Readings = append(run.Readings, row.SheetReading)
	}
	return out
}

// courseM returns the distance in m over which the log's newest reading of a quantity, speed or
// climb, was timed; 0 if there is none or it was not timed.
func courseM(log *session.Log, q quantity.Quantity) float64 {
	for d := range slices.Backward(log.Dives) {
		for i := range slices.Backward(log.Dives[d].Lines) {
			if x := &log.Dives[d].Lines[i].Readings[q]; x.Measured() {
				return math.Abs(x.Run)
			}
		}
	}
	return 0
}

// timed words what a stopwatch should read over a course, from a speed's range. It returns "" if
// there is no course or the vehicle may stand still.
func timed(u units.System, course float64, x *forecast.Reading) string {
	if course == 0 || x.Low <= 0 {
		return ""
	}
	return fmt.Sprintf(": %s in %.0f to %.0f s", u.Plain(course, "m"), math.Floor(course/x.High), math.Ceil(course/x.Low))
}

// spread returns one standard deviation of a reading's instrument, in its column's unit.
func spread(column *session.Column, x *forecast.Reading) float64 {
	return math.Abs(column.FromBase(x.Spread()) - column.FromBase(0))
}

// sheetReading words one reading of the card. Its range is rounded outward to the digits of its
// instrument.
func sheetReading(r *fit.Result, x *forecast.Reading, column *session.Column, rank int) SheetReading {
	low, high := column.FromBase(x.Low), column.FromBase(x.High)
	coarser := max(spread(column, x), (high-low)/20) // so that half of the range has two digits
	digits := max(0, int(math.Ceil(-math.Log10(coarser)-1e-9)))
	step := math.Pow(10, float64(digits))
	out := SheetReading{Read: x.Quantity.Words(), Rank: rank,
		Expect: fmt.Sprintf("%.*f to %.*f %s", digits, math.Floor(low*step+1e-6)/step, digits, math.Ceil(high*step-1e-6)/step, column.Unit)}
	// no insulation is too high
	if limit := r.Model.Vehicle.Limits.InsulationMegohm; x.Quantity == quantity.Insulation && x.High > limit {
		out.Expect = fmt.Sprintf("%s %s or more", units.Digits(max(x.Low, limit), 2), column.Unit)
	}
	out.About = about(r.Space.Causes, x.Param)
	return out
}

// about returns the words of the cause that a parameter stands for: the first whose main parameter
// it is, or else the first that also changes it.
func about(all []causes.Cause, param int) string {
	words := ""
	for _, c := range all {
		switch {
		case c.Param() == param:
			return c.Words
		case words == "" && slices.ContainsFunc(c.Reach(), func(t causes.Term) bool { return t.Param == param }):
			words = c.Words
		}
	}
	return words
}

// standing lists the quantities that are near a limit, past it or not as built, but do not drift.
func standing(rep *findings.Report) (out []string) {
	for _, t := range rep.Trends {
		switch t.State {
		case findings.NotAsBuilt, findings.PastLimit, findings.NearLimit:
			u := rep.Unit(t.Quantity)
			t = t.In(u)
			out = append(out, fmt.Sprintf("%s of %s: %s", t.Cause.Words, t.LevelSaid(u.Name), t.State))
		}
	}
	return out
}
