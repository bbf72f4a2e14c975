package forecast_test

import (
	"slices"
	"strings"
	"testing"

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

// fitted is the fit of a simulated log.
func fitted(t *testing.T, seed uint64, s simulate.Season) *fit.Result {
	t.Helper()
	v, log, _ := simulate.FleetLog(seed, s)
	r, err := fit.Fit(v, log)
	require.NoError(t, err)
	return r
}

// expected is what one quantity of a line should be.
func expected(t *testing.T, f *forecast.Forecast, l *session.Line, q quantity.Quantity) forecast.Expected {
	t.Helper()
	all, err := f.Line(l)
	require.NoError(t, err)
	for _, e := range all {
		if e.Quantity == q {
			return e
		}
	}
	require.Fail(t, "not expected", q.String())
	return forecast.Expected{}
}

// What a dive should read is known better line by line; it holds 95 % of what is
// read; a reading that surprises teaches nothing.
func TestForecastsLearn(t *testing.T) {
	var held, of float64
	narrower := 0.0
	const logs = 8
	for seed := range uint64(logs) {
		v, log, _ := simulate.FleetLog(seed+30, simulate.Season{Dives: 8})
		next := log.Dives[7]
		log.Dives = log.Dives[:7]
		r, err := fit.Fit(v, log)
		require.NoError(t, err)
		f := forecast.New(r, r.Base, nil, fit.Posterior{})
		last := &next.Lines[len(next.Lines)-3]
		before := expected(t, f, last, quantity.BatteryV)
		for i := range next.Lines {
			l := &next.Lines[i]
			all, err := f.Line(l)
			require.NoError(t, err)
			for _, e := range all {
				if v := l.Readings[e.Quantity]; v.Measured() {
					if of++; e.Low <= v.X && v.X <= e.High {
						held++
					}
				}
			}
			require.NoError(t, f.Learn(l))
		}
		after := expected(t, f, last, quantity.BatteryV)
		narrower += (before.High - before.Low) / (after.High - after.Low) / logs
	}
	t.Logf("%.3f of %v, %.1f times narrower", held/of, of, narrower)
	assert.InDelta(t, 0.95, held/of, 0.045)
	assert.Greater(t, narrower, 2.0)

	v, log, _ := simulate.FleetLog(30, simulate.Season{Dives: 8})
	r, err := fit.Fit(v, log)
	require.NoError(t, err)
	f := forecast.New(r, r.Base, nil, fit.Posterior{})
	i := slices.IndexFunc(log.Dives[7].Lines, func(l session.Line) bool { return l.Readings[quantity.CurrentA].Measured() && len(l.Drives) == 2 })
	l := log.Dives[7].Lines[i]
	before := expected(t, f, &l, quantity.CurrentA)
	wrong := l
	set := func(q quantity.Quantity, x float64) {
		v := l.Readings[q]
		v.Entered, v.X = x, v.Column.ToBase(x)
		wrong.Put(v)
	}
	set(quantity.CurrentA, before.Value+before.High-before.Low+3)
	set(quantity.BatteryV, 99)
	set(quantity.VehicleV, 0.1)
	g := f.Clone()
	require.NoError(t, g.Learn(&wrong))
	assert.InDelta(t, before.Value, expected(t, g, &l, quantity.CurrentA).Value, 0.25*(before.High-before.Low))
	require.NoError(t, g.Learn(&l))
	assert.Equal(t, before, expected(t, f, &l, quantity.CurrentA), "a clone learns apart")
	data, err := f.MarshalBinary()
	require.NoError(t, err)
	read, err := forecast.Read(r.Model.Vehicle, log, data)
	require.NoError(t, err)
	assert.Equal(t, before, expected(t, read, &l, quantity.CurrentA), "what is written and read again expects the same")
	_, err = forecast.Read(r.Model.Vehicle, log, append(slices.Clone(data), 0))
	require.Error(t, err, "of a vehicle with more thrusters")
	_, err = forecast.Read(r.Model.Vehicle, log, data[8:])
	assert.ErrorContains(t, err, "another vehicle")
	l.Drives = []session.Drive{{Name: "stern"}}
	_, err = f.Line(&l)
	assert.ErrorContains(t, err, "stern")
}

// A battery that comes to a dive fuller or emptier than to those before is taken as it reads at rest, and the voltages under
// load after that; a reading that no battery of its kind rests at teaches nothing, nor does one under load.
func TestForecastsLearnTheCharge(t *testing.T) {
	v, log, _ := simulate.FleetLog(30, simulate.Season{Dives: 8})
	r, err := fit.Fit(v, log)
	require.NoError(t, err)
	lines := log.Dives[7].Lines
	rest := lines[slices.IndexFunc(lines, func(l session.Line) bool {
		return len(l.Drives) == 0 && l.Electrical && l.Readings[quantity.BatteryV].Measured()
	})]
	loaded := lines[slices.IndexFunc(lines, func(l session.Line) bool { return len(l.Drives) == 2 && l.Readings[quantity.BatteryV].Measured() })]
	f := forecast.New(r, r.Base, nil, fit.Posterior{})
	usual, under := expected(t, f, &rest, quantity.BatteryV), expected(t, f, &loaded, quantity.BatteryV).Value
	after := func(l session.Line, volts float64) float64 {
		g := f.Clone()
		x := l.Readings[quantity.BatteryV]
		x.Entered, x.X = volts, volts
		l.Put(x)
		require.NoError(t, g.Learn(&l))
		return expected(t, g, &loaded, quantity.BatteryV).Value
	}
	empty := v.Battery.RestAt(0)
	require.True(t, usual.Surprising(empty), "%+v, %g V", usual, empty)
	assert.InDelta(t, under-usual.Value+empty, after(rest, empty), 0.3*(usual.Value-empty))
	assert.InDelta(t, under, after(rest, 0.9*empty), 1e-9)
	assert.InDelta(t, after(loaded, 99), after(loaded, 0.9*empty), 1e-9)
}

// The next dive's readings are the ones that tell most: each narrows what is
// open, the best first, and none is offered that the log never reads.
func TestCard(t *testing.T) {
	r := fitted(t, 33, simulate.Season{Dives: 8})
	open := map[int]float64{}
	for k := range r.Space.Faults() {
		open[k] = 1
	}
	at := append(predict.Params(nil), r.Base...)
	at[predict.OpenCircuitV] = r.Model.Vehicle.Battery.RestV()
	card := forecast.Card(r, at, fit.Posterior{}, predict.Condition{WaterC: 15, TetherOutM: 15}, r.Reads(), open, 8)
	require.Len(t, card, 8)
	read := map[quantity.Quantity]bool{}
	for _, c := range card {
		assert.Less(t, c.Low, c.Expected)
		assert.Less(t, c.Expected, c.High)
		assert.Contains(t, r.Space.Faults(), c.Param)
		read[c.Quantity] = true
		if rest := !slices.ContainsFunc(c.Sign, func(s int8) bool { return s != 0 }); c.Quantity == quantity.BatteryV {
			scatter := 2 * 1.96 * r.Space.Of[predict.OpenCircuitV].Scatter
			assert.Equal(t, rest, c.High-c.Low > 0.8*scatter, "what a battery rests at differs from dive to dive, what it reads under load is beside that")
		}
	}
	assert.False(t, read[quantity.LoopOhm])
	assert.False(t, read[quantity.Insulation])
	assert.True(t, read[quantity.Trim] || read[quantity.Climb])
	assert.True(t, read[quantity.Pull] || read[quantity.Speed])
	assert.NotContains(t, r.Space.Faults(), predict.LogClamp)
	less := fitted(t, 33, simulate.Season{Dives: 8, Without: simulate.VoltsOnly})
	for _, c := range forecast.Card(less, at, fit.Posterior{}, predict.Condition{WaterC: 15, TetherOutM: 15}, less.Reads(), open, 8) {
		assert.NotContains(t, simulate.VoltsOnly, c.Quantity)
	}
	// what the file alone knows is not even about what is expected: no thruster pulls back
	first, err := fit.Fit(vehicle.Example(), &session.Log{})
	require.NoError(t, err)
	for _, c := range forecast.Card(first, first.Base, fit.Posterior{}, predict.Condition{WaterC: 15, TetherOutM: 20}, first.Reads(), open, 12) {
		if c.Quantity == quantity.Pull || c.Quantity == quantity.CurrentA {
			assert.Greater(t, c.Low, 0.0)
			assert.Greater(t, c.High-c.Expected, c.Expected-c.Low)
		}
	}
	// what only one question is open to is asked about it
	one := forecast.Card(r, at, fit.Posterior{}, predict.Condition{WaterC: 15, TetherOutM: 15}, r.Reads(), map[int]float64{predict.TrimG: 1}, 1)
	require.Len(t, one, 1)
	assert.Equal(t, predict.TrimG, one[0].Param)
	assert.Contains(t, []quantity.Quantity{quantity.Trim, quantity.Climb}, one[0].Quantity)
}

// A thrust that is less and a drag that is more read alike but for the pull.
func TestSeparates(t *testing.T) {
	r := fitted(t, 34, simulate.Season{Dives: 8})
	at := append(predict.Params(nil), r.Base...)
	at[predict.OpenCircuitV] = r.Model.Vehicle.Battery.RestV()
	weak, slow := append(predict.Params(nil), at...), append(predict.Params(nil), at...)
	weak[predict.LogThrust] -= 0.3
	slow[predict.LogDrag] += 0.3
	c := predict.Condition{WaterC: 15, TetherOutM: 15}
	best, there, apart, ok := forecast.Separates(r, weak, slow, c, false)
	require.True(t, ok)
	assert.Greater(t, apart, 2.0)
	assert.Contains(t, []quantity.Quantity{quantity.Pull, quantity.Climb}, best.Quantity)
	assert.NotEqual(t, best.Expected, there)
	_, _, _, ok = forecast.Separates(r, at, at, c, false)
	assert.False(t, ok)

	// three times the voltmeter's noise, yet less than rest voltages differ from dive to dive
	fuller, noise := append(predict.Params(nil), at...), r.Noise.SD(quantity.BatteryV, at[predict.OpenCircuitV])
	require.Greater(t, r.Space.Of[predict.OpenCircuitV].Scatter, 3*noise)
	fuller[predict.OpenCircuitV] += 3 * noise
	_, _, _, ok = forecast.Separates(r, fuller, at, c, false)
	assert.False(t, ok)

	one := append(predict.Params(nil), at...)
	one[predict.OfThruster(0, predict.LogOneThrust)] -= 0.4
	running := func(together ...int) (n int) {
		best, _, _, ok := forecast.Separates(r, one, at, c, false, together...)
		require.True(t, ok)
		for _, i := range []int{0, 1} {
			if best.Sign[i] != 0 {
				n++
			}
		}
		return n
	}
	assert.Equal(t, 1, running(), "the weak one alone")
	assert.Equal(t, 2, running(0, 1), "where it may be the other")
}

// Two cells of lithium-ion have no more than 8.4 V, whatever else is not known of
// them: what the meter errs by comes on top.
func TestForecastsEndAtAFullBattery(t *testing.T) {
	v, err := vehicle.Read(strings.NewReader(simulate.VehicleText), vehicle.FileName)
	require.NoError(t, err)
	v.Battery.NominalV, v.Battery.Chemistry = 7.4, "lithium-ion"
	e := expected(t, forecast.AsBuilt(v), &session.Line{Electrical: true}, quantity.BatteryV)
	assert.InDelta(t, 8.4, e.High, 0.1)
	assert.Less(t, e.Low, 7.8)
}

// Without an ammeter a current tells most of the resistance, or what else needs none.
func TestMostTelling(t *testing.T) {
	open := fitted(t, 3, simulate.Season{Dives: 9, Without: simulate.VoltsOnly})
	g, ok := forecast.MostTelling(open, 8, predict.LoopOhm)
	require.True(t, ok)
	assert.Contains(t, []quantity.Quantity{quantity.CurrentA, quantity.VehicleV, quantity.LoopOhm}, g.Quantity)
	assert.Less(t, g.With, g.Before/2)
}
