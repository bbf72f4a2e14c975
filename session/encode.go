package session

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/gocarina/gocsv"

	"sagline/session/problem"
	"sagline/session/units"
)

// rowEncoder turns the lines of one log into cells.
type rowEncoder struct {
	columns []*Column
	has     map[string]*Column // by quantity
	before  *Line              // the dive's last line, nil at its first
	ballast float64            // g, what Read will have added up so far
	battery string             // of the dive before
}

// cell is a line's cell in column c.
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
	case c.Unit == "": // as the line before, or none
		return ""
	}
	return e.number(c, l)
}

// textCell is a text that no program runs.
func textCell(s string) string {
	if !utf8.ValidString(s) {
		s = strings.ToValidUTF8(s, "\ufffd")
	}
	return EscapeFormula(lineEnds.Replace(s))
}

// number is a line's cell in a column of numbers.
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

// holds says whether v is a timed run that the columns for distance and time
// can hold.
func (e *rowEncoder) holds(v Value, distance, seconds string) bool {
	return v.Measured() && v.Column.Quantity == seconds && e.has[distance] != nil && e.has[seconds] != nil
}

// timed is the cell of a timed run in c: its distance, its seconds, or the
// seconds of its way back.
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
		return decimals(v.Run / v.X) // one way at the mean speed
	}
	return decimals(v.Entered)
}

// added is the ballast change that brings the total Read has so far to total.
func (e *rowEncoder) added(c *Column, total float64) string {
	if total == e.ballast {
		return ""
	}
	s := c.fewestDigits(total - e.ballast)
	x, _ := strconv.ParseFloat(s, 64) // which is a number
	e.ballast += c.ToBase(x)
	return s
}

// entered is a value as it is written in column c: as it was entered where it
// came from there, so that nothing is lost.
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

// fewestDigits is the cell in column c that reads as base: one that came from 10 ft
// is written as 10, not 10.000000000000002.
func (c *Column) fewestDigits(base float64) string { return units.Digits(c.FromBase(base), 15) }

// decimals is a number without exponent, exact.
func decimals(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// sameShare is how far two numbers may be apart and be one, written in two
// units: common practice, no source.
const sameShare = 1e-5

// Differences are the cells in which two lines differ, in words: what the one
// has and what the other. What is carried or added up is not compared.
func Differences(a, b *Line) (out []string) {
	seen := map[string]bool{}
	for _, c := range columns {
		x, y := "", ""
		switch text, ok := textColumns[c.Quantity]; {
		case seen[c.Quantity] || c.Quantity == "water" || c.Quantity == "tether":
			continue
		case ok:
			x, y = text.write(a), text.write(b)
		default:
			v, w := a.of(c), b.of(c)
			if v.Column != c && w.Column != c {
				continue
			}
			if math.Abs(v.X-w.X) > sameShare*math.Max(math.Abs(v.X), math.Abs(w.X)) || v.Measured() != w.Measured() {
				x, y = c.entered(v), c.entered(w)
			}
		}
		if seen[c.Quantity] = x != y; x != y {
			out = append(out, fmt.Sprintf("%s is %s, %s in the log", c.Name, problem.Quote(y), problem.Quote(x)))
		}
	}
	return out
}

// Write writes a log in the given columns, each in its own unit, so that Read
// reads it back as it was. What was not measured is an empty cell; what
// carries forward is written where it changes, but the tether paid out on
// every line; what no column is for is left out. The columns are of the table,
// one of a quantity, with "dive" among them.
func Write(w io.Writer, names []string, log *Log) error {
	e := &rowEncoder{has: map[string]*Column{}}
	for _, n := range names {
		c := byName[n]
		e.columns, e.has[c.Quantity] = append(e.columns, c), c
	}
	out := &columnWriter{csv.NewWriter(w), e.columns, make([]string, len(names))}
	if err := out.Writer.Write(names); err != nil {
		return err
	}
	var lines []csvLine
	for d := range log.Dives {
		dive := &log.Dives[d]
		e.before, lines = nil, slices.Grow(lines[:0], len(dive.Lines))
		for i := range dive.Lines {
			var row csvLine
			fields := reflect.ValueOf(&row).Elem()
			for _, c := range e.columns {
				fields.Field(c.field).SetString(e.cell(c, dive, &dive.Lines[i]))
			}
			lines, e.before = append(lines, row), &dive.Lines[i]
		}
		e.battery = dive.Battery
		if err := gocsv.MarshalCSVWithoutHeaders(lines, out); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// columnWriter writes of each line what its columns hold.
type columnWriter struct {
	*csv.Writer
	columns []*Column
	row     []string
}

// Write takes a cell for every column of the table.
func (c *columnWriter) Write(all []string) error {
	for i, col := range c.columns {
		c.row[i] = all[col.field]
	}
	return c.Writer.Write(c.row)
}
