package fit

import (
	"math"

	"sagline/predict"
	"sagline/session/quantity"
)

// What a dive's readings have changed by since the vehicle was sound, the model may have
// wrong by inexact of itself: a propeller, a motor and a hull are some equations
// here, and weed, sand or a broken blade are none of them. Of changes below
// noticed standard deviations of a reading that says nothing that its noise does not.
//
// Set on 175 seasons of a simulator with other physics, one share for all: of findings over 0.99
// 76 of 78 were right without, 73 of 74 with 0.25 of what is beyond 1.5 standard deviations, and of 120
// sound runs 9 for 11 alarmed; 2 standard deviations do alike on 160 seasons of another (47 of 51, 46 of 50).
// With a share of 0.2 and no threshold ramps of thrust were found a dive later in seasons of the
// model's own world.
const (
	inexact = 0.25
	noticed = 2.0
)

// throughLoop is which part of that holds for what the current drops in the loop. With all of it a loop that loses
// more in steps is told as a contact that comes and goes (TestFaultsInStairs); of 60 seasons of the first simulator
// three blame the vehicle's voltmeter over 0.8 with none, two with this, one with all.
const throughLoop = 0.5

// ofModel are the quantities that the model's equations of motors and water tell; voltages
// across resistances and hover weights are sums.
var ofModel = [quantity.Count]bool{quantity.Speed: true, quantity.Climb: true, quantity.Pull: true, quantity.CurrentA: true}

// allowInexact lets each cell be off by its share of how far it lies, at a dive's fit, from
// where it lay as the baseline's vehicle was, was: sound, and before anything was rebuilt. The voltage at the vehicle
// lies as far as the loop's resistance carries the current's change there. Cells of one
// quantity that changed share it: n of them together tell no better than one would.
func (d *dive) allowInexact(was, m *predict.Model, at, sound predict.Params, sc *scratch) {
	d.allowInexactSince(d.toldOf(was, m, sound, sc), m, at, sc)
}

// toldOf is what the equations tell of each cell of a vehicle as it was, of its model now where it had other thrusters.
func (d *dive) toldOf(was, m *predict.Model, sound predict.Params, sc *scratch) []float64 {
	if was.Dim() != m.Dim() {
		was = m
	}
	all := make([]float64, len(d.cells))
	d.toldByModel(was, sound, sc, func(k int, told, _ float64) { all[k] = told })
	return all
}

// allowInexactSince is allowInexact with what the equations tell of the vehicle as it was.
func (d *dive) allowInexactSince(was []float64, m *predict.Model, at predict.Params, sc *scratch) {
	changes := make([]float64, len(d.cells))
	for k := range was {
		changes[k] = -was[k]
	}
	d.toldByModel(m, at, sc, func(k int, told, ohm float64) { changes[k] = ohm * (changes[k] + told) })
	var changed [quantity.Count]float64
	for k := range d.cells {
		c := &d.cells[k]
		changes[k] = max(sq(changes[k])-sq(noticed*c.SD), 0)
		if changes[k] > 0 {
			changed[c.Quantity]++
		}
	}
	for k := range d.cells {
		c := &d.cells[k]
		c.inexact = inexact * math.Sqrt(changed[c.Quantity]*changes[k])
	}
}

// toldByModel calls add with what the equations of motors and water tell of each cell: its value, for the
// voltage at the vehicle the current through the pair, and by what that is to be multiplied.
func (d *dive) toldByModel(m *predict.Model, p predict.Params, sc *scratch, add func(k int, told, per float64)) {
	d.predict(m, p, perLine{}, sc, false)
	var pt predict.Point
	last := -1
	for k := range d.cells {
		c := &d.cells[k]
		switch {
		case c.stream:
		case c.Quantity == quantity.VehicleV:
			if c.obs != last {
				last = c.obs
				m.Solve(&d.obs[c.obs].Cond, p, &pt, nil)
			}
			ohm := 0.0
			if pt.PairA > 0 {
				ohm = (pt.Out[quantity.BatteryV] - pt.Volts) / pt.PairA
			}
			add(k, pt.PairA, throughLoop*ohm)
		case ofModel[c.Quantity]:
			add(k, sc.predicted.want[k], 1)
		}
	}
}

// lnLessPrecise is the logarithm of how many times less precise the cells are than their instruments, for what the model may
// have wrong and for less care, and of how improbable that is.
// Each cell is charged for what the model has wrong, though they share it: with one charge for all of a quantity, of 30 simulated
// seasons with a jam of other physics 15 were told rightly over 0.99 and one wrongly, for 23 and none, as of three times the
// current all that a model has is friction, magnets and a repair.
func (d *dive) lnLessPrecise() float64 {
	sum := d.lnCareful()
	for k := range d.cells {
		c := &d.cells[k]
		if c.Outlier {
			continue
		}
		if sum += c.lnNoisier(); c.inexact > 0 {
			sum += math.Log(math.Hypot(c.SD, c.inexact) / c.SD)
		}
	}
	return sum
}

// lnCareful is the logarithm of how improbable the care is with which a dive was read.
func (d *dive) lnCareful() float64 {
	if len(d.cells) == 0 || d.cells[0].noisier == 0 {
		return 0
	}
	return -lnCareless
}

// lnNoisier is the logarithm of how many times less precise a cell is than had it been read with usual care.
func (c *Cell) lnNoisier() float64 {
	if c.noisier == 0 {
		return 0
	}
	usual := math.Sqrt(sq(c.SD)-sq(c.rounded)) / c.noisier
	return math.Log(c.SD / math.Hypot(usual, c.rounded))
}
