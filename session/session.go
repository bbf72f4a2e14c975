// Package session reads and writes a logbook's dives.csv: what a person wrote
// down, in SI-like base units, and nothing about what it means. It assumes
// that what was not measured stays not measured, that a cell which cannot be
// read is a problem with its place rather than a guess, and that all problems
// of a file are worth reporting at once.
package session

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"sagline/session/quantity"
)

// A Log is one dives.csv.
type Log struct {
	File     string   // as named in problems
	Opening  string   // the comment that it begins with, "" without one
	Header   int      // line of the header
	Columns  []string // header as found, unknown columns included
	Dives    []Dive
	Warnings []error // odd but acceptable: unknown columns, for one
}

// Labels are those of the dives, in order.
func (l *Log) Labels() []string {
	out := make([]string, len(l.Dives))
	for i := range out {
		out[i] = l.Dives[i].Label
	}
	return out
}

// Find is the index of a dive by its label, −1 for none.
func (l *Log) Find(label string) int {
	return slices.IndexFunc(l.Dives, func(d Dive) bool { return d.Label == label })
}

// Any says whether is holds for some line of the log.
func (l *Log) Any(is func(Line) bool) bool {
	return slices.ContainsFunc(l.Dives, func(d Dive) bool { return slices.ContainsFunc(d.Lines, is) })
}

// Unread are the quantities that no line of a log has a reading of; none before
// its first dive.
func (l *Log) Unread() (out []quantity.Quantity) {
	var read [quantity.Count]bool
	for _, d := range l.Dives {
		for i := range d.Lines {
			for q := range read {
				read[q] = read[q] || d.Lines[i].Readings[q].Measured()
			}
		}
	}
	for q := range quantity.Count {
		if len(l.Dives) > 0 && !read[q] {
			out = append(out, q)
		}
	}
	return out
}

// A Dive is a run of lines with one label, in the order they were made.
type Dive struct {
	Label    string
	Date     time.Time // day, UTC; zero where it is not known
	Misdated time.Time // the day that is written down where it is out of order, which is taken for a slip
	Battery  string    // label of the battery used, that of the dive before where none is given
	Lines    []Line
}

// String is the label of a dive, and its day where that is known.
func (d *Dive) String() string {
	if day := d.Day(); day != "" {
		return fmt.Sprintf("%s (%s)", d.Label, day)
	}
	return d.Label
}

// Day is the ISO 8601 day of a dive, "" where it is not known.
func (d *Dive) Day() string {
	if d.Date.IsZero() {
		return ""
	}
	return d.Date.Format(time.DateOnly)
}

// KeepsDays says whether a new dive's day is written down: the log has a column for it, or no
// columns yet.
func (l *Log) KeepsDays() bool { return len(l.Columns) == 0 || slices.Contains(l.Columns, "date") }

// Latest is the newest day that a log has, zero for none.
func (l *Log) Latest() time.Time {
	for _, d := range slices.Backward(l.Dives) {
		if !d.Date.IsZero() {
			return d.Date
		}
	}
	return time.Time{}
}

// A Drive is one thruster that ran on a line. Reversed is astern for a surge thruster, down
// for a heave thruster.
type Drive struct {
	Name     string
	Reversed bool
}

// Signs are the thrusters that ran, in the order of names: 0 off, 1 ahead or up, −1 astern or
// down; unknown is the first that is not among names.
func (l *Line) Signs(names []string) (signs []int8, unknown string) {
	signs = make([]int8, len(names))
	for _, d := range l.Drives {
		if at := slices.Index(names, d.Name); at < 0 {
			unknown = cmp.Or(unknown, d.Name)
		} else if signs[at] = 1; d.Reversed {
			signs[at] = -1
		}
	}
	return signs, unknown
}

// A Value is a number that may not have been measured. The zero Value was
// not.
type Value struct {
	X       float64 // base unit
	Entered float64 // as written, in the column's unit
	Column  *Column // where it was written; nil: not measured
	Run     float64 // m, for a timed run: the distance that Entered seconds belong to
}

// Measured says whether there is a number.
func (v Value) Measured() bool { return v.Column != nil }

// EnteredFor is the number that v's cell would have for another value, base, in the base
// unit. For a timed run that is the seconds, both ways scaled alike where both were timed, and
// +Inf for a speed of 0. Where v was not measured it is base.
func (v Value) EnteredFor(base float64) float64 {
	switch c := v.Column; {
	case c == nil:
		return base
	case c.timed() && v.X == 0: // no distance covered, whatever the time
		return v.Entered
	case c.timed() && v.X == v.Run/v.Entered:
		return v.Run / base
	case c.timed():
		return v.Entered * v.X / base
	case c.Quantity == "clock":
		return v.Entered + base - v.X
	default:
		return c.FromBase(base)
	}
}

// A Line is one observation: the circumstances it was made in, then what was
// read. What is carried forward is the carried value.
type Line struct {
	Number     int  // line in the file, from 1
	Electrical bool // the thrusters cell was filled ("off" counts)
	Lights     bool
	Held       bool
	Drives     []Drive // thrusters that ran
	Salinity   float64 // psu, carried forward within the dive, else 0
	BallastG   float64 // g, running total of dry mass added since the log began
	Serviced   []string
	Note       string

	Minute    Value // min since the dive began
	Depth     Value // m
	TetherOut Value // m paid out; not measured where no line of the dive gave it so far
	WaterC    Value // °C, carried forward within the dive

	Readings [quantity.Count]Value // what instruments read; a speed or a climb may have been timed
	Back     Value                 // m/s of a timed run the other way, whose seconds were entered
}

// Put sets the value of v's column.
func (l *Line) Put(v Value) {
	if !v.Measured() {
		return
	}
	if to := l.at(v.Column); to != nil {
		*to = v
	}
}

// of is the value of a column's quantity.
func (l *Line) of(c *Column) Value {
	if at := l.at(c); at != nil {
		return *at
	}
	return Value{}
}

// PutRun sets a timed run of a speed, or a timed climb, from the distance in m, the seconds
// out and, where measured, those back. With both timed it is the mean of the two speeds, so
// that a steady current cancels, which it would not in distance over mean time.
func (l *Line) PutRun(q quantity.Quantity, distance, out, back Value) {
	v := Value{X: distance.X / out.X, Entered: out.Entered, Column: out.Column, Run: distance.X}
	if back.Measured() {
		l.Back = Value{X: distance.X / back.X, Entered: back.Entered, Column: back.Column, Run: distance.X}
		v.X = (v.X + l.Back.X) / 2
	}
	l.Readings[q] = v
}

// at is the value of a column's quantity; nil for text, for ballast and salinity, and for the
// distance of a timed run.
func (l *Line) at(c *Column) *Value {
	if c.reads {
		return &l.Readings[c.reading]
	}
	switch c.Quantity {
	case "minute", "clock":
		return &l.Minute
	case "depth":
		return &l.Depth
	case "tether":
		return &l.TetherOut
	case "water":
		return &l.WaterC
	case "run time":
		return &l.Readings[quantity.Speed]
	case "run back":
		return &l.Back
	case "climb time":
		return &l.Readings[quantity.Climb]
	}
	return nil
}

// Runs are the speeds of a timed run out and back, m/s. back is not measured where the run was
// timed one way, and neither is where the speed was not timed.
func (l *Line) Runs() (out, back Value) {
	out = l.Readings[quantity.Speed]
	if !out.Measured() || !out.Column.timed() {
		return Value{}, Value{}
	}
	out.X = out.Run / out.Entered
	return out, l.Back
}

// LastBallastG is the running ballast after a log's last line, g.
func (l *Log) LastBallastG() float64 { return l.lastLine().BallastG }

// lastLine is a log's last line, the zero Line where it has none.
func (l *Log) lastLine() (last Line) {
	if n := len(l.Dives); n > 0 {
		lines := l.Dives[n-1].Lines
		last = lines[len(lines)-1]
	}
	return last
}

// Batteries are the different labels of the batteries that dives used, "" among them where a
// dive names none.
func (l *Log) Batteries() (labels []string) {
	for i := range l.Dives {
		if b := l.Dives[i].Battery; !slices.Contains(labels, b) {
			labels = append(labels, b)
		}
	}
	return labels
}

// LastBattery is the label of the battery that a log's last dive used.
func (l *Log) LastBattery() string {
	if len(l.Dives) == 0 {
		return ""
	}
	return l.Dives[len(l.Dives)-1].Battery
}

// Newest is the last reading of a quantity that a log has; false for none.
func (l *Log) Newest(q quantity.Quantity) (x float64, ok bool) {
	for i := range l.Dives {
		for j := range l.Dives[i].Lines {
			if v := l.Dives[i].Lines[j].Readings[q]; v.Measured() {
				x, ok = v.X, true
			}
		}
	}
	return x, ok
}

// SaltiestPSU is the greatest salinity that a log has, psu.
func (l *Log) SaltiestPSU() (salinity float64) {
	for i := range l.Dives {
		for _, line := range l.Dives[i].Lines {
			salinity = max(salinity, line.Salinity)
		}
	}
	return salinity
}

// NewestSalinityPSU is the salinity at the end of the newest dive, psu; 0 where it has none.
func (l *Log) NewestSalinityPSU() float64 { return l.lastLine().Salinity }

// DeepestM is the greatest depth that a log has, m.
func (l *Log) DeepestM() (depth float64) {
	for i := range l.Dives {
		for _, line := range l.Dives[i].Lines {
			depth = max(depth, line.Depth.X)
		}
	}
	return depth
}
