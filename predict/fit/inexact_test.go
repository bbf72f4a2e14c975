package fit

import (
	"math"
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// soundExample fits the first eight dives of an example that stays sound.
func soundExample(t *testing.T) *Result {
	file, err := os.Open("../../examples/sound/vehicle.toml")
	require.NoError(t, err)
	defer file.Close()
	v, err := vehicle.Read(file, vehicle.FileName)
	require.NoError(t, err)
	lines, err := os.Open("../../examples/sound/dives.csv")
	require.NoError(t, err)
	defer lines.Close()
	log, err := session.Read(lines, "dives.csv")
	require.NoError(t, err)
	log.Dives = log.Dives[:8]
	r, err := Fit(v, log)
	require.NoError(t, err)
	return r
}

// Pulls that have halved may be off by a quarter of that, two of them by as much as one; what
// did not change, or is a sum rather than a model's, by nothing. Being less precise costs the
// dive's evidence its logarithm.
func TestAllowInexact(t *testing.T) {
	r := soundExample(t)
	d, m := r.Dives[7].d, r.Models[0]
	d.cells = slices.Clone(d.cells)
	pulls := 0
	for k := range d.cells {
		d.cells[k].inexact = 0
		if d.cells[k].Quantity == quantity.Pull {
			pulls++
		}
	}
	require.Positive(t, pulls)
	sound := r.Dives[7].Summary.Params
	for _, c := range []struct {
		param int
		by    float64
		moved quantity.Quantity
	}{{predict.LogThrust, math.Log(0.5), quantity.Pull}, {predict.LogThrust, -0.001, quantity.Count}, {predict.TrimG, -200, quantity.Count}} {
		at := slices.Clone(sound)
		at[c.param] += c.by
		sc := newScratch(m.Dim(), len(d.cells))
		d.allowInexact(m, m, at, sound, sc)
		d.predict(m, sound, perLine{}, sc, false)
		ln := 0.0
		for k := range d.cells {
			cell := &d.cells[k]
			want := 0.0
			if cell.Quantity == quantity.Pull && c.moved == quantity.Pull {
				change := 0.5 * sc.predicted.want[k]
				want = 0.25 * math.Sqrt(float64(pulls)*(change*change-4*cell.SD*cell.SD))
			}
			if q := cell.Quantity; q == quantity.Pull || q == quantity.Trim || q == quantity.BatteryV || c.moved == quantity.Count && q != quantity.Climb {
				assert.InDelta(t, want, cell.inexact, 1e-9, "%s of line %d", q.String(), k)
			}
			if !cell.Outlier {
				ln += 0.5 * math.Log1p(cell.inexact*cell.inexact/cell.SD/cell.SD)
			}
		}
		assert.InDelta(t, ln, d.lnLessPrecise(), 1e-9)
	}
}

// The voltage at the vehicle may be off by what a quarter of the current's change drops in the loop, also of what
// another tether than the baseline's changed.
func TestInexactCurrentDropsInLoop(t *testing.T) {
	r := soundExample(t)
	d, m, sound := r.Dives[7].d, r.Models[0], r.Dives[7].Summary.Params
	d.cells = slices.Clone(d.cells)
	faulty := slices.Clone(sound)
	faulty[predict.LogTorque] += math.Log(2)
	long := *m.Vehicle
	long.Tether.LengthM *= 2
	longer := predict.NewModel(&long)
	for _, c := range []struct {
		name string
		m    *predict.Model
		at   predict.Params
	}{{"more torque", m, faulty}, {"longer tether", longer, sound}, {"sound", m, sound}} {
		sc := newScratch(m.Dim(), len(d.cells))
		d.allowInexact(m, c.m, c.at, sound, sc)
		told := make([]float64, len(d.cells))
		var n [quantity.Count]float64
		for k := range d.cells {
			cell := &d.cells[k]
			var was, now predict.Point
			m.Solve(&d.obs[cell.obs].Cond, sound, &was, nil)
			c.m.Solve(&d.obs[cell.obs].Cond, c.at, &now, nil)
			by := now.PairA - was.PairA
			switch cell.Quantity {
			case quantity.VehicleV:
				by *= 0.5 * (now.Out[quantity.BatteryV] - now.Volts) / now.PairA
			case quantity.CurrentA:
				by = now.Out[quantity.CurrentA] - was.Out[quantity.CurrentA]
			}
			told[k] = max(by*by-4*cell.SD*cell.SD, 0)
			if told[k] > 0 {
				n[cell.Quantity]++
			}
		}
		for _, q := range []quantity.Quantity{quantity.VehicleV, quantity.CurrentA} {
			assert.Equal(t, c.name != "sound", n[q] > 0, c.name)
		}
		for k := range d.cells {
			if q := d.cells[k].Quantity; q == quantity.VehicleV || q == quantity.CurrentA {
				assert.InDelta(t, 0.25*math.Sqrt(n[q]*told[k]), d.cells[k].inexact, 1e-9, "%s, %v of line %d", c.name, q, d.cells[k].obs)
			}
		}
	}
}
