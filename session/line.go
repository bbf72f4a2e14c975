package session

import "sagline/session/quantity"

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

// Put writes a value where its column has it, in the place of what was there.
func (l *Line) Put(v Value) {
	if !v.Measured() {
		return
	}
	if to := l.at(v.Column.Quantity); to != nil {
		*to = v
	}
}

// PutRun writes a timed run of a speed, or a timed climb: the distance, the
// seconds out and, where they were timed, those back. With both directions
// timed it is the mean of the two speeds, so that a steady current cancels;
// distance over the mean time would not do that.
func (l *Line) PutRun(q quantity.Quantity, distance, out, back Value) {
	v := Value{X: distance.X / out.X, Entered: out.Entered, Column: out.Column, Run: distance.X}
	if back.Measured() {
		l.Back = Value{X: distance.X / back.X, Entered: back.Entered, Column: back.Column, Run: distance.X}
		v.X = (v.X + l.Back.X) / 2
	}
	l.Readings[q] = v
}

// at is the value of a quantity of the table of columns; nil for what is text,
// added up, or half of a timed run.
func (l *Line) at(name string) *Value {
	switch name {
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
	if q, ok := readingOf(name); ok {
		return &l.Readings[q]
	}
	return nil
}

// Runs are the speeds of a timed run out and back, m/s each; back is not
// measured where it was timed one way, neither where the speed was not timed.
func (l *Line) Runs() (out, back Value) {
	out = l.Readings[quantity.Speed]
	if !out.Measured() || !out.Column.timed() {
		return Value{}, Value{}
	}
	out.X = out.Run / out.Entered
	return out, l.Back
}
