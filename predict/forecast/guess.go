package forecast

import (
	"math"
	"strconv"

	"sagline/session"
	"sagline/session/quantity"
	"sagline/session/wording"
)

// A Slip is a way in which a reading goes wrong between the dial and the log.
type Slip int

// The slips that can be guessed, the likeliest first; common practice, no
// source.
const (
	DecimalPoint  Slip = iota // one or two places away
	SwappedDigits             // 21 for 12
	WrongSign
	WrongUnit
	WrongColumn // what another reading should be
)

// A Guess is what a surprising reading may have been meant to be.
type Guess struct {
	Slip     Slip
	Meant    float64           // as it would have been entered
	Off      float64           // how far Meant lies from its expected value, standard deviations
	Quantity quantity.Quantity // WrongColumn: the quantity that it is of
	Unit     string            // WrongUnit: the unit that it is in
}

// meantWithin is how far a guess may lie from the expected value, standard deviations.
const meantWithin = 3.0

// writtenIn are units in which readings are written by mistake, besides those of columns; a
// stopwatch may show minutes.
var writtenIn = []string{"mV", "mA", "cm/s", "km/h", "min", "kg", "gf"}

// Guess returns the slip that explains a surprising reading best; others are the predictions of all
// readings of its line. ok is false if no slip does.
func (e Expected) Guess(v session.Value, others []Expected) (best Guess, ok bool) {
	try := func(g Guess, x float64) {
		g.Off = math.Abs(e.off(v, x))
		if g.Off < meantWithin && (!ok || g.rank() < best.rank()) {
			g.Meant = x
			best, ok = g, true
		}
	}
	for _, factor := range []float64{10, 0.1, 100, 0.01} {
		try(Guess{Slip: DecimalPoint}, v.Entered*factor)
	}
	for _, x := range swaps(v.Entered) {
		try(Guess{Slip: SwappedDigits}, x)
	}
	try(Guess{Slip: WrongSign}, -v.Entered)
	for _, unit := range writtenIn {
		e.inUnit(v, unit, try)
	}
	for _, c := range session.Columns() {
		if c.Quantity == v.Column.Quantity && c != v.Column {
			e.inUnit(v, c.Unit, try)
		}
	}
	if ok {
		return best, true
	}
	for _, o := range others {
		if o.Quantity != e.Quantity && math.Abs(o.Off(v.X)) < meantWithin && o.SD < 0.2*math.Abs(o.Value) {
			return Guess{Slip: WrongColumn, Meant: v.Entered, Quantity: o.Quantity}, true
		}
	}
	return Guess{}, false
}

// rank orders guesses, the likeliest lowest: each rarer kind of slip must explain the
// reading half a standard deviation better. Common practice, no source.
func (g *Guess) rank() float64 { return g.Off + float64(g.Slip)/2 }

// inUnit tries v as a number in another unit.
func (e Expected) inUnit(v session.Value, unit string, try func(Guess, float64)) {
	cell, same, fits := wording.InUnit(strconv.FormatFloat(v.Entered, 'f', -1, 64), unit, v.Column)
	if x, err := strconv.ParseFloat(cell, 64); fits && !same && err == nil {
		try(Guess{Slip: WrongUnit, Unit: unit}, x)
	}
}

// off returns how far v would lie from its expected value had entered been written.
func (e Expected) off(v session.Value, entered float64) float64 {
	if v.Run > 0 {
		return e.Off(v.X * v.Entered / entered) // a timed run: half the time is twice the speed
	}
	return e.Off(v.Column.ToBase(entered))
}

// swaps returns x with each two neighbouring digits swapped.
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
			y, _ := strconv.ParseFloat(string(text), 64) // still digits
			out = append(out, y)
			text[last], text[i] = text[i], text[last]
		}
		last = i
	}
	return out
}
