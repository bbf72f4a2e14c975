// Package causes is the one table of what may have changed between a sound vehicle's readings and
// today's: in the vehicle, in an instrument, or in what was left out of the log. The fit, the
// trend, the words and the pictures all follow its rows. It assumes that few causes act at a time
// and that each enters the readings through parameters of package predict, in proportion to one
// amplitude or a few.
package causes

import (
	"math"
	"slices"
	"strings"

	"sagline/predict"
	"sagline/predict/vehicle"
)

// A Kind says whether a cause lies in the vehicle, an instrument or the log.
type Kind int

// The kinds.
const (
	Vehicle    Kind = iota // wear, damage, dirt
	Instrument             // what is read with
	NotLogged              // what was not written down
)

// A Cause is one row of the table.
type Cause struct {
	Name     string // of findings, as "branch:port"
	Quantity string // of estimates, trends and alarms, as "branch_excess_ohm:port"
	Kind     Kind
	Of       string // name of the cause of which it is a case, as one propeller of all; "" for none

	// Amplitudes are the ways it enters the readings; the first is that of Quantity. Empty for an
	// intermittent contact and for a thruster that fails.
	Amplitudes []Amplitude
	// Else are other ways in which the first amplitude may enter: weed may slow climbs as well.
	Else []Way
	// Contact is the parameter that an intermittent contact adds to, from line to line or by whole
	// dives; 0: none.
	Contact int
	Fails   Failure

	// Worse is the sign of a first amplitude that is a fault, 0 for either.
	Worse float64
	// Most bounds the first amplitude in the direction of Worse, or both: from there on it would be another
	// cause; 0: none. A motor that friction stops is jammed. MostAtOnce bounds a step alone.
	Most, MostAtOnce float64

	// Prior probabilities that it begins at one dive: at once and for good, growing from there, for
	// one dive only, coming and going by whole dives.
	Step, Ramp, Once, Turns float64

	// Bounded reports that it is never far larger than usual: no other propeller has twice the
	// pitch, no lamp draws what a thruster does, no repair takes off more than there was.
	Bounded bool
	// BoundedWay is the index of the one way that is bounded; 0: none. Weed that takes several
	// times the torque is a jam.
	BoundedWay int

	Mends string // name of the cause that it reverses, a real change for the better; "" for none

	// Tracked reports that its quantity is estimated in every dive and has a trend in every log,
	// whether it changed or not.
	Tracked bool

	Cleared []string // services that end it
	Scale   Scale
	Limit   func(*vehicle.Limits) float64 // of Quantity; nil: none

	Key   string // of vehicle.toml, to be checked if the cause has acted since before the first dive; * for all thrusters
	Words string // the name of the cause and of its Quantity
	What  string // what changed, a clause: "the power loop has gained resistance"
	Check string // what to do next
}

// A Failure is a thruster that does nothing of what it should; the zero value is none.
type Failure struct {
	Thruster int // 1 + its index
	How
}

// A How is how a thruster fails.
type How int

// The ways of failing.
const (
	Jammed How = iota // its propeller cannot turn: it draws its stall current
	Open              // its circuit is as good as open: it draws next to nothing
	Lost              // its propeller is off or slips on its shaft: it takes next to no torque
)

// Jam reports whether the thruster is jammed.
func (f Failure) Jam() bool { return f.Thruster > 0 && f.How == Jammed }

// An Amplitude is one unknown size of a cause.
type Amplitude struct {
	Terms []Term
	Step  float64 // one standard deviation at once
	Ramp  float64 // the same, growth per dive
}

// A Way is an alternative set of terms of a cause's first amplitude, its prior probability given
// the cause, and in words when it acts.
type Way struct {
	Terms []Term
	P     float64
	When  string
}

// Sizes are the multiples of its usual size that a cause may have, with their prior probabilities
// given the cause: common practice, no source. With usual sizes alone, one cause that is far larger
// is less probable than two that together look like it: on a simulator with other physics a branch
// with 1.7 Ω more was reported as weak thrust and a wrong scale, over 0.99.
var Sizes = [...]struct{ Times, P float64 }{{1, 0.9}, {4, 0.1}}

// MaySize reports whether the cause may have size i of Sizes in a way; a bounded way only the
// first.
func (c *Cause) MaySize(i, way int) bool {
	return i == 0 || !c.Bounded && (c.BoundedWay == 0 || way != c.BoundedWay)
}

// Ways is the number of ways in which the cause may enter.
func (c *Cause) Ways() int { return 1 + len(c.Else) }

// Way returns the terms of the first amplitude in way i, from 0, and that way's probability given
// the cause.
func (c *Cause) Way(i int) (terms []Term, p float64) {
	if i > 0 {
		return c.Else[i-1].Terms, c.Else[i-1].P
	}
	p = 1
	for _, way := range c.Else {
		p -= way.P
	}
	return c.Amplitudes[0].Terms, p
}

// When describes when the cause acts in a way, "" if always.
func (c *Cause) When(way int) string {
	if way > 0 {
		return c.Else[way-1].When
	}
	return ""
}

// Reach returns every parameter that the cause may change, with the change at its usual size.
func (c *Cause) Reach() (out []Term) {
	for i, amp := range c.Amplitudes {
		ways := []Way{{Terms: amp.Terms}}
		if i == 0 {
			ways = append(ways, c.Else...)
		}
		for _, way := range ways {
			for _, t := range way.Terms {
				out = append(out, Term{t.Param, amp.Step * math.Abs(t.Per)})
			}
		}
	}
	return out
}

// UnderPower reports whether it enters readings of a running vehicle, not only hover weights,
// insulation or the ohmmeter.
func (c *Cause) UnderPower() bool {
	return len(c.Amplitudes) == 0 || slices.ContainsFunc(c.Reach(), func(t Term) bool { return UnderPower(t.Param) })
}

// OfBuoyancy reports whether it enters hover weights.
func (c *Cause) OfBuoyancy() bool {
	return slices.ContainsFunc(c.Reach(), func(t Term) bool {
		return t.Param == predict.TrimG || t.Param == predict.TrimPerM || t.Param == predict.TrimZeroG || t.Param == predict.SalinityPSU
	})
}

// UnderPower reports whether a parameter enters readings of a running vehicle.
func UnderPower(param int) bool {
	switch param {
	case predict.TrimG, predict.TrimPerM, predict.WithinDiveG, predict.BallastLift, predict.TrimZeroG, predict.LogInsulation, predict.LoopMeterOhm:
		return false
	}
	return true
}

// A Term is a parameter of package predict and what one unit of the amplitude adds to it.
type Term struct {
	Param int
	Per   float64
}

// A Scale is how an amplitude is shown: the unit of its quantity, whether the amplitude is the
// logarithm of a factor, and whether its sign is reversed.
type Scale struct {
	Unit     string
	Factor   bool
	Negative bool
	Absolute bool // the quantity is the amplitude plus the sound vehicle's value
}

// Show turns an amplitude into its quantity; sound is the sound vehicle's value, as an amplitude,
// and used by an Absolute scale.
func (s Scale) Show(x, sound float64) float64 {
	if s.Absolute {
		x += sound
	}
	if s.Negative {
		x = 0 - x // no −0
	}
	if s.Factor {
		return math.Exp(x)
	}
	return x
}

// Times returns the factor per dive of a quantity that spans decades and changes by perDive at a
// level: that slope itself holds for no other dive. It is 0 for other quantities.
func (s Scale) Times(perDive, level float64) float64 {
	if !s.Factor || !s.Absolute || level <= 0 {
		return 0
	}
	return math.Exp(perDive / level)
}

// Amplitude is the inverse of Show.
func (s Scale) Amplitude(y, sound float64) float64 {
	if s.Factor {
		y = math.Log(math.Max(y, 1e-9))
	}
	if s.Negative {
		y = -y
	}
	if s.Absolute {
		y -= sound
	}
	return y
}

// Alike reports whether two causes are the same one of different thrusters.
func (c *Cause) Alike(d *Cause) bool {
	kind, name, of := strings.Cut(c.Name, ":")
	other, another, ofAnother := strings.Cut(d.Name, ":")
	return c.Kind == Vehicle && of && ofAnother && kind == other && name != another
}

// Thruster is the index of the thruster that fails or has the intermittent contact, −1 for none.
func (c *Cause) Thruster() int {
	if c.Contact >= predict.FirstThruster {
		return (c.Contact - predict.FirstThruster) / predict.PerThruster
	}
	return c.Fails.Thruster - 1
}

// Param is the parameter that the first amplitude changes most plainly, −1 if there is none.
func (c *Cause) Param() int {
	if len(c.Amplitudes) == 0 {
		return -1
	}
	return c.Amplitudes[0].Terms[0].Param
}

// Begins is the prior probability that the cause begins at one dive and stays.
func (c *Cause) Begins() float64 { return c.Step + c.Ramp }

// ClearedBy reports whether any of the services ends the cause.
func (c *Cause) ClearedBy(services []string) bool {
	return slices.ContainsFunc(services, func(s string) bool { return slices.Contains(c.Cleared, s) })
}

// one returns an amplitude of one parameter.
func one(param int, step, ramp float64) []Amplitude {
	return []Amplitude{{Terms: []Term{{param, 1}}, Step: step, Ramp: ramp}}
}
