package session

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"sagline/session/problem"
)

// Parts are what a service can be done to.
var Parts = []string{"tether", "joint", "thruster", "propeller", "seal", "battery", "ballast"}

// builder turns rows into dives, carrying forward what carries.
type builder struct {
	log     *Log
	all     *problem.List
	has     []*Column
	file    string
	seen    map[string]int // label → line
	ballast float64
	clock   float64 // minutes of the dive's first clock, −1 before it
	before  float64 // last minute
}

func (b *builder) add(r *row) {
	label, col := r.word("dive")
	if label == "" {
		r.bad(col, "empty, want the dive's label")
		return
	}
	d := b.dive(r, label, col)
	l := Line{Number: r.line, Note: first(r.word("note"))}
	b.minute(r, &l)
	l.Lights, l.Held = r.yes("lights", "on", "off"), r.yes("held", "yes", "no")
	b.drives(r, &l)
	l.Depth, l.TetherOut = r.value("depth"), r.value("tether")
	l.WaterC = r.value("water")
	salt := r.value("salinity")
	l.Salinity = salt.X
	if n := len(d.Lines); n > 0 {
		last := &d.Lines[n-1]
		if !l.TetherOut.Measured() {
			l.TetherOut = last.TetherOut
		}
		if !l.WaterC.Measured() {
			l.WaterC = last.WaterC
		}
		if !salt.Measured() {
			l.Salinity = last.Salinity
		}
	}
	b.ballast += r.value("ballast").X
	l.BallastG = b.ballast
	b.services(r, &l)
	b.readings(r, &l)
	d.Lines = append(d.Lines, l)
}

func first(s string, _ *Column) string { return s }

// dive is the dive that a row belongs to, begun if the label is new.
func (b *builder) dive(r *row, label string, col *Column) *Dive {
	text, dateCol := r.word("date")
	var day time.Time
	if text != "" {
		t, err := time.Parse(time.DateOnly, text)
		if err != nil {
			r.bad(dateCol, "found %s, want a day as 2026-05-31", problem.Quote(text))
		} else {
			day = t
		}
	}
	n := len(b.log.Dives)
	if n > 0 && b.log.Dives[n-1].Label == label {
		if d := &b.log.Dives[n-1]; !day.IsZero() && !day.Equal(d.Date) {
			r.bad(dateCol, "found %s within a dive of %s, want one day a dive", text, d.Date.Format(time.DateOnly))
		}
		return &b.log.Dives[n-1]
	}
	if b.seen == nil {
		b.seen = map[string]int{}
	}
	if at, again := b.seen[label]; again {
		r.bad(col, "dive %s began on line %d already, want the lines of a dive together", problem.Quote(label), at)
	}
	b.seen[label] = r.line
	switch {
	case dateCol == nil:
		b.all.Add(b.file, r.line, `column "date"`, "missing from the header, want the day of each dive")
	case text == "":
		r.bad(dateCol, "empty, want the day on a dive's first line")
	case n > 0 && !day.IsZero() && day.Before(b.log.Dives[n-1].Date):
		r.bad(dateCol, "found %s after %s, want dates in order", text, b.log.Dives[n-1].Date.Format(time.DateOnly))
	}
	b.log.Dives = append(b.log.Dives, Dive{Label: label, Date: day})
	b.clock, b.before = -1, 0
	return &b.log.Dives[n]
}

// minute reads minutes or the clock since the dive's first.
func (b *builder) minute(r *row, l *Line) {
	l.Minute = r.value("minute")
	if text, col := r.word("minute"); text != "" {
		t, err := time.Parse("15:04", text)
		if err != nil {
			r.bad(col, "found %s, want the clock as hh:mm", problem.Quote(text))
			return
		}
		if l.Minute.Measured() {
			r.bad(col, "given beside minute, want one of them")
			return
		}
		now := float64(t.Hour()*60 + t.Minute())
		if b.clock < 0 {
			b.clock = now
		}
		since := now - b.clock
		if since < 0 {
			since += 24 * 60
		}
		l.Minute = Value{X: since, Entered: since, Column: col}
	}
	if l.Minute.Measured() {
		if l.Minute.X < b.before {
			r.bad(l.Minute.Column, "found minute %g after %g, want times in order", l.Minute.X, b.before)
		}
		b.before = l.Minute.X
	}
}

// drives reads which thrusters ran.
func (b *builder) drives(r *row, l *Line) {
	text, col := r.word("thrusters")
	if text == "" {
		return
	}
	l.Electrical = true
	if strings.EqualFold(text, "off") {
		return
	}
	for part := range strings.SplitSeq(text, "+") {
		words := strings.Fields(part)
		d := Drive{}
		if n := len(words); n > 1 && (strings.EqualFold(words[n-1], "astern") || strings.EqualFold(words[n-1], "down")) {
			d.Reversed, words = true, words[:n-1]
		}
		d.Name = strings.Join(words, " ")
		if d.Name == "" {
			r.bad(col, "found %s, want names joined by +", problem.Quote(text))
			return
		}
		if slices.ContainsFunc(l.Drives, func(o Drive) bool { return o.Name == d.Name }) {
			r.bad(col, "found %q twice, want it once", d.Name)
		}
		l.Drives = append(l.Drives, d)
	}
}

func (b *builder) services(r *row, l *Line) {
	text, col := r.word("serviced")
	if text == "" {
		return
	}
	for part := range strings.SplitSeq(text, "+") {
		p := strings.ToLower(strings.TrimSpace(part))
		if !slices.Contains(Parts, p) {
			r.bad(col, "found %s, want parts from %s%s", problem.Quote(part), strings.Join(Parts, ", "), problem.Suggest(p, Parts))
			continue
		}
		l.Serviced = append(l.Serviced, p)
	}
}

// readings fills in what instruments read; speeds may be timed runs.
func (b *builder) readings(r *row, l *Line) {
	for q, name := range quantityNames {
		l.Readings[q] = r.value(name)
	}
	run, out, back := r.value("run"), r.value("run time"), r.value("run back")
	timed(r, &l.Readings[Speed], run, out, back, "run_m", "run_s")
	timed(r, &l.Readings[Climb], r.value("climbed"), r.value("climb time"), Value{}, "climb_m", "climb_s")
}

// timed is a speed from a distance and its time; with both directions timed,
// the mean of the two speeds, so that a steady current cancels.
func timed(r *row, speed *Value, run, out, back Value, runName, timeName string) {
	if !run.Measured() && !out.Measured() && !back.Measured() {
		return
	}
	switch {
	case !out.Measured():
		c := run.Column
		if c == nil {
			c = back.Column
		}
		r.bad(c, "given without %s, want both", timeName)
	case !run.Measured():
		r.bad(out.Column, "given without %s, want both", runName)
	case speed.Measured():
		r.bad(out.Column, "given beside %s, want one of them", speed.Column.Name)
	default:
		x, length := run.X/out.X, run.X
		if back.Measured() {
			x = (run.X/out.X + run.X/back.X) / 2
		}
		*speed = Value{X: x, Entered: out.X, Column: out.Column, Run: length}
		if back.Measured() {
			speed.Run = x * out.X // what the way out alone would have been at the mean speed
		}
	}
}

// String is the day and label of a dive.
func (d *Dive) String() string { return fmt.Sprintf("%s (%s)", d.Label, d.Date.Format(time.DateOnly)) }

// quantityNames are the readings as the table of columns names them.
var quantityNames = [Quantities]string{BatteryV: "battery", CurrentA: "current", VehicleV: "vehicle", Speed: "speed",
	Climb: "climb", Trim: "trim", Pull: "pull", LoopOhm: "loop", Insulation: "insulation"}
