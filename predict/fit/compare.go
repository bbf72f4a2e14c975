package fit

import (
	"math"

	"sagline/predict"
)

// A SetAside is a cell that was not believed, in the unit it was written in.
type SetAside struct {
	Line     int
	Column   string
	Entered  float64
	Expected float64 // 0 for a timed run that would never end
}

// SetAside lists the cells of a dive that were not believed.
func (r *Result) SetAside(dive int) []SetAside {
	var out []SetAside
	d := &r.Dives[dive]
	var pt predict.Point
	for _, c := range d.Cells {
		if c.Aside {
			r.Model.Solve(&d.d.obs[c.obs].cond, d.Summary.Params, &pt, nil)
			v := c.Line.Readings[c.Quantity]
			want := v.EnteredFor(pt.Out[c.Output])
			if math.IsInf(want, 0) {
				want = 0
			}
			out = append(out, SetAside{c.Line.Number, v.Column.Name, v.Entered, want})
		}
	}
	return out
}

// A Compared is a cell beside its prediction, in the cell's base unit.
type Compared struct {
	Cell
	Expected, Z float64
}

// Compare sets a dive's cells against the vehicle under p: the calibration
// (Result.Sound) or the dive's own fit.
func (r *Result) Compare(dive int, p predict.Params) []Compared {
	d := &r.Dives[dive]
	out := make([]Compared, len(d.Cells))
	var pt predict.Point
	last := -1
	for k, c := range d.Cells {
		if c.obs != last {
			last = c.obs
			r.Model.Solve(&d.d.obs[c.obs].cond, p, &pt, nil)
		}
		out[k] = Compared{c, pt.Out[c.Output], (c.Value - pt.Out[c.Output]) / c.SD}
	}
	return out
}

// Sound is the calibrated vehicle with a dive's own battery voltage and sag:
// what the dive should have read had nothing drifted.
func (r *Result) Sound(dive int) predict.Params {
	p := append(predict.Params(nil), r.Base...)
	for _, k := range []int{predict.OpenCircuitV, predict.SagVPerMinute} {
		p[k] = r.Dives[dive].Summary.Params[k]
	}
	return p
}

// AsWritten is a compared cell in the unit that it was written in: what was
// entered, what was expected and one standard deviation. For a timed run of a
// vehicle that would not move, the last two are 0.
func (c *Compared) AsWritten() (entered, expected, sd float64) {
	v := c.Line.Readings[c.Quantity]
	expected = v.EnteredFor(c.Expected)
	if math.IsInf(expected, 0) {
		return v.Entered, 0, 0
	}
	return v.Entered, expected, math.Abs(v.EnteredFor(c.Expected+c.SD) - expected)
}
