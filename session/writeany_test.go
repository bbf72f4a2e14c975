package session

import (
	"encoding/csv"
	"fmt"
	"io"
	"strings"
	"time"
)

// writeAny writes any log in any columns that can hold it, each in its own unit, so
// that Read reads it back as it was: what Read is held against. What was not
// measured is an empty cell; what carries forward is written where it changes, but
// the tether paid out on every line.
func writeAny(w io.Writer, names []string, log *Log) error {
	e, out := newRowEncoder(names), csv.NewWriter(w)
	_ = out.Write(names)
	for d := range log.Dives {
		dive := &log.Dives[d]
		e.before = nil
		for i := range dive.Lines {
			row := make([]string, len(names))
			for k, c := range e.columns {
				var err error
				if row[k], err = e.cell(c, dive, &dive.Lines[i]); err != nil {
					return fmt.Errorf("dive %q: %w", dive.Label, err)
				}
			}
			_ = out.Write(row)
			e.before = &dive.Lines[i]
		}
		e.battery = dive.Battery
	}
	out.Flush()
	return out.Error()
}

func newRowEncoder(names []string) *rowEncoder {
	e := &rowEncoder{has: map[string]*Column{}, columns: make([]*Column, len(names))}
	for i, n := range names {
		e.columns[i] = byName[n]
		e.has[byName[n].Quantity] = byName[n]
	}
	return e
}

// rowEncoder turns the lines of one log into cells.
type rowEncoder struct {
	columns []*Column
	has     map[string]*Column // by quantity
	before  *Line              // the dive's last line, nil at its first
	ballast float64            // g, what Read will have added up so far
	battery string             // of the dive before
}

// cell is a line's cell in column c.
func (e *rowEncoder) cell(c *Column, d *Dive, l *Line) (string, error) {
	if t, ok := textColumns[c.Quantity]; ok {
		return harmless(t.write(l)), nil
	}
	switch c.Quantity {
	case "dive":
		return harmless(d.Label), nil
	case "date":
		return e.first(d.Date.Format(time.DateOnly)), nil
	case "battery":
		if d.Battery == e.battery {
			return "", nil
		}
		return e.first(harmless(d.Battery)), nil
	case "clock":
		return e.clock(l.Minute)
	}
	return e.number(c, l), nil
}

// first is s on a dive's first line.
func (e *rowEncoder) first(s string) string {
	if e.before != nil {
		return ""
	}
	return s
}

// clock is the cell of a clock that showed a minute.
func (e *rowEncoder) clock(v Value) (string, error) {
	switch {
	case !v.Measured(), v.Column.Quantity != "clock" && e.has["minute"] != nil:
		return "", nil
	case v.Column.Quantity != "clock":
		return "", fmt.Errorf("minute %g is of no clock, want a column %q", v.X, "minute")
	}
	return ClockText(v.Entered), nil
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
	before := e.ballast
	s, x := fewestDigits(c.FromBase(total-before), func(x float64) bool { return before+c.ToBase(x) == total })
	e.ballast = before + c.ToBase(x)
	return s
}

// harmless is a text that no program runs.
func harmless(s string) string {
	return EscapeFormula(lineEnds.Replace(strings.ToValidUTF8(s, "\ufffd")))
}
