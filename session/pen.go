package session

import (
	"fmt"
	"reflect"
	"sagline/session/quantity"
	"strings"
	"time"
	"unicode/utf8"
)

// pen writes the lines of one log.
type pen struct {
	columns []*Column
	has     map[string]*Column
	before  *Line   // the dive's last line, nil at its first
	ballast float64 // g, what Read will have added up so far
	battery string  // of the dive before
}

// line is a line as it is written.
func (p *pen) line(d *Dive, l *Line) (out record, err error) {
	fields := reflect.ValueOf(&out).Elem()
	for _, c := range p.columns {
		text := ""
		switch c.Quantity {
		case "clock":
			text, err = clockCell(l.Minute, p.has["minute"] != nil)
		case "ballast":
			text = p.added(c, l.BallastG)
		default:
			text = p.cell(c, d, l)
		}
		if err != nil {
			return out, fmt.Errorf("dive %q: %w", d.Label, err)
		}
		fields.Field(c.field).SetString(text)
	}
	return out, nil
}

// cell is a line's cell in column c, of the kinds that need no more than the
// line and the one before.
func (p *pen) cell(c *Column, d *Dive, l *Line) string {
	switch c.Quantity {
	case "dive":
		return text(d.Label)
	case "date":
		return p.first(d.Date.Format(time.DateOnly))
	case "battery":
		if d.Battery == p.battery {
			return ""
		}
		return p.first(text(d.Battery))
	case "thrusters":
		return text(drivesText(l))
	case "lights":
		return word(l.Lights, "on")
	case "held":
		return word(l.Held, "yes")
	case "serviced":
		return strings.Join(l.Serviced, "+")
	case "note":
		return text(l.Note)
	default:
		return p.number(c, l)
	}
}

// number is a line's cell in a column of numbers.
func (p *pen) number(c *Column, l *Line) string {
	switch c.Quantity {
	case "minute":
		if l.Minute.Measured() && l.Minute.Column.Quantity == "clock" && p.has["clock"] != nil {
			return ""
		}
		return c.cellOf(l.Minute)
	case "depth", "tether":
		return c.cellOf(*l.at(c.Quantity))
	case "water":
		now := l.WaterC
		if p.before != nil {
			if before := p.before.WaterC; before.X == now.X && before.Measured() == now.Measured() {
				return ""
			}
		}
		return c.cellOf(now)
	case "salinity":
		if p.before != nil && p.before.Salinity == l.Salinity {
			return ""
		}
		return c.shortest(l.Salinity)
	case "run", "run time", "run back":
		return p.timed(c, l, quantity.Speed, "run", "run time")
	case "climbed", "climb time":
		return p.timed(c, l, quantity.Climb, "climbed", "climb time")
	}
	return p.reading(c, l)
}

// reading is what an instrument read, unless it is written as a timed run.
func (p *pen) reading(c *Column, l *Line) string {
	q, ok := readingOf(c.Quantity)
	if !ok {
		return ""
	}
	v := l.Readings[q]
	if p.runs(v, "run", "run time") || p.runs(v, "climbed", "climb time") {
		return ""
	}
	return c.cellOf(v)
}

// added is the ballast change that brings the total Read has so far to total.
func (p *pen) added(c *Column, total float64) string {
	if total == p.ballast {
		return ""
	}
	told := p.ballast
	s, x := shortest(c.FromBase(total-told), func(x float64) bool { return told+c.ToBase(x) == total })
	p.ballast = told + c.ToBase(x)
	return s
}

// first is s on a dive's first line.
func (p *pen) first(s string) string {
	if p.before != nil {
		return ""
	}
	return s
}

// lineEnds are as encoding/csv reads them back.
var lineEnds = strings.NewReplacer("\r\n", "\n", "\r", "\n")

// text is a text cell that no program runs.
func text(s string) string {
	if !utf8.ValidString(s) {
		s = strings.ToValidUTF8(s, "\ufffd")
	}
	return harmless(lineEnds.Replace(s))
}

func word(b bool, word string) string {
	if b {
		return word
	}
	return ""
}

func drivesText(l *Line) string {
	if !l.Electrical {
		return ""
	}
	if len(l.Drives) == 0 {
		return "off"
	}
	parts := make([]string, len(l.Drives))
	for i, d := range l.Drives {
		parts[i] = d.Name
		if d.Reversed {
			parts[i] += " astern"
		}
	}
	return strings.Join(parts, " + ")
}
