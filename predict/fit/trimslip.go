package fit

import (
	"math"

	"sagline/predict"
	"sagline/session"
)

// markTrimSlip sets a trim weight aside when the dive's climb contradicts it
// as written but agrees with it a decimal point away. A weight of a few grams
// alone could be a leak: it takes the climb to tell.
func (d *dive) markTrimSlip(m *predict.Model, p predict.Params) {
	for k := range d.cells {
		c := &d.cells[k]
		if c.Quantity != session.Trim || c.Aside {
			continue
		}
		var pt predict.Point
		m.Solve(&d.obs[c.obs].cond, p, &pt, nil)
		want := pt.Out[predict.OutTrim]
		if far, ok := d.climbAway(m, p, c.Value-want); !ok || far < contradicted {
			continue
		}
		for _, right := range []float64{c.Value * 10, c.Value / 10} {
			if far, _ := d.climbAway(m, p, right-want); far < agreed && math.Abs(right-want) < plausible*math.Hypot(c.SD, 3*scatter[3]) {
				c.Aside, c.slip = true, true
			}
		}
	}
}

// How many standard deviations a climb lies from one that contradicts a
// buoyancy, and from one that agrees with it.
const (
	contradicted = 4.0
	agreed       = 2.5
)

// climbAway is the least distance, in standard deviations, of a free climb of
// the dive from the one that a buoyancy changed by grams would give.
func (d *dive) climbAway(m *predict.Model, p predict.Params, grams float64) (least float64, ok bool) {
	q := append(predict.Params(nil), p...)
	q[predict.TrimG] += grams
	least = math.Inf(1)
	var pt predict.Point
	for k := range d.cells {
		c := &d.cells[k]
		if c.Quantity != session.Climb || c.Aside || len(c.Line.Drives) > 0 {
			continue
		}
		m.Solve(&d.obs[c.obs].cond, q, &pt, nil)
		least, ok = min(least, math.Abs(c.Value-pt.Out[predict.OutClimb])/c.SD), true
	}
	return least, ok
}
