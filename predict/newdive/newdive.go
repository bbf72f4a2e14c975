// Package newdive helps while a dive is written down: which columns its lines have, what each
// reading should be, and which readings are in doubt. It assumes that a written line is what the
// person wants there, whatever was expected, and that a dive goes much like those before it. It
// knows no screen and no file.
package newdive

import (
	"errors"
	"maps"
	"slices"
	"strings"

	"sagline/predict/forecast"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/problem"
	"sagline/session/quantity"
	"sagline/session/shorthand"
	"sagline/session/units"
)

// A Dive is a dive that is being written down.
type Dive struct {
	Log    *session.Log // as it was before
	Reader *shorthand.Reader
	Units  units.System // for columns that the log does not have yet
	Label  string
	Rows   []session.Row // the dive's lines so far
	Plan   []session.Row // lines of the dive before, whose order is likely again

	rows    func(*session.Dive) []session.Row
	recent  []session.Row      // lines of the newest dives
	ballast float64            // g, on the vehicle before the dive
	battery string             // label of the one that the dive before used
	stood   map[string]int     // by column: how often the person left a doubted reading as it was
	tetherM float64            // the greatest length of the tether, 0: not known
	unlit   bool               // whether neither the vehicle's file nor a line says what lights draw
	start   *forecast.Forecast // nil: nothing is expected
	now     *forecast.Forecast // after the dive's lines so far
}

// recentDives is how many dives tell which columns are in use: common practice, no source.
const recentDives = 10

// New prepares the dive that follows a log; Begin starts it. rows returns a dive's lines as they
// stand in the file. f is nil if nothing is expected, v if the vehicle is not known.
func New(log *session.Log, f *forecast.Forecast, v *vehicle.Vehicle, rows func(*session.Dive) []session.Row) *Dive {
	d := &Dive{Log: log, start: f, Units: units.Metric, rows: rows}
	if v != nil {
		d.Units, d.tetherM = v.Units, v.Next(log.Labels()).MostTetherM()
	}
	first, later := map[string]int{}, map[string]int{}
	for i := max(0, len(log.Dives)-recentDives); i < len(log.Dives); i++ {
		of := rows(&log.Dives[i])
		for k, row := range of {
			for name := range row {
				if k == 0 {
					first[name]++
				} else {
					later[name]++
				}
			}
		}
		d.recent = append(d.recent, of...)
	}
	d.Reader = &shorthand.Reader{Thrusters: v.ThrusterNames(), Sides: v.Sides()}
	seen := map[string]bool{}
	for _, c := range append(named(log.Columns), session.Columns()...) {
		if !seen[c.Quantity] {
			seen[c.Quantity] = true
			d.Reader.Columns = append(d.Reader.Columns, d.columnOf(c.Quantity))
		}
	}
	d.Reader.Yes = d.yes()
	d.unlit = v != nil && !v.Lights.Any() && !log.Any(func(l session.Line) bool { return l.Lights })
	for _, name := range log.Columns {
		if (first[name] > later[name] || len(log.Dives) == 0) && d.Reader.UsableName(name) {
			d.Reader.Columns = append(d.Reader.Columns, session.OwnColumn(name))
		}
	}
	return d
}

// Begin starts a dive, or continues one that the log has.
func (d *Dive) Begin(label string) {
	var had []session.Row
	d.Label, d.Rows, d.Plan, d.ballast, d.battery, d.stood = label, nil, nil, 0, "", map[string]int{}
	before := len(d.Log.Dives) - 1
	if at := d.Log.Find(label); at >= 0 {
		had, before = d.rows(&d.Log.Dives[at]), at-1
	}
	if before >= 0 {
		lines := d.Log.Dives[before].Lines
		d.Plan, d.ballast, d.battery = d.rows(&d.Log.Dives[before]), lines[len(lines)-1].BallastG, d.Log.Dives[before].Battery
	}
	d.Put(0, had...)
}

// Put replaces the lines from the i-th on.
func (d *Dive) Put(i int, rows ...session.Row) {
	d.Rows = append(slices.Clone(d.Rows[:i]), rows...)
	d.now = nil
	if d.start == nil {
		return
	}
	d.now = d.start.Clone()
	if d.another(d.Rows...) {
		d.now.AnotherBattery()
	}
	lines, _ := session.ParseRows(d.Rows...)
	for k := range lines {
		lines[k].BallastG += d.ballast
		if d.now.Learn(&lines[k]) != nil {
			d.now = nil // a thruster that the vehicle does not have: reported where it was written
			return
		}
	}
}

// another reports whether rows name another battery than the dive before used, or work on the
// battery.
func (d *Dive) another(rows ...session.Row) bool {
	return slices.ContainsFunc(rows, func(r session.Row) bool {
		parts, _ := session.Services(r["serviced"])
		return r["battery"] != "" && r["battery"] != d.battery || slices.Contains(parts, "battery")
	})
}

// with returns the dive's lines so far and one more.
func (d *Dive) with(row session.Row) []session.Row {
	row = Pruned(row)
	row["dive"] = d.Label
	return append(slices.Clone(d.Rows), row)
}

// Problem returns what keeps a row from being written after the dive's lines so far; nil if nothing
// does.
func (d *Dive) Problem(row session.Row) *problem.Problem {
	if _, list := session.ParseRows(d.with(row)...); list != nil {
		p := *list[len(list)-1]
		p.Line = 0
		return &p
	}
	return nil
}

// CellProblem returns what is wrong with one cell of a row by itself.
func (d *Dive) CellProblem(c *session.Column, row session.Row, cell string) error {
	try := timed(c, row, cell)
	if seconds := TimeOf(c); seconds != "" {
		try[seconds] = "100"
	}
	if _, list := session.ParseRows(try); list != nil {
		return errors.New(list[0].Text)
	}
	return nil
}

// Expects reports whether anything is known of what readings should be.
func (d *Dive) Expects() bool { return d.now != nil }

// Line returns a row as a line after the dive's lines so far, and what its readings should be; nil
// if nothing is expected.
func (d *Dive) Line(row session.Row) (*session.Line, []forecast.Expected) {
	lines, list := session.ParseRows(d.with(row)...)
	if list != nil {
		return &session.Line{}, nil
	}
	l := &lines[len(lines)-1]
	l.BallastG += d.ballast
	if d.now == nil {
		return l, nil
	}
	now := d.now
	if len(d.Rows) == 0 && d.another(row) {
		now = now.Clone()
		now.AnotherBattery()
	}
	expected, err := now.Line(l)
	if err != nil {
		return l, nil
	}
	return l, slices.DeleteFunc(expected, func(e forecast.Expected) bool { return d.unlit && l.Lights && e.Quantity == quantity.CurrentA })
}

// yes returns the only column in use that is answered by yes or no, nil if there are none or
// several.
func (d *Dive) yes() (only *session.Column) {
	for _, c := range d.Reader.Columns {
		switch {
		case c.Quantity != "held" && c.Quantity != "lights" || !d.used(c):
		case only != nil:
			return nil
		default:
			only = c
		}
	}
	return only
}

// Find returns the column with a name: of the table, or the log's own.
func (d *Dive) Find(name string) (*session.Column, bool) {
	if c, ok := session.Find(name); ok {
		return c, true
	}
	i := slices.IndexFunc(d.Reader.Columns, func(c *session.Column) bool { return c.Name == name })
	if i < 0 {
		return nil, false
	}
	return d.Reader.Columns[i], true
}

// columnOf returns the column for a quantity: the log's, else the one in the person's system of
// units.
func (d *Dive) columnOf(quantity string) *session.Column {
	for _, c := range named(d.Log.Columns) {
		if c.Quantity == quantity {
			return c
		}
	}
	return session.ColumnIn(quantity, d.Units)
}

// named returns the columns of the table among names.
func named(names []string) (out []*session.Column) {
	for _, n := range names {
		if c, ok := session.Find(n); ok {
			out = append(out, c)
		}
	}
	return out
}

// Pruned returns a row without empty cells and without the length of a run or climb that was not
// timed.
func Pruned(row session.Row) session.Row {
	row = maps.Clone(row)
	maps.DeleteFunc(row, func(_, text string) bool { return strings.TrimSpace(text) == "" })
	if !Has(row, "run_s") {
		for _, name := range []string{"run_m", "run_ft", "run_back_s"} {
			delete(row, name)
		}
	}
	if !Has(row, "climb_s") {
		delete(row, "climb_m")
		delete(row, "climb_ft")
	}
	return row
}

// Has reports whether a row has a cell in one of some columns.
func Has(row session.Row, names ...string) bool {
	return slices.ContainsFunc(names, func(n string) bool { return strings.TrimSpace(row[n]) != "" })
}

// Says reports whether a row has a reading, a note, a service or ballast, and not
// circumstances alone.
func Says(row session.Row) bool {
	for name, text := range row {
		_, reading := session.QuantityOf(name)
		if text != "" && (reading || slices.Contains([]string{"run_s", "climb_s", "note", "serviced", "ballast_g", "ballast_oz"}, name)) {
			return true
		}
	}
	return false
}

// mostDoubted is how many lines written at once are compared with their expected
// readings: common practice, no source. Each takes some milliseconds.
const mostDoubted = 500

// All words, a line each, the doubts about rows of dives that follow the log; location says where
// the i-th row was found.
func (d *Dive) All(rows []session.Row, location func(i int) string) (out []string) {
	for i, row := range rows[:min(len(rows), mostDoubted)] {
		if i == 0 || row["dive"] != d.Label {
			d.Begin(row["dive"])
		}
		for _, b := range d.Doubts(row) {
			out = append(out, strings.TrimSpace(location(i)+b.String()+" "+b.Meant()))
		}
		d.Put(len(d.Rows), row)
	}
	return out
}
