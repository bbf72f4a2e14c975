// Package session reads and writes a logbook's dives.csv: what a person wrote down, in SI-like base
// units, without interpretation. What was not measured stays not measured. A cell that cannot be
// read is a problem with its place, never a guess. All problems of a file are reported at once.
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
	Warnings []error // odd but acceptable, such as unknown columns
}

// Labels returns the labels of the dives, in order.
func (l *Log) Labels() []string {
	out := make([]string, len(l.Dives))
	for i := range out {
		out[i] = l.Dives[i].Label
	}
	return out
}

// Find returns the index of the dive with that label, −1 for none.
func (l *Log) Find(label string) int {
	return slices.IndexFunc(l.Dives, func(d Dive) bool { return d.Label == label })
}

// Any reports whether is holds for any line of the log.
func (l *Log) Any(is func(Line) bool) bool {
	return slices.ContainsFunc(l.Dives, func(d Dive) bool { return slices.ContainsFunc(d.Lines, is) })
}

// NotToRead returns the quantities that the log's next dives are not expected to read: those of which no
// line has a reading, or before the first dive those that no column is for.
func (l *Log) NotToRead() []quantity.Quantity {
	if len(l.Dives) > 0 {
		return l.Unread()
	}
	var out []quantity.Quantity
	for q := range quantity.Count {
		if !slices.ContainsFunc(l.Columns, func(name string) bool {
			c, ok := Find(name)
			if !ok {
				return false
			}
			read, reads := c.Reads()
			return reads && read == q
		}) {
			out = append(out, q)
		}
	}
	return out
}

// Unread returns the quantities of which no line has a reading. It returns none for a log without
// dives.
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
	Misdated time.Time // the day as written if it is out of order; Date is then zero
	Battery  string    // label of the battery used; if none is given, that of the dive before
	Lines    []Line
}

// String returns the label of a dive, with its day if that is known.
func (d *Dive) String() string {
	if day := d.Day(); day != "" {
		return fmt.Sprintf("%s (%s)", d.Label, day)
	}
	return d.Label
}

// Day returns the ISO 8601 day of a dive, "" if it is not known.
func (d *Dive) Day() string {
	if d.Date.IsZero() {
		return ""
	}
	return d.Date.Format(time.DateOnly)
}

// KeepsDays reports whether a new dive's day is written: whether the log has a column for it, or no
// columns yet.
func (l *Log) KeepsDays() bool { return len(l.Columns) == 0 || slices.Contains(l.Columns, "date") }

// Latest returns the day of the last dive that has one, zero for none.
func (l *Log) Latest() time.Time {
	for _, d := range slices.Backward(l.Dives) {
		if !d.Date.IsZero() {
			return d.Date
		}
	}
	return time.Time{}
}

// A Drive is one thruster that ran on a line. Reversed means astern for a surge thruster, down for
// a heave thruster.
type Drive struct {
	Name     string
	Reversed bool
}

// Signs returns for each of names whether that thruster ran: 0 off, 1 ahead or up, −1 astern or
// down. unknown is the first thruster that is not in names, "" for none.
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

// A Value is a number that may not have been measured. The zero Value is not measured.
type Value struct {
	X       float64 // base unit
	Entered float64 // as written, in the column's unit
	Column  *Column // column in which it was written; nil: not measured
	Run     float64 // m, distance of a timed run or climb, for which Entered is the seconds
}

// Measured reports whether there is a number.
func (v Value) Measured() bool { return v.Column != nil }

// EnteredFor returns the number that v's cell would hold if the quantity were base, in the base
// unit. For a timed run that is the seconds, with both ways scaled alike if both were timed, and
// +Inf for a speed of 0. If v was not measured, it returns base.
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

// A Line is one observation: the circumstances in which it was made, then what was read. Cells
// that carry forward hold the carried value.
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
	TetherOut Value // m paid out; not measured if no line of the dive has given it so far
	WaterC    Value // °C, carried forward within the dive

	Readings [quantity.Count]Value // what instruments read; a speed or climb may come from a timed run
	Back     Value                 // m/s of a timed run the other way; Entered is its seconds
	Half     [2]*Column            // a cell of a timed run or climb, and the empty one without which it says nothing; nil: none
}

// Put stores v as the value of its column's quantity.
func (l *Line) Put(v Value) {
	if !v.Measured() {
		return
	}
	if to := l.at(v.Column); to != nil {
		*to = v
	}
}

// of returns the value of a column's quantity, zero if at is nil.
func (l *Line) of(c *Column) Value {
	if at := l.at(c); at != nil {
		return *at
	}
	return Value{}
}

// PutRun stores a timed run or climb, given the distance in m, the seconds out and, if measured,
// those back. With both, the speed is the mean of the two speeds, so that a steady current cancels.
// It would not cancel in distance over mean time.
func (l *Line) PutRun(q quantity.Quantity, distance, out, back Value) {
	v := Value{X: distance.X / out.X, Entered: out.Entered, Column: out.Column, Run: distance.X}
	if back.Measured() {
		l.Back = Value{X: distance.X / back.X, Entered: back.Entered, Column: back.Column, Run: distance.X}
		v.X = (v.X + l.Back.X) / 2
	}
	l.Readings[q] = v
}

// at returns a pointer to the value of a column's quantity. It is nil for text, ballast, salinity
// and the distance of a timed run or climb.
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

// Runs returns the speeds of a timed run out and back, m/s. back is not measured if the run was
// timed one way; neither is measured if the speed was not timed.
func (l *Line) Runs() (out, back Value) {
	out = l.Readings[quantity.Speed]
	if !out.Measured() || !out.Column.timed() {
		return Value{}, Value{}
	}
	out.X = out.Run / out.Entered
	return out, l.Back
}

// BallastColumn returns the name of the column that ballast is written in.
func (l *Log) BallastColumn() string {
	if slices.Contains(l.Columns, "ballast_oz") {
		return "ballast_oz"
	}
	return "ballast_g"
}

// LastBallastG returns the running ballast after a log's last line, g.
func (l *Log) LastBallastG() float64 { return l.lastLine().BallastG }

// lastLine returns a log's last line, the zero Line if there is none.
func (l *Log) lastLine() (last Line) {
	if n := len(l.Dives); n > 0 {
		lines := l.Dives[n-1].Lines
		last = lines[len(lines)-1]
	}
	return last
}

// Batteries returns the different battery labels of the dives, "" among them if a dive has none.
func (l *Log) Batteries() (labels []string) {
	for i := range l.Dives {
		if b := l.Dives[i].Battery; !slices.Contains(labels, b) {
			labels = append(labels, b)
		}
	}
	return labels
}

// LastBattery returns the battery label of a log's last dive.
func (l *Log) LastBattery() string {
	if len(l.Dives) == 0 {
		return ""
	}
	return l.Dives[len(l.Dives)-1].Battery
}

// Newest returns a log's last reading of a quantity, in its base unit; ok is false for none.
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

// SaltiestPSU returns the greatest salinity in a log, psu.
func (l *Log) SaltiestPSU() (salinity float64) {
	for i := range l.Dives {
		for _, line := range l.Dives[i].Lines {
			salinity = max(salinity, line.Salinity)
		}
	}
	return salinity
}

// NewestSalinityPSU returns the salinity at the end of the newest dive, psu; 0 if there is none.
func (l *Log) NewestSalinityPSU() float64 { return l.lastLine().Salinity }

// Lit reports whether the lights are on in any line.
func (l *Log) Lit() bool {
	return slices.ContainsFunc(l.Dives, func(d Dive) bool { return slices.ContainsFunc(d.Lines, func(l Line) bool { return l.Lights }) })
}

// NewestWaterC returns the water's temperature at the end of the newest dive that read it, °C.
func (l *Log) NewestWaterC() (c float64, ok bool) {
	for d := len(l.Dives) - 1; d >= 0; d-- {
		lines := l.Dives[d].Lines
		if w := lines[len(lines)-1].WaterC; w.Measured() {
			return w.X, true
		}
	}
	return 0, false
}

// DeepestM returns the greatest depth in a log, m.
func (l *Log) DeepestM() (depth float64) {
	for i := range l.Dives {
		for _, line := range l.Dives[i].Lines {
			depth = max(depth, line.Depth.X)
		}
	}
	return depth
}
