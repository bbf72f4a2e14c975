package session

import (
	"fmt"
	"math"
	"time"

	"sagline/session/problem"
	"sagline/session/quantity"
)

// diveClock turns the minutes or clock times of one dive's rows into minutes since the dive began.
// The zero diveClock begins a dive.
type diveClock struct {
	last Value   // the last measured minute
	hour float64 // the last clock time, in minutes after midnight
}

const (
	dayMinutes = 24 * 60

	// mostNight is the longest time between two clocks across midnight, in minutes: common practice,
	// no source. Without it, a clock that a slip sets back would be read as almost a day later.
	mostNight = 12 * 60
)

// minute reads a row's minutes or clock. Times that go backwards are a problem.
func (d *diveClock) minute(r *row, minutes, clocks *Column) Value {
	v, unreadable := r.value(minutes)
	if text := r.word(clocks); text != "" {
		if v.Measured() || unreadable {
			r.bad(clocks, "given beside %q, want one of them", minutes.Name)
			return v
		}
		return d.clock(r, clocks, text)
	}
	if !v.Measured() || d.mixed(r, v) {
		return v
	}
	if d.last.Measured() && v.X < d.last.X {
		r.bad(minutes, "found minute %g after %g, want times in order", v.X, d.last.X)
	}
	d.last = v
	return v
}

// clock reads a clock time as minutes since the dive's first clock time.
func (d *diveClock) clock(r *row, clocks *Column, text string) Value {
	now, ok := clockMinutes(text)
	if !ok {
		r.bad(clocks, "found %s, want the clock as hh:mm", problem.Quote(text))
		return Value{}
	}
	v := Value{Entered: now, Column: clocks}
	if d.mixed(r, v) {
		return v
	}
	if d.last.Measured() {
		since := now - d.hour
		if since < 0 {
			since += dayMinutes
			if since > mostNight {
				r.bad(clocks, "found %s after %s, want times in order", text, ClockText(d.hour))
			}
		}
		v.X = d.last.X + since
	}
	d.last, d.hour = v, now
	return v
}

// clockMinutes reads a clock time as minutes after midnight.
func clockMinutes(text string) (minutes float64, ok bool) {
	t, err := time.Parse("15:04", text)
	if err != nil {
		t, err = time.Parse("15:04:05", text) // as spreadsheets write a time of day
	}
	return t.Sub(t.Truncate(24 * time.Hour)).Minutes(), err == nil
}

// mixed reports whether a dive has both minutes and clock times. That is a problem: minutes count
// from the beginning of the dive, which no clock time gives.
func (d *diveClock) mixed(r *row, v Value) bool {
	if !d.last.Measured() || d.last.Column == v.Column {
		return false
	}
	r.bad(v.Column, "given in a dive with %q, want one of them in a dive", d.last.Column.Name)
	return true
}

// ClockText formats minutes after midnight as hh:mm, or hh:mm:ss if there are seconds.
func ClockText(minutes float64) string {
	s := int(math.Round(minutes * 60))
	if s%60 != 0 {
		return fmt.Sprintf("%02d:%02d:%02d", s/3600, s/60%60, s%60)
	}
	return fmt.Sprintf("%02d:%02d", s/3600, s/60%60)
}

// timing holds the columns of a timed run or climb, each nil if the file lacks it. back is always
// nil for a climb.
type timing struct {
	distance, out, back *Column
	distances, time     string // names for messages if the file lacks the columns
}

// timed reads a timed run or climb into l.
func (b *builder) timed(l *Line, q quantity.Quantity, t timing) {
	run, badRun := b.value(t.distance)
	out, badOut := b.value(t.out)
	back, badBack := b.value(t.back)
	if badRun || badOut || badBack {
		return // already reported, and it is unclear whether another cell is missing
	}
	direct := b.has[q.String()]
	half := func(given, empty *Column, missing string) { // a cell that is left empty is not measured
		if l.Half = [2]*Column{given, empty}; empty == nil {
			b.bad(given, "given without %s, want both", missing)
		}
	}
	switch {
	case !run.Measured() && !out.Measured() && !back.Measured():
	case !out.Measured() && back.Measured():
		half(t.back, t.out, t.time)
	case !out.Measured():
		half(t.distance, t.out, t.time)
	case !run.Measured():
		half(t.out, t.distance, t.distances)
	case clean(b.text(direct)) != "":
		b.bad(t.out, "given beside %q, want one of them", direct.Name)
	default:
		l.PutRun(q, run, out, back)
		limit := byName["speed_m_s"].Highest
		if v := l.Readings[q]; math.Abs(v.X) > limit {
			b.bad(v.Column, "found %.6g m in %g s, want at most %g m/s", v.Run, v.Entered, limit)
		}
	}
}
