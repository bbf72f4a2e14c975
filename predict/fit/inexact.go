package fit

import (
	"math"
	"slices"

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

// ofModel are the quantities that the model's equations of motors and water tell; voltages
// across resistances and hover weights are sums.
var ofModel = [quantity.Count]bool{quantity.Speed: true, quantity.Climb: true, quantity.Pull: true, quantity.CurrentA: true}

// allowInexact lets each cell be off by its share of how far it lies, at a dive's fit, from
// where it lies sound. Cells of one quantity that changed share it: n of them together tell no
// better than one would.
func (d *dive) allowInexact(m *predict.Model, at, sound predict.Params, sc *scratch) {
	d.predict(m, sound, perLine{}, sc, false)
	was := slices.Clone(sc.predicted.want[:len(d.cells)])
	d.predict(m, at, perLine{}, sc, false)
	change := func(k int) float64 {
		c := &d.cells[k]
		if !ofModel[c.Quantity] || c.stream {
			return 0
		}
		return max(sq(sc.predicted.want[k]-was[k])-sq(noticed*c.SD), 0)
	}
	var changed [quantity.Count]float64
	for k := range d.cells {
		if change(k) > 0 {
			changed[d.cells[k].Quantity]++
		}
	}
	for k := range d.cells {
		c := &d.cells[k]
		c.inexact = inexact * math.Sqrt(changed[c.Quantity]*change(k))
	}
}

// lnInexact is the logarithm of how many times less precise the cells are for it.
func (d *dive) lnInexact() float64 {
	sum := 0.0
	for k := range d.cells {
		if c := &d.cells[k]; c.inexact > 0 && !c.Outlier {
			sum += math.Log(math.Hypot(c.SD, c.inexact) / c.SD)
		}
	}
	return sum
}
