package fit_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/session"
	"sagline/session/quantity"
)

// What is expected of a sound season's last dive holds for its readings as
// often as it says, the more closely the later in the dive.
func TestForecastHolds(t *testing.T) {
	var n, held, asked int
	var first, last float64
	for seed := range uint64(40) {
		v := simulate.Fleet(seed)
		log := simulate.Log(v, simulate.Season{Dives: 10, Seed: 900 + seed})
		dive := log.Dives[9]
		log.Dives = log.Dives[:9]
		r, err := fit.Fit(v, log, nil)
		require.NoError(t, err)
		f := r.Forecast(drift.Believed(r, drift.Analyse(r)), nil)
		var widths []float64
		for i := range dive.Lines {
			l := &dive.Lines[i]
			want, err := f.Line(l)
			require.NoError(t, err)
			for _, e := range want {
				x := l.Readings[e.Quantity]
				if !x.Measured() {
					continue
				}
				n++
				if math.Abs(x.X-e.Value) < 1.96*e.SD {
					held++
				}
				if e.Surprising(x.X) {
					asked++
				}
				if e.Quantity == quantity.BatteryV {
					widths = append(widths, e.SD)
				}
			}
			require.NoError(t, f.Learn(l))
		}
		first, last = first+widths[0], last+widths[len(widths)-1]
	}
	assert.InDelta(t, 0.95, float64(held)/float64(n), 0.02, "of %d readings", n)
	assert.Less(t, float64(asked)/float64(n), 0.002, "sound readings asked about")
	assert.Less(t, last, first/2, "the battery is known after its first readings")
}

func TestForecastBeforeTheFirstDive(t *testing.T) {
	v := simulate.Fleet(1)
	f := fit.AsBuilt(v)
	ls, list := session.ParseRows(session.Row{"thrusters": "port + starboard"})
	require.Empty(t, list)
	want, err := f.Line(&ls[0])
	require.NoError(t, err)
	require.NotEmpty(t, want)
	for _, e := range want {
		assert.Positive(t, e.SD)
	}
	ls, _ = session.ParseRows(session.Row{"thrusters": "bow"})
	_, err = f.Line(&ls[0])
	assert.ErrorContains(t, err, `found "bow", want a thruster of vehicle.toml`)
}

func TestGuess(t *testing.T) {
	volts := fit.Expected{Quantity: quantity.BatteryV, Value: 12.3, SD: 0.1}
	amps := fit.Expected{Quantity: quantity.CurrentA, Value: 8.1, SD: 0.2}
	speed := fit.Expected{Quantity: quantity.Speed, Value: 0.5, SD: 0.02}
	trim := fit.Expected{Quantity: quantity.Trim, Value: 85, SD: 5}
	all := []fit.Expected{volts, amps, speed, trim}
	for _, c := range []struct {
		e     fit.Expected
		entry session.Row
		slip  fit.Slip
		meant float64
	}{
		{volts, session.Row{"battery_v": "123"}, fit.DecimalPoint, 12.3},
		{volts, session.Row{"battery_v": "1.24"}, fit.DecimalPoint, 12.4},
		{volts, session.Row{"battery_v": "8.15"}, fit.WrongColumn, 8.15},
		{volts, session.Row{"battery_v": "13.2"}, fit.SwappedDigits, 12.3},
		{volts, session.Row{"battery_v": "21.3"}, fit.SwappedDigits, 12.3},
		{speed, session.Row{"run_m": "10", "run_s": "2"}, fit.DecimalPoint, 20},
		{trim, session.Row{"trim_g": "-86"}, fit.WrongSign, 86},
		{trim, session.Row{"trim_g": "3"}, fit.WrongUnit, 85.048569375},
	} {
		ls, list := session.ParseRows(c.entry)
		require.Empty(t, list)
		v := ls[0].Readings[c.e.Quantity]
		require.True(t, c.e.Surprising(v.X), "%v", c.entry)
		g, ok := c.e.Guess(v, all)
		require.True(t, ok, "%v", c.entry)
		assert.Equal(t, c.slip, g.Slip, "%v", c.entry)
		assert.InDelta(t, c.meant, g.Meant, 1e-9)
	}
	ls, _ := session.ParseRows(session.Row{"battery_v": "5.5"})
	_, ok := volts.Guess(ls[0].Readings[quantity.BatteryV], all)
	assert.False(t, ok)
}
