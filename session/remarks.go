package session

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"sagline/session/problem"
	"sagline/session/quantity"
)

// Limits beyond which a log is odd; all are common practice, no source.
const (
	waterStepC   = 6.0  // °C within a dive: more than most thermoclines of small waters
	waterJumpC   = 10.0 // °C from dive to dive within a week
	warmestC     = 32.0 // °C that open water seldom exceeds
	saltStepPSU  = 5.0  // psu within a dive
	voltsApart   = 0.2  // V by which a vehicle may seem to be above its battery
	longestPause = 400 * 24 * time.Hour
	fewestCopied = 3 // readings of a line that hardly ever all repeat by chance
	fewestOfDive = 8 // readings of a dive that hardly ever all repeat by chance
	stuckLines   = 6 // lines within which a working instrument changes its last digit
)

// Remarks returns what is odd within a log. Such a log can be used, but a person will want to look
// at it again.
func (l *Log) Remarks() problem.List {
	r := remarker{log: l, all: problem.Remarks{File: l.File}}
	for d := range l.Dives {
		dive := &l.Dives[d]
		r.pauses(d)
		r.unrested(dive)
		for i := range dive.Lines {
			r.line(&dive.Lines[i])
			if i > 0 {
				r.steps(&dive.Lines[i-1], &dive.Lines[i])
			}
		}
		r.stuck(dive)
	}
	r.repeated()
	r.undated()
	r.ballast()
	r.unfilled()
	return r.all.List()
}

type remarker struct {
	log *Log
	all problem.Remarks
}

func (r *remarker) add(kind string, line int, column, format string, args ...any) {
	r.all.Add(kind, line, named(column), format, args...)
}

// pauses compares the date and water temperature of a dive with those of the dive before.
func (r *remarker) pauses(d int) {
	if d == 0 {
		return
	}
	before, now := &r.log.Dives[d-1], &r.log.Dives[d]
	if before.Day() == "" || now.Day() == "" {
		return
	}
	gap, line := now.Date.Sub(before.Date), now.Lines[0].Number
	if gap > longestPause {
		r.add("pause", line, "date", "found %s, %.0f days after the dive before: is the year right?", now.Day(), gap.Hours()/24)
	}
	last, first := before.Lines[len(before.Lines)-1].WaterC, firstWater(now)
	if last.Measured() && first.Measured() && gap <= 7*24*time.Hour && math.Abs(first.X-last.X) > waterJumpC {
		r.add("water", line, first.Column.Name, "found %g %s, %g %s at the end of the dive of %s: another water, or a slip?",
			first.Entered, first.Column.Unit, last.Entered, last.Column.Unit, before.Day())
	}
}

// undated finds dives without a day in a log that has days, since a mistyped label within a dive
// begins a new one, and dives with a day out of order.
func (r *remarker) undated() {
	if r.log.Latest().IsZero() {
		return
	}
	for _, d := range r.log.Dives {
		switch {
		case !d.Misdated.IsZero():
			r.add("misdated", d.Lines[0].Number, "date", "%s: a slip? taken as not written down", d.misdated())
		case d.Day() == "":
			r.add("undated", d.Lines[0].Number, "date", "empty on the first line of dive %s, and other dives have their day: not known, or is the label a slip?", problem.Quote(d.Label))
		}
	}
}

// misdated describes a day that is out of order.
func (d *Dive) misdated() string {
	return fmt.Sprintf("found %s, want a day in order with the dives before and after dive %s", d.Misdated.Format(time.DateOnly), problem.Quote(d.Label))
}

func firstWater(d *Dive) Value {
	for i := range d.Lines {
		if d.Lines[i].WaterC.Measured() {
			return d.Lines[i].WaterC
		}
	}
	return Value{}
}

// unrested finds a dive in which the battery was never read at rest. Every voltage drop under load
// is then judged from a guess.
func (r *remarker) unrested(d *Dive) {
	loaded := false
	for _, l := range d.Lines {
		if !l.Electrical || !l.Readings[quantity.BatteryV].Measured() {
			continue
		}
		if len(l.Drives) == 0 {
			return
		}
		loaded = true
	}
	if loaded {
		r.add("rest", d.Lines[0].Number, "battery_v", "no reading at rest in dive %s: with thrusters off it is what the others fall from", problem.Quote(d.Label))
	}
}

// line compares a line's cells with each other.
func (r *remarker) line(l *Line) {
	if l.Depth.Measured() && l.TetherOut.Measured() && l.Depth.X > l.TetherOut.X {
		r.add("depth", l.Number, l.Depth.Column.Name, "found %g %s with %g %s of tether paid out: one of them is a slip",
			l.Depth.Entered, l.Depth.Column.Unit, l.TetherOut.Entered, l.TetherOut.Column.Unit)
	}
	bat, veh := l.Readings[quantity.BatteryV], l.Readings[quantity.VehicleV]
	if bat.Measured() && veh.Measured() && veh.X > bat.X+voltsApart && veh.X < 2*bat.X { // beyond that, a decimal point has slipped
		r.add("volts", l.Number, "vehicle_v", "found %g V, above the battery's %g V: swapped?", veh.Entered, bat.Entered)
	}
	if given, empty := l.Half[0], l.Half[1]; empty != nil {
		r.add("half", l.Number, given.Name, "given without %s: nothing was read", empty.Name)
	}
	if !l.Electrical {
		for _, q := range []quantity.Quantity{quantity.BatteryV, quantity.CurrentA, quantity.VehicleV} {
			if v := l.Readings[q]; v.Measured() {
				r.add("unsaid", l.Number, "thrusters", "empty beside %s, so that is not compared: write off, or which ran", v.Column.Name)
				break
			}
		}
	}
	if w := l.WaterC; w.Measured() && w.X > warmestC {
		r.add("warm", l.Number, w.Column.Name, "found %g %s, warmer than open water is: the right unit?", w.Entered, w.Column.Unit)
	}
}

// steps compares a line with the one before it in its dive.
func (r *remarker) steps(before, l *Line) {
	if from, to := before.WaterC, l.WaterC; from.Measured() && math.Abs(to.X-from.X) > waterStepC {
		r.add("water", l.Number, to.Column.Name, "found %g %s after %g %s in the same dive: a layer of other water, or a slip?",
			to.Entered, to.Column.Unit, from.Entered, from.Column.Unit)
	}
	if math.Abs(l.Salinity-before.Salinity) > saltStepPSU {
		r.add("salt", l.Number, "salinity_psu", "found %g after %g in the same dive: the vehicle floats by as much more or less as its water weighs",
			l.Salinity, before.Salinity)
	}
	if n := readTwice(before, l); n >= fewestCopied {
		r.all.Add("copied", l.Number, "", "all %d readings are those of line %d: taken anew, or copied down?", n, before.Number)
	}
}

// readTwice returns the number of readings of two lines if all of them agree, else 0.
func readTwice(a, b *Line) (n int) {
	for q := range quantity.Count {
		x, y := a.Readings[q], b.Readings[q]
		if x.Measured() != y.Measured() || x.X != y.X {
			return 0
		}
		if x.Measured() {
			n++
		}
	}
	return n
}

// repeated finds dives whose readings agree with an earlier dive to the last digit, line for line.
// A dive that was imported or pasted twice counts twice.
func (r *remarker) repeated() {
	first := map[string]*Dive{}
	for d := range r.log.Dives {
		dive := &r.log.Dives[d]
		var all strings.Builder
		n := 0
		for i := range dive.Lines {
			l := &dive.Lines[i]
			fmt.Fprintln(&all, l.Drives, l.Held, l.Lights, l.Minute.X, l.Depth.X)
			for q := range quantity.Count {
				if v := l.Readings[q]; v.Measured() {
					fmt.Fprintln(&all, q, v.X)
					n++
				}
			}
		}
		if n < fewestOfDive {
			continue
		}
		if before := first[all.String()]; before != nil {
			r.add("repeated", dive.Lines[0].Number, "dive", "all %d readings of dive %s are those of dive %s: written down twice?", n, problem.Quote(dive.Label), problem.Quote(before.Label))
			continue
		}
		first[all.String()] = dive
	}
}

// stuck finds an instrument that reads the same on several lines while thrusters go on and off.
func (r *remarker) stuck(d *Dive) {
	for _, q := range []quantity.Quantity{quantity.BatteryV, quantity.CurrentA, quantity.VehicleV} {
		var run []*Line
		for i := range d.Lines {
			l := &d.Lines[i]
			v := l.Readings[q]
			if !v.Measured() {
				continue
			}
			if len(run) > 0 && run[0].Readings[q].X != v.X {
				run = run[:0]
			}
			run = append(run, l)
			runs := func(l *Line) bool { return len(l.Drives) > 0 }
			rests := func(l *Line) bool { return len(l.Drives) == 0 }
			if len(run) == stuckLines && slices.ContainsFunc(run, runs) && slices.ContainsFunc(run, rests) {
				r.add("stuck", l.Number, v.Column.Name, "found %g %d times from line %d on, whatever ran: does the instrument still work?", v.Entered, len(run), run[0].Number)
			}
		}
	}
}

// ballast finds ballast that was moved without a weighing between the last move and this one, or
// between this one and the next. The effect of the move then looks like water taken in.
func (r *remarker) ballast() {
	weighed, total := false, 0.0
	var moved *Line // a move not yet followed by a weighing
	for d := range r.log.Dives {
		lines := r.log.Dives[d].Lines
		for i := range lines {
			l := &lines[i]
			if l.BallastG != total {
				if moved != nil {
					r.moved(moved, "after")
				}
				moved = l
				if !weighed && (d > 0 || i > 0) {
					r.moved(l, "before")
					moved = nil
				}
				weighed, total = false, l.BallastG
			}
			if l.Readings[quantity.Trim].Measured() || l.Readings[quantity.Climb].Measured() {
				weighed, moved = true, nil
			}
		}
	}
	if moved != nil {
		r.moved(moved, "after")
	}
}

func (r *remarker) moved(l *Line, side string) {
	r.add("ballast", l.Number, r.log.BallastColumn(), "moved with no trim weight or free climb read %s it: the next leak is judged from a guess", side)
}

// divesToJudge is the least number of dives for a remark on a column that is never filled: common
// practice, no source.
const divesToJudge = 3

// unfilled finds columns of readings that no line fills.
func (r *remarker) unfilled() {
	if len(r.log.Dives) < divesToJudge {
		return
	}
	unread := r.log.Unread()
	for _, name := range r.log.Columns {
		if c, ok := Find(name); ok && c.reads && slices.Contains(unread, c.reading) {
			r.add("unfilled "+name, r.log.Header, name, "never filled: leave it out, or read it (%s)", c.Help)
		}
	}
}
