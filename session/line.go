package session

import "sagline/session/quantity"

// A Line is one observation: the circumstances it was made in, then what was
// read. What is carried forward is the carried value. Its numbers are held as
// they were entered, those alone that were: a long log fills the memory with
// lines.
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

	cells []cell
}

// A cell is a number as it was entered.
type cell struct {
	entered float64
	column  uint8 // of columns
}

// A kind is a quantity of the table of columns as a number: a line's own kinds
// come first, the readings' among them as they are numbered.
type kind uint8

const (
	minute kind = iota + kind(quantity.Count)
	clock
	depth
	tether
	water
	run
	runTime
	runBack
	climbed
	climbTime
	noKind // of a column that is no cell: text, or what is added up
)

var kindNames = [...]string{minute: "minute", clock: "clock", depth: "depth", tether: "tether", water: "water", run: "run",
	runTime: "run time", runBack: "run back", climbed: "climbed", climbTime: "climb time"}

func kindOf(quantity string) kind {
	for q, name := range quantityNames {
		if name == quantity {
			return kind(q)
		}
	}
	for k, name := range kindNames {
		if name != "" && name == quantity {
			return kind(k)
		}
	}
	return noKind
}

// Minute is how long the dive had lasted, min.
func (l *Line) Minute() Value {
	v := l.value(minute)
	if c := l.value(clock); c.Measured() { // beside it stands what it comes to
		v.Entered, v.Column = c.Entered, c.Column
	}
	return v
}

// Depth is in m.
func (l *Line) Depth() Value { return l.value(depth) }

// TetherOut is in m paid out; not measured, it is the whole length.
func (l *Line) TetherOut() Value { return l.value(tether) }

// WaterC is in °C, carried forward within the dive.
func (l *Line) WaterC() Value { return l.value(water) }

// Reading is what an instrument read; a speed or a climb may have been timed.
func (l *Line) Reading(q quantity.Quantity) Value {
	v := l.value(kind(q))
	switch {
	case v.Measured():
		return v
	case q == quantity.Speed:
		return l.timed(run, runTime, runBack)
	case q == quantity.Climb:
		return l.timed(climbed, climbTime, noKind)
	}
	return v
}

// timed is the speed of a timed run or climb; not measured without both its
// distance and its time.
func (l *Line) timed(distance, time, back kind) Value {
	over, out := l.value(distance), l.value(time)
	if !over.Measured() || !out.Measured() {
		return Value{}
	}
	return Value{X: meanSpeed(over.X, out.X, l.value(back).X), Entered: out.Entered, Column: out.Column, Run: over.X}
}

// Put writes a value where its column has it, in the place of what was there:
// as it was entered, but a clock's minutes as they are.
func (l *Line) Put(v Value) {
	switch {
	case !v.Measured():
		return
	case v.Column.kind == clock:
		l.put(byName["minute"], v.X)
	}
	l.put(v.Column, v.Entered)
}

func (l *Line) put(c *Column, entered float64) {
	for i := range l.cells {
		if columns[l.cells[i].column].kind == c.kind {
			l.cells[i] = cell{entered, uint8(c.field)}
			return
		}
	}
	l.cells = append(l.cells, cell{entered, uint8(c.field)})
}

// value is a cell of a kind in its base unit.
func (l *Line) value(k kind) Value {
	for i := range l.cells {
		if c := columns[l.cells[i].column]; c.kind == k {
			x := l.cells[i].entered
			return Value{X: c.ToBase(x), Entered: x, Column: c}
		}
	}
	return Value{}
}
