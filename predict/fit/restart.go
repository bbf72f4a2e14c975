package fit

import (
	"math"

	"gonum.org/v1/gonum/blas/blas64"

	"sagline/predict/lsq"
	"sagline/predict/normal"
	"sagline/session/quantity"
)

// misfits is how many times what its noise would leave a calibration leaves at least where it is begun again.
const misfits = 2.0

// blurs are how many times noisier the instruments are taken for, one after the other, where a calibration is
// begun again: one slip of many volts draws no fit its way while they are, and is set aside (graduated
// non-convexity: Blake and Zisserman, Visual Reconstruction, 1987, chapter 6).
var blurs = []float64{32, 8, 2}

// restart is descend begun with noisier instruments.
func (c *calibration) restart() (*lsq.Result, error) {
	x := c.start()
	for _, blur := range blurs {
		c.blur(blur, x)
		res, err := c.solve(x)
		if err != nil {
			return nil, err
		}
		x = res.X
	}
	c.blur(1, x)
	return c.descend(x)
}

// blur weighs the cells at x with instruments so many times noisier than stated.
func (c *calibration) blur(times float64, x []float64) {
	for q := range c.noise.Factor {
		c.noise.Factor[q], c.noise.Worth[q] = times, c.noise.Doubt[q]
	}
	c.reweigh(x)
}

// fewOutliers says whether no column has more cells set aside than slips are.
func (c *calibration) fewOutliers() bool {
	var out, all [quantity.Count]float64
	for _, d := range c.dives {
		for k := range d.cells {
			cell := &d.cells[k]
			all[cell.Quantity]++
			if cell.Outlier {
				out[cell.Quantity]++
			}
		}
	}
	for q := range out {
		if out[q] > fewFar*all[q] {
			return false
		}
	}
	return true
}

// loss is −2 the logarithm of the density of the readings and of what is known, up to a constant.
func (c *calibration) loss(x []float64) float64 {
	r := make([]float64, c.dim+c.cells())
	c.evaluate(r, nil, x)
	loss := blas64.Dot(normal.Vector(r), normal.Vector(r)) + c.noise.Loss() - c.prior.LogDet
	for b, d := range c.dives {
		loss += d.robustLoss()
		for k := range d.cells {
			loss += 2 * math.Log(d.cells[k].SD)
		}
		for _, v := range c.variance[b] {
			loss += math.Log(v)
		}
	}
	return loss
}
