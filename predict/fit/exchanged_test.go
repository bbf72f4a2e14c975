package fit

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict/instrument"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// Voltages of a line have changed places where the vehicle's is above the battery's by more than meters err, and each is
// nearer to what the other should be: in either order, and on one line alone.
func TestMarkExchanged(t *testing.T) {
	n := instrument.NewNoise(vehicle.Example())
	for _, c := range []struct {
		battery, vehicle, wantB, wantV float64
		set                            bool
	}{
		{8.7, 12.3, 12.3, 8.7, true}, {12.3, 8.7, 12.3, 8.7, false}, {8.9, 12.1, 12.3, 8.7, true},
		{12.3, 12.9, 12.3, 8.7, false}, // the vehicle's alone is off
		{10, 12.3, 12.3, 12, false},    // the battery's alone is off
		{12.29, 12.31, 12.31, 12.29, false},
	} {
		for _, turned := range []bool{false, true} {
			for _, apart := range []int{0, 1} {
				cells := []Cell{{Line: &session.Line{}, Quantity: quantity.BatteryV, Value: c.battery}, {Line: &session.Line{}, Quantity: quantity.VehicleV, Value: c.vehicle, obs: apart}}
				want := []float64{c.wantB, c.wantV}
				if turned {
					cells[0], cells[1], want[0], want[1] = cells[1], cells[0], want[1], want[0]
				}
				d := &dive{cells: cells}
				d.markExchanged(n, want)
				for k := range d.cells {
					assert.Equal(t, c.set && apart == 0, d.cells[k].Outlier && d.cells[k].slip, "%+v, turned %v, %d apart", c, turned, apart)
				}
			}
		}
	}
}

// A hover weight and a voltage have changed places where one of them cannot be and each is nearer to what the other should be.
func TestMarkExchangedHoverWeight(t *testing.T) {
	n := instrument.NewNoise(vehicle.Example())
	for name, c := range map[string]struct {
		volts, grams float64
		impossible   bool // the voltage
		set          bool
	}{
		"exchanged":                  {180, 6.3, true, true},
		"the voltage may be":         {180, 6.3, false, false},
		"the voltage alone off":      {180, 185, true, false},
		"a leak on a line of a slip": {63, 120, true, false},
	} {
		cells := []Cell{{Line: &session.Line{}, Quantity: quantity.BatteryV, Value: c.volts, slip: c.impossible}, {Line: &session.Line{}, Quantity: quantity.Trim, Value: c.grams}}
		d := &dive{cells: cells}
		d.markExchanged(n, []float64{6.4, 188})
		assert.Equal(t, c.set, d.cells[0].Outlier && d.cells[1].Outlier && d.cells[1].slip, name)
	}
}

// A current and a voltage have changed places where no battery has that voltage and each is nearer to what the other should be.
func TestMarkExchangedCurrent(t *testing.T) {
	n := instrument.NewNoise(vehicle.Example())
	for name, c := range map[string]struct {
		amps, volts float64
		impossible  bool // the voltage
		set         bool
	}{
		"exchanged":               {9.2, 35.7, true, true},
		"a jam, or a contact":     {9.2, 35.7, false, false},
		"the voltage alone off":   {35, 35.7, true, false},
		"another current as well": {22, 90, true, false},
	} {
		for _, q := range []quantity.Quantity{quantity.BatteryV, quantity.VehicleV} {
			for _, turned := range []bool{false, true} {
				cells := []Cell{{Line: &session.Line{}, Quantity: quantity.CurrentA, Value: c.amps}, {Line: &session.Line{}, Quantity: q, Value: c.volts, slip: c.impossible}}
				want := []float64{35, 9.3}
				if turned {
					cells[0], cells[1], want[0], want[1] = cells[1], cells[0], want[1], want[0]
				}
				d := &dive{cells: cells}
				d.markExchanged(n, want)
				for k := range d.cells {
					assert.Equal(t, c.set || c.impossible && d.cells[k].Quantity == q, d.cells[k].slip, "%s, turned %v", name, turned)
				}
			}
		}
	}
}
