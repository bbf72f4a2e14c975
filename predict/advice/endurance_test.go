package advice

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict"
	"sagline/predict/vehicle"
)

// A battery may be drawn to the charge at which minimum_v is reached: BCI's
// rested voltages at 26.7 °C.
func TestUsableChargeAgainstBCITable(t *testing.T) {
	for i, volts := range []float64{11.89, 12.06, 12.24, 12.45, 12.65} {
		b := &vehicle.Battery{NominalV: 12, MinimumV: volts, Chemistry: "lead-acid"}
		assert.InDelta(t, 1-float64(i)/4, usable(b, 0, 0.05), 1e-9)
	}
	b := &vehicle.Battery{NominalV: 12, MinimumV: 11.74, Chemistry: "lead-acid"}
	assert.InDelta(t, 0.5, usable(b, 10, 0.05), 1e-9, "12.24 V rested less 0.5 V of sag")
	assert.Equal(t, 0.0, usable(&vehicle.Battery{NominalV: 12, MinimumV: 13, Chemistry: "agm"}, 1, 0.05))
}

// Peukert, rated form: C = 100 Ah over 20 h, n = 1.25 lasts 8.408964 h at
// 10 A and 1.124683 h at 50 A (a battery monitor maker's note, recomputed).
func TestPeukert(t *testing.T) {
	assert.InDelta(t, 8.408964, peukert(100, 10, 20, 1.25), 1e-6)
	assert.InDelta(t, 1.124683, peukert(100, 50, 20, 1.25), 1e-6)
}

// Of batteries alike but for their chemistry, lithium lasts longest at a heavy
// current and flooded lead-acid shortest; the label alone, 12.0 or 12.6 V,
// changes nothing.
func TestEnduranceByChemistry(t *testing.T) {
	last := func(chemistry string, label float64) float64 {
		return minutes(&vehicle.Battery{NominalV: label, CapacityAh: 18, Chemistry: chemistry}, 9, 0.05)
	}
	for _, pair := range [][2]string{{"lead-acid", "gel"}, {"gel", "agm"}, {"agm", "lithium-iron"}} {
		assert.Less(t, last(pair[0], 12), last(pair[1], 12), "%v", pair)
	}
	b := vehicle.Battery{NominalV: 12, CapacityAh: 18, Chemistry: "lead-acid", MinimumV: 11.5}
	other := b
	other.NominalV = 12.6
	assert.Equal(t, minutes(&b, 9, 0.05), minutes(&other, 9, 0.05))
}

// A current that is as good as nothing lasts as long as a battery keeps its charge.
func TestEnduranceOfNextToNothing(t *testing.T) {
	v := vehicle.Example()
	v.Thrusters = nil
	v.Battery.MinimumV = 0
	for _, c := range []struct {
		amps float64
		year bool
	}{{4.6e-298, true}, {1e-150, true}, {1e-9, true}, {0.1, false}} {
		v.Camera = vehicle.Camera{CurrentA: c.amps, Supply: "shared"}
		m := predict.NewModel(v)
		x := AllAhead(m, predict.Condition{}, m.NewParams()).EnduranceMin
		assert.LessOrEqual(t, *x, shelfMinutes, "%g A", c.amps)
		assert.Equal(t, c.year, *x == shelfMinutes, "%g A: %g min", c.amps, *x)
	}
}
