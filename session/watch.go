package session

import (
	"time"

	"sagline/session/problem"
)

// watch tells the minutes of one dive, from minutes or from a clock. The zero
// watch begins a dive.
type watch struct {
	last  Value   // the last minute that was measured
	clock float64 // minutes after midnight that the last clock showed
}

const (
	dayMinutes = 24 * 60

	// mostNight is how much later a clock that went past midnight may be, in
	// minutes. A clock set back by a slip of the pen would otherwise be read as
	// almost a day later.
	mostNight = 12 * 60
)

// minute reads a row's minutes or clock, and tells when time goes backwards.
func (w *watch) minute(r *row, minutes, clocks *Column) Value {
	v, unreadable := r.value(minutes)
	if text := r.word(clocks); text != "" {
		if v.Measured() || unreadable {
			r.bad(clocks, "given beside %q, want one of them", minutes.Name)
			return v
		}
		return w.hour(r, clocks, text)
	}
	if !v.Measured() {
		return v
	}
	if w.mixed(r, v) {
		return v
	}
	if w.last.Measured() && v.X < w.last.X {
		r.bad(minutes, "found minute %g after %g, want times in order", v.X, w.last.X)
	}
	w.last = v
	return v
}

// hour reads a clock as the minutes since the dive's first.
func (w *watch) hour(r *row, clocks *Column, text string) Value {
	t, err := time.Parse("15:04", text)
	if err != nil {
		t, err = time.Parse("15:04:05", text) // as spreadsheets write a time of day
	}
	if err != nil {
		r.bad(clocks, "found %s, want the clock as hh:mm", problem.Quote(text))
		return Value{}
	}
	now := t.Sub(t.Truncate(24 * time.Hour)).Minutes()
	v := Value{Entered: now, Column: clocks}
	if w.mixed(r, v) {
		return v
	}
	if w.last.Measured() {
		since := now - w.clock
		if since < 0 {
			since += dayMinutes
			if since > mostNight {
				r.bad(clocks, "found %s after %s, want times in order", text, clockText(w.clock))
			}
		}
		v.X = w.last.X + since
	}
	w.last, w.clock = v, now
	return v
}

// mixed tells of a dive that has both minutes and clocks: minute 0 is when the
// dive began, which no clock says.
func (w *watch) mixed(r *row, v Value) bool {
	if !w.last.Measured() || w.last.Column == v.Column {
		return false
	}
	r.bad(v.Column, "given in a dive with %q, want one of them in a dive", w.last.Column.Name)
	return true
}
