package session

import (
	"strconv"
	"strings"
	"unicode/utf8"

	"sagline/session/units"
)

// rowEncoder turns the lines of one log into cells of text.
type rowEncoder struct {
	columns []*Column
	has     map[string]*Column // by quantity
	before  *Line              // the line before in the dive, nil at the first
	ballast float64            // g, the running total that Read will compute
	battery string             // of the dive before
}

// cell returns a line's cell in column c.
func (e *rowEncoder) cell(c *Column, d *Dive, l *Line) string {
	if t, ok := textColumns[c.Quantity]; ok {
		return textCell(t.write(l))
	}
	switch first := e.before == nil; {
	case c.Quantity == "dive":
		return textCell(d.Label)
	case c.Quantity == "date" && first:
		return d.Day()
	case c.Quantity == "battery" && first && d.Battery != e.battery:
		return textCell(d.Battery)
	case c.Quantity == "clock" && l.Minute.Measured() && l.Minute.Column.Quantity == "clock":
		return ClockText(l.Minute.Entered)
	case c.Unit == "": // unchanged since the line before, or none
		return ""
	}
	return e.number(c, l)
}

// textCell returns s as valid UTF-8 that no spreadsheet runs as a formula.
func textCell(s string) string {
	if !utf8.ValidString(s) {
		s = strings.ToValidUTF8(s, "\ufffd")
	}
	return EscapeFormula(lineEnds.Replace(s))
}

// number returns a line's cell in a column of numbers.
func (e *rowEncoder) number(c *Column, l *Line) string {
	switch c.Quantity {
	case "minute":
		if l.Minute.Measured() && l.Minute.Column.Quantity == "clock" && e.has["clock"] != nil {
			return ""
		}
	case "water":
		if e.before != nil && e.before.WaterC.X == l.WaterC.X && e.before.WaterC.Measured() == l.WaterC.Measured() {
			return ""
		}
	case "salinity":
		if e.before != nil && e.before.Salinity == l.Salinity {
			return ""
		}
		return c.fewestDigits(l.Salinity)
	case "ballast":
		return e.added(c, l.BallastG)
	case "run", "run time", "run back":
		return e.timed(c, l, "run", "run time")
	case "climbed", "climb time":
		return e.timed(c, l, "climbed", "climb time")
	}
	v := l.of(c)
	if e.holds(v, "run", "run time") || e.holds(v, "climbed", "climb time") {
		return ""
	}
	return c.entered(v)
}

// holds reports whether v is a timed run or climb for which the log has both columns, distance and
// seconds.
func (e *rowEncoder) holds(v Value, distance, seconds string) bool {
	return v.Measured() && v.Column.Quantity == seconds && e.has[distance] != nil && e.has[seconds] != nil
}

// timed returns a cell of a timed run or climb: its distance, its seconds, or the seconds of the
// way back, depending on c.
func (e *rowEncoder) timed(c *Column, l *Line, distance, seconds string) string {
	v := l.of(byName[map[string]string{"run": "speed_m_s", "climbed": "climb_m_s"}[distance]])
	switch {
	case !e.holds(v, distance, seconds):
		return ""
	case c.Quantity == distance:
		return c.fewestDigits(v.Run)
	case c.Quantity == "run back":
		return c.entered(l.Back)
	case distance == "run" && e.has["run back"] == nil && l.Back.Measured():
		return decimals(v.Run / v.X) // without a column for the way back: one way at the mean speed
	}
	return decimals(v.Entered)
}

// added returns the ballast change that brings Read's running total to total.
func (e *rowEncoder) added(c *Column, total float64) string {
	if total == e.ballast {
		return ""
	}
	s := c.fewestDigits(total - e.ballast)
	x, _ := strconv.ParseFloat(s, 64) // s is always a number
	e.ballast += c.ToBase(x)
	return s
}

// entered returns a value's cell in column c, exactly as entered if it came from that column.
func (c *Column) entered(v Value) string {
	switch {
	case !v.Measured():
		return ""
	case v.Column == c:
		return decimals(v.Entered)
	default:
		return c.fewestDigits(v.X)
	}
}

// fewestDigits converts base from the base unit to the unit of c and formats it in 15 digits: 10
// for 10 ft, not 10.000000000000002.
func (c *Column) fewestDigits(base float64) string { return units.Digits(c.FromBase(base), 15) }

// decimals formats a number exactly, without exponent.
func decimals(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
