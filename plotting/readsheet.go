package plotting

import (
	"fmt"
	"math"
	"strings"
	"time"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/causes"
	"sagline/predict/checklist"
	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/session"
	"sagline/session/quantity"
	"sagline/session/units"
)

// A NextDive is what is known of the dive that a Sheet is for.
type NextDive struct {
	DepthM, WaterC, SalinityPSU float64
	Readings                    int // at most
	Today                       time.Time
}

// UsualDive is a NextDive of which nothing is known: common practice, no source.
var UsualDive = NextDive{DepthM: 3, WaterC: 15, Readings: 10}

// ReadSheet is the card for the dive after a fitted log's last.
func ReadSheet(r *fit.Result, rep *drift.Report, log *session.Log, o NextDive) *Sheet {
	p := drift.Present(r, rep)
	v := r.Model.Vehicle
	after := "As built"
	if n := len(log.Dives); n > 0 {
		after = fmt.Sprintf("As believed after dive %s of %s", log.Dives[n-1].Label, log.Dives[n-1].Date.Format("2 Jan 2006"))
	}
	c := predict.Condition{DepthM: o.DepthM, TetherOutM: v.Tether.LengthM, WaterC: o.WaterC, Salinity: o.SalinityPSU, BallastG: log.LastBallastG()}
	s := &Sheet{Vehicle: v.Name,
		Basis: fmt.Sprintf("%s, on a rested battery of %.1f V, %s deep in water of %s and %g psu. Ranges hold 95 %%; "+
			"what the battery rests above or below that, add to every voltage.",
			after, p[predict.OpenCircuitV], v.Units.Plain(o.DepthM, "m"), v.Units.Plain(o.WaterC, "°C"), o.SalinityPSU)}
	for _, b := range rep.Rebuilt {
		s.Basis += " Rebuilt " + b + "."
	}
	open := map[int]float64{}
	for _, k := range r.Faults() {
		open[k] = 1
	}
	for _, f := range rep.Findings {
		if f.Test != nil {
			s.Open = append(s.Open, "read this first: "+f.Test.Words)
		}
		if k := f.Cause.Param(); k >= 0 {
			open[k] = 3
			if f.Test == nil {
				s.Open = append(s.Open, isItStill(r, p, c, f.Cause))
			}
		}
		s.Open = append(s.Open, fmt.Sprintf("%s since dive %s (%s sure): %s", f.Cause.Words, f.SinceDive, drift.Sure(f.Probability), f.CheckNext))
	}
	for _, t := range rep.Trends {
		if t.DivesToLimit != nil {
			words := t.Cause.Words
			s.Services = append(s.Services, fmt.Sprintf("%s: dives until its limit: %s", words, drift.Left(t.DivesToLimit)))
		}
	}
	for _, d := range rep.Dives {
		if len(d.Serviced) > 0 {
			s.Services = append(s.Services, fmt.Sprintf("%s serviced before dive %s of %s", strings.Join(d.Serviced, ", "), d.Dive, d.Date))
		}
	}
	for _, x := range r.Card(p, c, open, o.Readings) {
		s.Readings = append(s.Readings, sheetReading(r, x))
	}
	margins := drift.Margins(v, r, rep, log, c, 0)
	for _, l := range margins.Lines(v.Units) {
		if l.Judged && !l.Met || strings.HasPrefix(l.Name, "jammed") {
			s.Margins = append(s.Margins, l.String())
		}
	}
	if n := len(log.Dives); n > 0 {
		for _, d := range advice.DiveDangers(v, &log.Dives[n-1]) {
			if !strings.HasPrefix(d.Name, "tube") && d.Name != "insulation" { // which the margins have
				s.Margins = append(s.Margins, d.String())
			}
		}
	}
	for _, d := range checklist.DueParts(v, log, o.Today) {
		s.Services = append(s.Services, d.Text)
	}
	s.Before, s.After = checklist.Before(r, rep, &margins, c), checklist.After(v)
	s.Cautions = advice.AllCautions()
	return s
}

// halfway is the reading half way from one to another; insulation is read by
// decades.
func halfway(q quantity.Quantity, a, b float64) float64 {
	if q == quantity.Insulation {
		return math.Sqrt(a * b)
	}
	return (a + b) / 2
}

// isItStill is the one reading that separates a fault from its absence.
func isItStill(r *fit.Result, p predict.Params, c predict.Condition, k *causes.Cause) string {
	sound := append(predict.Params(nil), p...)
	for _, t := range k.Amplitudes[0].Terms {
		sound[t.Param] = r.Base[t.Param]
	}
	words := k.Words
	x, there, apart, ok := r.Separates(p, sound, c, false)
	if !ok {
		return fmt.Sprintf("is it still %s? no single reading of this log's kinds would say", words)
	}
	column := readingColumn(x.Quantity, r.Model.Vehicle.Units)
	side, limit := "below", halfway(x.Quantity, x.Expected, there)
	if x.Expected > limit {
		side = "above"
	}
	row := sheetReading(r, x)
	return fmt.Sprintf("is it still %s? read %s with %s: %s %s %s says yes (%.0f sd between yes and no)", words, column.Name, row.Do, side,
		drift.Rounded(column.FromBase(limit), math.Abs(column.FromBase(limit)-column.FromBase(x.Expected))), column.Unit, apart)
}

// sheetReading words one reading of the card.
func sheetReading(r *fit.Result, x fit.Reading) SheetReading {
	v := r.Model.Vehicle
	do := v.DrivesName(x.Sign)
	switch {
	case x.Climbing:
		do = "all off, floating up freely"
	case do == "off":
		do = "all off, at rest"
	case x.Held:
		do += ", held still"
	}
	column := readingColumn(x.Quantity, v.Units)
	low, high := column.FromBase(x.Low), column.FromBase(x.High)
	half := (high - low) / 2
	words := ""
	for _, c := range r.Causes() {
		if c.Param() == x.Param {
			words = c.Words
			break
		}
	}
	return SheetReading{Do: do, Read: column.Name, About: words,
		Expect: fmt.Sprintf("%s to %s %s", drift.Rounded(low, half), drift.Rounded(high, half), column.Unit)}
}

// readingColumn is the column that a reader's log would hold a quantity in.
func readingColumn(q quantity.Quantity, s units.System) *session.Column {
	var first *session.Column
	for _, c := range session.Columns() {
		if is, reading := session.QuantityOf(c.Name); !reading || is != q {
			continue
		}
		if first == nil {
			first = c
		}
		if s.In(first.Unit).Name == c.Unit {
			return c
		}
	}
	return first
}
