package newdive

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"sagline/predict/forecast"
	"sagline/session"
	"sagline/session/quantity"
)

// expectedOf returns what the reading of a column should be, nil if there is none.
func expectedOf(c *session.Column, all []forecast.Expected) *forecast.Expected {
	q, ok := c.Reads()
	for i := range all {
		if ok && all[i].Quantity == q {
			return &all[i]
		}
	}
	return nil
}

// timed returns a cell, with the length or seconds of its run or climb from the row.
func timed(c *session.Column, row session.Row, text string) session.Row {
	out := session.Row{c.Name: text}
	for _, name := range []string{"run_m", "run_ft", "run_s", "climb_m", "climb_ft"} {
		if row[name] != "" && name != c.Name && strings.HasSuffix(c.Name, "_s") && strings.HasPrefix(c.Name, name[:3]) {
			out[name] = row[name]
		}
	}
	return out
}

// value returns the reading that a cell alone would give.
func value(c *session.Column, row session.Row, text string) (session.Value, bool) {
	try := timed(c, row, text)
	if c.Quantity == "run back" { // either way alone should take as long
		try["run_s"] = try[c.Name]
		delete(try, c.Name)
	}
	q, _ := c.Reads()
	lines, list := session.ParseRows(try)
	if list != nil {
		return session.Value{}, false
	}
	return lines[0].Readings[q], lines[0].Readings[q].Measured()
}

// Should words what a column of a row should read; seconds without a length are those over the
// usual length.
func (d *Dive) Should(c *session.Column, row session.Row, all []forecast.Expected) string {
	if c.Unit == "s" && row[c.Name] == "" {
		row = merged(row, c.Name, "1")
		d.Measure(row)
	}
	return Should(c, row, all)
}

// merged returns a row with one more cell.
func merged(row session.Row, name, text string) session.Row {
	row = maps.Clone(row)
	row[name] = text
	return row
}

// Should words what a column of a row should read, "" if nothing is expected.
func Should(c *session.Column, row session.Row, all []forecast.Expected) string {
	want := expectedOf(c, all)
	if want == nil {
		return ""
	}
	like, ok := value(c, row, "1")
	if !ok && c.Unit == "s" {
		return "" // its length is not known
	}
	if !ok {
		like = session.Value{X: want.Value, Column: c, Entered: c.FromBase(want.Value)}
	}
	x, off := like.EnteredFor(want.Value), like.EnteredFor(want.Value+want.SD)
	if math.IsInf(x, 0) || math.IsInf(off, 0) {
		return "none"
	}
	half := 2 * math.Abs(off-x)
	digits, low, high := digitsOf(half), like.EnteredFor(want.Low), like.EnteredFor(want.High)
	if a, b := math.Abs(x-low), math.Abs(high-x); max(a, b) > uneven*min(a, b) && !math.IsInf(a+b, 0) {
		return fmt.Sprintf("%.*f to %.*f", digits, min(low, high), digits, max(low, high))
	}
	if math.Abs(x) < math.Pow10(-digits)/2 {
		x = 0 // no minus before it
	}
	return fmt.Sprintf("%.*f ± %.*f", digits, x, digits, half)
}

// uneven is the ratio of a range's two sides from which its ends are shown in place of ±: common
// practice, no source.
const uneven = 2

// digitsOf returns how many digits after the point a range of ± half leaves known.
func digitsOf(half float64) int {
	digits := 1
	if half > 0 {
		digits = -int(math.Floor(math.Log10(half)))
		if half*math.Pow10(digits) < 2 { // 0.12, but 0.3
			digits++
		}
	}
	return max(digits, 0)
}

// Columns returns the columns that a line is asked for one by one, in the order of the table: those
// in use, or if all one of every quantity.
func (d *Dive) Columns(all bool) (out []*session.Column) {
	for _, c := range session.Columns() {
		if slices.Contains(d.Reader.Columns, c) && c.Name != "dive" && c.Name != "date" && (all || d.used(c) && !c.Once) {
			out = append(out, c)
		}
	}
	return out
}

// MakesSense reports whether to ask for a column on a line as typed so far: no speed of a held
// vehicle. expected is what the readings should be, nil if nothing is expected.
func MakesSense(c *session.Column, l *session.Line, row session.Row, expected []forecast.Expected) bool {
	running, off := expects(expected, quantity.Speed) || expected == nil, len(l.Drives) == 0
	switch c.Quantity {
	case "held", "pull_n":
		return !off && (c.Quantity == "held" || l.Held)
	case "current_a", "vehicle_v":
		return l.Electrical && (!off || l.Lights)
	case "battery_v":
		return l.Electrical
	case "run", "run time", "run back", "speed_m_s":
		return !off && !l.Held && running && (c.Quantity != "run back" || Has(row, "run_s"))
	case "climbed", "climb time", "climb_m_s":
		return !l.Held && (off || !expects(expected, quantity.Speed)) && (c.Quantity != "climb time" || Has(row, "climb_m", "climb_ft"))
	case "trim_g":
		return off
	case "loop_ohm", "insulation_megohm":
		return off && !l.Lights
	}
	return true
}

func expects(all []forecast.Expected, q quantity.Quantity) bool {
	return slices.ContainsFunc(all, func(e forecast.Expected) bool { return e.Quantity == q })
}
