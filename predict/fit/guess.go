package fit

import (
	"math"
	"strconv"

	"sagline/session"
	"sagline/session/quantity"
)

// A Slip is a way in which a reading goes wrong between the dial and the log.
type Slip int

// The slips that can be guessed, the likeliest first; common practice, no
// source.
const (
	DecimalPoint  Slip = iota // one or two places away
	WrongColumn               // what another reading should be
	SwappedDigits             // 21 for 12
	WrongSign
	WrongUnit // what another column of the quantity would hold
)

// A Guess is what a surprising reading was perhaps meant to be.
type Guess struct {
	Slip     Slip
	Meant    float64           // as it would have been entered
	Quantity quantity.Quantity // WrongColumn: whose it is
	Column   *session.Column   // WrongUnit: whose unit it is in
}

// Guess finds the slip that explains a surprising reading; others is what all
// readings of its line should be. ok is false where none does.
func (e Expected) Guess(v session.Value, others []Expected) (g Guess, ok bool) {
	for _, factor := range []float64{10, 0.1, 100, 0.01} {
		if x := v.Entered * factor; e.plausible(v, x) {
			return Guess{Slip: DecimalPoint, Meant: x}, true
		}
	}
	for _, o := range others {
		if o.Quantity != e.Quantity && math.Abs(v.X-o.Value) < plausible*o.SD && o.SD < 0.2*math.Abs(o.Value) {
			return Guess{Slip: WrongColumn, Meant: v.Entered, Quantity: o.Quantity}, true
		}
	}
	for _, x := range swaps(v.Entered) {
		if e.plausible(v, x) {
			return Guess{Slip: SwappedDigits, Meant: x}, true
		}
	}
	if e.plausible(v, -v.Entered) {
		return Guess{Slip: WrongSign, Meant: -v.Entered}, true
	}
	for _, c := range session.Columns() {
		if c.Quantity == v.Column.Quantity && c != v.Column && math.Abs(c.ToBase(v.Entered)-e.Value) < plausible*e.SD {
			return Guess{Slip: WrongUnit, Meant: v.Column.FromBase(c.ToBase(v.Entered)), Column: c}, true
		}
	}
	return Guess{}, false
}

// plausible says whether v would be as expected had entered been written.
func (e Expected) plausible(v session.Value, entered float64) bool {
	x := v.Column.ToBase(entered)
	if v.Run > 0 {
		x = v.X * v.Entered / entered // a timed run: half the time is twice the speed
	}
	return math.Abs(x-e.Value) < plausible*e.SD
}

// swaps are x with two neighbouring digits swapped.
func swaps(x float64) []float64 {
	text := []byte(strconv.FormatFloat(x, 'f', -1, 64))
	var out []float64
	last := -1 // the digit before, perhaps across the point
	for i, b := range text {
		if b < '0' || b > '9' {
			continue
		}
		if last >= 0 && text[last] != b {
			text[last], text[i] = text[i], text[last]
			y, _ := strconv.ParseFloat(string(text), 64) // digits as before
			out = append(out, y)
			text[last], text[i] = text[i], text[last]
		}
		last = i
	}
	return out
}
