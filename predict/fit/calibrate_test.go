package fit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict"
	"sagline/predict/mixture"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// A calibration begun again is taken where no column has more cells set aside than a quarter.
func TestFewOutliers(t *testing.T) {
	of := func(q quantity.Quantity, out, all int) (cells []Cell) {
		for k := range all {
			cells = append(cells, Cell{Quantity: q, Outlier: k < out})
		}
		return cells
	}
	for name, c := range map[string]struct {
		dives [][]Cell
		want  bool
	}{
		"none":            {[][]Cell{of(quantity.CurrentA, 0, 3)}, true},
		"a quarter":       {[][]Cell{of(quantity.CurrentA, 2, 4), of(quantity.CurrentA, 0, 4)}, true},
		"more":            {[][]Cell{of(quantity.CurrentA, 2, 4), of(quantity.CurrentA, 1, 7)}, false},
		"more of another": {[][]Cell{of(quantity.CurrentA, 0, 9), of(quantity.Pull, 1, 3)}, false},
	} {
		cal := &calibration{}
		for _, cells := range c.dives {
			cal.dives = append(cal.dives, &dive{cells: cells})
		}
		assert.Equal(t, c.want, cal.fewOutliers(), name)
	}
}

// A battery of the baseline that is not its first may differ from it as batteries do; nothing else of its dive may.
func TestOtherBatteryOfTheBaseline(t *testing.T) {
	sp := &priors.Space{Of: make([]priors.Parameter, predict.FirstThruster), Static: []int{0}}
	for _, k := range ofBaseline {
		sp.Of[k] = priors.Parameter{Scatter: 0.1, Prior: 0.3, Fault: 0.2}
	}
	sp.Of[predict.BatteryOhm].Fault = 0.5
	c := newCalibration(make([]*predict.Model, 2), sp, []*dive{{}, {}}, nil, nil)
	c.otherBattery(1)
	for i, k := range c.perDive {
		want := map[int]float64{predict.OpenCircuitV: 0.1, predict.BatteryOhm: 0.26}[k]
		assert.InDelta(t, max(want, 0.01), c.variance[1][i], 1e-12, "parameter %d", k)
		assert.InDelta(t, 0.01, c.variance[0][i], 1e-12, "parameter %d", k)
	}
}

// A cell of the baseline beyond six standard deviations of what the file allows is a slip, where no more than a quarter of
// its column are.
func TestMarkFar(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	for name, c := range map[string]struct {
		z    []float64
		slip []bool // marked before
		want int
	}{
		"two of eight":       {[]float64{0, 1, -1, 2, 5.9, 0, -6.1, 6.1}, nil, 2},
		"three of eight":     {[]float64{0, 1, -1, 2, 5.9, 9, -6.1, 6.1}, nil, 0},
		"a slip counts none": {[]float64{0, 1, -1, 2, 5.9, 9, -6.1, 6.1}, []bool{5: true, 7: false}, 0},
		"of the others":      {[]float64{0, 1, -1, 2, 5.9, 9, -6.1, 0, 0}, []bool{5: true, 8: false}, 1},
	} {
		const noise, spread = 0.3, 0.4
		var values []float64
		for _, z := range c.z {
			values = append(values, 10+0.5*z)
		}
		d, sc, n, _ := preset(predict.LoopOhm, noise, [][]float64{values}, 10, 2)
		d.rest = 13
		r := &Result{Models: []*predict.Model{m}, Noise: n, Calibrated: mixture.Calibrated{Space: &priors.Space{Of: make([]priors.Parameter, m.Dim())}}}
		r.Space.Of[predict.LoopOhm].Scatter = spread / 2
		sc.predicted.p = r.asBuilt()
		sc.predicted.p[predict.OpenCircuitV] = 13
		for k, slip := range c.slip {
			d.cells[k].slip = slip
		}
		r.markFar([]*dive{d}, []*predict.Model{nil}, sc)
		got := 0
		for k := range d.cells {
			if d.cells[k].Outlier {
				got++
				assert.True(t, d.cells[k].slip)
				assert.Greater(t, math.Abs(c.z[k]), 6.0, name)
			}
		}
		assert.Equal(t, c.want, got, name)
	}
}
