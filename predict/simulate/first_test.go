package simulate_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/fit"
	"sagline/predict/forecast"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// required is the file of an owner who knows no more than must be known, or has tested one thruster besides.
func required(t *testing.T, of *vehicle.Vehicle, tested bool) *vehicle.Vehicle {
	var b strings.Builder
	fmt.Fprintf(&b, "name = \"x\"\n[battery]\nnominal_v = %g\n[tether]\nlength_m = %g\n[tether.power]\narea_mm2 = %g\n",
		of.Battery.NominalV, of.Tether.LengthM, of.Tether.Power.AreaMM2)
	for i := range of.Thrusters {
		m := &of.Thrusters[i]
		if fmt.Fprintf(&b, "[[thruster]]\nname = %q\naxis = %q\n", m.Name, m.Axis); tested && i == 0 {
			fmt.Fprintf(&b, "test_v = %g\ntest_a = %g\ntest_n = %g\narmature_ohm = %g\nno_load_a = %g\n", m.TestV, m.TestA, m.TestN, m.ArmatureOhm, m.NoLoadA)
		}
	}
	v, err := vehicle.Read(strings.NewReader(b.String()), vehicle.FileName)
	require.NoError(t, err)
	return v
}

// tally counts readings inside of their 95 % ranges, and how large those are.
type tally struct{ inside, all, width float64 }

func (c *tally) add(t *testing.T, f *forecast.Forecast, d *session.Dive) {
	for i := range d.Lines {
		l := &d.Lines[i]
		expected, err := f.Line(l)
		require.NoError(t, err)
		for _, e := range expected {
			x := l.Readings[e.Quantity]
			if !x.Measured() {
				continue
			}
			c.all++
			if e.Low <= x.X && x.X <= e.High {
				c.inside++
			}
			if e.Quantity == quantity.CurrentA && e.Value > 0.1 {
				c.width += (e.High - e.Low) / e.Value
			}
		}
	}
}

func (c *tally) share() float64 { return c.inside / c.all }

// What a vehicle's readings should be holds 95 % of them: on its first dive, of
// which only the file is known, and on the sixth, after the baseline, with
// ranges much narrower. Files have all keys, or no more than the
// required ones, or one thruster's besides; each vehicle is one of those that its file allows, its battery
// charged as batteries are. VEHICLES=400 tries more.
func TestFirstDive(t *testing.T) {
	n := number(t, "VEHICLES", 56)
	for _, known := range []string{"required keys", "one thruster's keys", "all keys"} {
		var first, sixth tally
		for seed := range uint64(n) {
			v := simulate.Fleet(seed)
			if known != "all keys" {
				v = required(t, v, known != "required keys")
			}
			rng := rand.New(rand.NewPCG(seed, 99))
			w, rest, sag := v.Draw(rng.NormFloat64), v.RestBelief(), max(0.004+0.01*rng.NormFloat64(), 0)
			open := min(rest.Value+rest.SD*rng.NormFloat64(), v.MostV())
			log := simulate.Log(w, simulate.Season{Dives: 6, Start: time.Date(2025, 5, 1, 0, 0, 0, 0, time.UTC), Seed: seed, AsFile: true,
				Drift: func(_ int, p predict.Params) {
					p[predict.OpenCircuitV] += open - w.Battery.NominalV
					p[predict.SagVPerMinute] = sag
				}})
			first.add(t, forecast.AsBuilt(v), &log.Dives[0])
			newest := log.Dives[5]
			if log.Dives = log.Dives[:5]; seed >= uint64(n)/4 {
				continue
			}
			r, err := fit.Fit(v, log)
			require.NoError(t, err)
			sixth.add(t, forecast.New(r, r.Base, nil, fit.Posterior{}), &newest)
		}
		t.Logf("%s: %.1f %% of the readings of %d first dives in their 95 %% ranges, %.1f %% of the sixth, whose currents' ranges are %.1f times narrower",
			known, 100*first.share(), n, 100*sixth.share(), first.width/first.all*sixth.all/sixth.width)
		assert.InDelta(t, 0.95, first.share(), 0.03, "first dives, %s", known)
		assert.InDelta(t, 0.95, sixth.share(), 0.045, "sixth dives, %s", known)
		assert.Greater(t, first.width/first.all, 1.5*sixth.width/sixth.all, known)
	}
}
