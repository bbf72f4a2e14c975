package simulate_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/predict/forecast"
	"sagline/predict/outlook"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
)

// bought is a vehicle with a tether of a size as it really turns out: its
// conductors resist up to what IEC 60228 allows, and its jacket is thicker or
// thinner than that of cords.
func bought(w *vehicle.Vehicle, area, length float64, rng *rand.Rand) *vehicle.Vehicle {
	out := w.Clone()
	t := &out.Tether
	share := advice.CopperShare * math.Exp2(2*rng.Float64()-1)
	section := math.Pi/4*t.DiameterMM*t.DiameterMM + 2*float64(max(t.Power.Parallel, 1))*(area-t.Power.Area())/share
	t.DiameterMM = math.Sqrt(4 / math.Pi * max(section, math.Pi/16*t.DiameterMM*t.DiameterMM))
	t.LengthM, t.Power.AreaMM2, t.Power.AWG, t.Power.OhmKM = length, area/(1+0.1345*rng.Float64()), nil, 0
	return out
}

// The ranges that a tether has before it is bought hold what it then does, on
// vehicles whose files have the required keys alone or all, before their first dive
// and after five: 95 % of it, of speed and climb 90 % after five dives of a vehicle
// of which little is known. VEHICLES=200 tries more.
func TestPurchasesComeTrue(t *testing.T) {
	n := number(t, "VEHICLES", 20)
	for _, known := range []string{"required keys", "all keys"} {
		for _, dives := range []int{0, 5} {
			inside, all := [3]float64{}, 0.0
			for seed := range uint64(n) {
				v := simulate.Fleet(seed)
				if known == "required keys" {
					v = required(t, v, false)
				}
				rng := rand.New(rand.NewPCG(seed, 7))
				w := v.Draw(rng.NormFloat64)
				log := &session.Log{}
				if dives > 0 {
					log = simulate.Log(w, simulate.Season{Dives: dives, Start: time.Date(2025, 5, 1, 0, 0, 0, 0, time.UTC), Seed: seed, AsFile: true,
						Drift: func(_ int, p predict.Params) { p[predict.OpenCircuitV] += v.RestBelief().Value - w.Battery.NominalV }})
				}
				r, err := fit.Fit(v, log)
				require.NoError(t, err)
				rep := drift.Analyse(r)
				b := advice.Buyer{Vehicle: v, Params: outlook.Present(r, rep), BatterySD: rep.Doubts()[predict.BatteryOhm], Thrusters: r.OfThrusters(),
					Condition: predict.Condition{DepthM: 2, WaterC: 15}, CopperShare: advice.CopperShare}
				f := forecast.AsBuilt(v)
				if dives > 0 {
					f = forecast.New(r, b.Params, rep.Doubts(), rep.Posterior)
				}
				b.Ranges = func(values []float64, fixed map[int]float64, solve func(predict.Params) []float64) []advice.Range {
					return outlook.Ranges(f, values, fixed, solve)
				}
				sizes := advice.Sizes(v.Units)
				size, length := sizes[rng.IntN(len(sizes))], math.Round(v.Tether.LengthM*(0.5+rng.Float64()))
				x := b.Purchases([]advice.Size{size}, []float64{length}, []float64{v.Battery.NominalV})[0]
				real := bought(w, size.AreaMM2, length, rng)
				m := predict.NewModel(real)
				p := m.NewParams()
				p[predict.OpenCircuitV] = v.Battery.RestV()
				c := predict.Condition{DepthM: 2, WaterC: 15, TetherOutM: length}
				o := advice.AllAhead(m, c, p)
				climb, _ := advice.AllUp(m, c, p)
				all++
				for k, pair := range []struct {
					said advice.Range
					is   float64
				}{{x.VehicleV, o.VehicleV}, {*x.SpeedMS, o.SpeedMS}, {*x.ClimbMS, climb}} {
					if pair.said.Low <= pair.is && pair.is <= pair.said.High {
						inside[k]++
					}
				}
			}
			t.Logf("%s, %d dives: volts %.0f %%, speed %.0f %%, climb %.0f %% of %.0f inside", known, dives, 100*inside[0]/all, 100*inside[1]/all, 100*inside[2]/all, all)
			for _, k := range inside {
				assert.GreaterOrEqual(t, k/all, 0.82, "%s, %d dives", known, dives)
			}
		}
	}
}
