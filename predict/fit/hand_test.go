package fit

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/lsq"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

func value(x float64) session.Value {
	c, _ := session.Find("depth_m")
	return session.Value{X: x, Entered: x, Column: c}
}

// lineOf is a line at a minute, a depth and with a tether out, each NaN where it is not given, and what runs.
func lineOf(minute, depth, tether float64, drives ...string) session.Line {
	l := session.Line{}
	for i, to := range []*session.Value{&l.Minute, &l.Depth, &l.TetherOut} {
		if x := []float64{minute, depth, tether}[i]; !math.IsNaN(x) {
			*to = value(x)
		}
	}
	for _, name := range drives {
		l.Drives = append(l.Drives, session.Drive{Name: name})
	}
	return l
}

var nan = math.NaN()

// Minutes that are not given lie evenly between their neighbours', three apart before the first and after the last.
func TestMinutes(t *testing.T) {
	for _, c := range []struct{ given, want []float64 }{
		{[]float64{0, 5, 9}, []float64{0, 5, 9}},
		{[]float64{2, nan, nan, 11}, []float64{2, 5, 8, 11}},
		{[]float64{nan, nan, 10}, []float64{4, 7, 10}},
		{[]float64{nan, nan, 2}, []float64{0, 0, 2}},
		{[]float64{4, nan, nan}, []float64{4, 7, 10}},
		{[]float64{nan, nan}, []float64{3, 6}},
		{[]float64{nan, 8, nan, 20, nan}, []float64{5, 8, 14, 20, 23}},
	} {
		d := &session.Dive{}
		for _, m := range c.given {
			d.Lines = append(d.Lines, lineOf(m, nan, nan))
		}
		minutes, guessed := minutesOf(d)
		assert.Equal(t, c.want, minutes)
		for i, m := range c.given {
			assert.Equal(t, math.IsNaN(m), guessed[i])
		}
	}
}

// unknownOf is what a line does not give of a circumstance.
func unknownOf(c *circumstance, param int) (u unknown, is bool) {
	for _, x := range c.unknown {
		if x.param == param {
			u, is = x, true
		}
	}
	return u, is
}

// Windings warm with the minutes that thrusters have run before, at most 24 of one line, by 63 % in twelve; until one
// runs, nothing is unknown of that.
func TestWindingsWarm(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	name := m.Vehicle.Thrusters[0].Name
	d := &session.Dive{Lines: []session.Line{lineOf(0, 1, 9), lineOf(4, 1, 9, name), lineOf(16, 1, 9), lineOf(20, 1, 9, name), lineOf(80, 1, 9)}}
	var u usual
	cs := u.dive(m, d)
	for i, want := range []float64{0, 0, 1 - math.Exp(-1), 1 - math.Exp(-1), 1 - math.Exp(-3)} {
		assert.InDelta(t, want, cs[i].cond.Warm, 1e-12, "line %d", i)
		_, is := unknownOf(&cs[i], predict.WarmK)
		assert.Equal(t, i > 0, is, "line %d", i)
	}
}

// A depth that is not given is that of the dive's other lines below the surface; of a dive without any what dives
// had before, to begin with 2.5 m; of a hover weight or a pull on a scale that of the surface.
func TestDepthsNotGiven(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	name := m.Vehicle.Thrusters[0].Name
	var u usual
	held := lineOf(3, nan, 9, name)
	held.Held = true
	of := func(d *session.Dive) []circumstance { return u.dive(m, d) }

	cs := of(&session.Dive{Lines: []session.Line{lineOf(0, 3, 9, name), lineOf(1, nan, 9, name), lineOf(2, 5, 9, name), held, lineOf(4, 0.2, 9)}})
	assert.Equal(t, 3.0, cs[0].cond.DepthM)
	assert.Equal(t, 4.0, cs[1].cond.DepthM, "0.2 m is at the surface")
	assert.Zero(t, cs[3].cond.DepthM)
	_, is := unknownOf(&cs[0], predict.DepthM)
	assert.False(t, is)
	within, _ := unknownOf(&cs[1], predict.DepthM)
	assert.InDelta(t, 0.15*4+0.3, within.line, 1e-9)
	assert.Zero(t, within.dive)
	moored, _ := unknownOf(&cs[3], predict.DepthM)
	assert.InDelta(t, 0.3, moored.line, 1e-9)

	none := &session.Dive{Lines: []session.Line{lineOf(1, nan, 9, name), lineOf(2, nan, 9, name)}}
	cs = of(none)
	assert.Equal(t, 2.5, cs[0].cond.DepthM)
	all, _ := unknownOf(&cs[0], predict.DepthM)
	assert.InDelta(t, 0.6*2.5, all.dive, 1e-9)
	u.learn(m, &session.Dive{Lines: []session.Line{lineOf(0, 4, 9, name), lineOf(1, 6, 9, name)}})
	assert.InDelta(t, 5, of(none)[0].cond.DepthM, 1e-9)
}

// Hover weights are read near the surface, whatever the dive's depth; what runs is at its dive's depth. No vehicle is deeper than
// the tether that is out.
func TestDepthsByKindOfLine(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	name := m.Vehicle.Thrusters[0].Name
	var u usual
	hover := func(depth float64) session.Line {
		l := lineOf(1, depth, 9)
		l.Readings[quantity.Trim] = value(50)
		return l
	}
	for i, depth := range []float64{12, 20, 14, 18} {
		u.learn(m, &session.Dive{Lines: []session.Line{hover(0.3 + 0.2*float64(i)), lineOf(2, depth, 30, name), lineOf(3, depth+0.5, 30, name), lineOf(4, depth-0.5, 30, name)}})
	}
	for _, other := range []float64{nan, 15} {
		c := u.dive(m, &session.Dive{Lines: []session.Line{hover(nan), lineOf(2, other, 30, name)}})[0]
		depth, _ := unknownOf(&c, predict.DepthM)
		assert.InDelta(t, 0.6, c.cond.DepthM, 1e-9)
		assert.Less(t, math.Hypot(depth.line, depth.dive), 0.6)
	}
	cs := u.dive(m, &session.Dive{Lines: []session.Line{lineOf(2, 9, 30, name), lineOf(3, nan, 30, name), lineOf(4, nan, 4, name)}})
	assert.InDelta(t, 9, cs[1].cond.DepthM, 0.5, "as its dive, not as the others'")
	assert.Equal(t, 4.0, cs[2].cond.DepthM)
	none := u.dive(m, &session.Dive{Lines: []session.Line{lineOf(3, nan, 30, name)}})[0]
	depth, _ := unknownOf(&none, predict.DepthM)
	assert.InDelta(t, 16, none.cond.DepthM, 1e-9)
	assert.Greater(t, depth.dive, 2*depth.line, "one dive's lines lie together")
}

// Tether that is not given is what the line before had out, else what was out on average, else half of it, evenly
// unknown; never less than the depth.
func TestTetherNotGiven(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	length := m.Vehicle.Tether.LengthM
	var u usual
	cs := u.dive(m, &session.Dive{Lines: []session.Line{lineOf(0, 2, nan), lineOf(1, 2, 9), lineOf(2, 2, nan), lineOf(3, 11, nan), lineOf(4, 3*length, nan)}})
	for i, want := range []float64{length / 2, 9, 9, 11, length} {
		assert.InDelta(t, want, cs[i].cond.TetherOutM, 1e-9, "line %d", i)
	}
	first, _ := unknownOf(&cs[0], predict.TetherOutM)
	assert.InDelta(t, length/math.Sqrt(12), first.line, 0.01*length, "even from nothing to all of it")
	assert.InDelta(t, first.line/2, first.dive, 1e-9)
	_, is := unknownOf(&cs[1], predict.TetherOutM)
	assert.False(t, is)
	after, _ := unknownOf(&cs[2], predict.TetherOutM)
	assert.Zero(t, after.dive, "the line before says it")
	u.learn(m, &session.Dive{Lines: []session.Line{lineOf(0, 2, 12), lineOf(0, 2, 18)}})
	assert.InDelta(t, 15, u.dive(m, &session.Dive{Lines: []session.Line{lineOf(0, 2, nan)}})[0].cond.TetherOutM, 1e-9)
}

// Water that is not given is that of the dive before, within 3 K and what the year has done since; of a log that has
// none it is 15 °C within 4 K and the year's course, which is that of the dive's day.
func TestWaterNotGiven(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	var u usual
	spring := &session.Dive{Date: time.Date(2026, 4, 2, 0, 0, 0, 0, time.UTC), Lines: []session.Line{lineOf(0, 2, 9)}} // day 92
	c := u.dive(m, spring)[0]
	w, _ := unknownOf(&c, predict.WaterK)
	assert.Equal(t, []float64{15, 4}, []float64{c.cond.WaterC, w.dive})
	assert.InDelta(t, 1, c.cond.YearSin, 0.01)
	assert.InDelta(t, 0, c.cond.YearCos, 0.02)
	read := *spring
	read.Lines = []session.Line{lineOf(0, 2, 9)}
	read.Lines[0].WaterC = value(8)
	c = u.dive(m, &read)[0]
	_, is := unknownOf(&c, predict.WaterK)
	assert.False(t, is)
	assert.Equal(t, 8.0, c.cond.WaterC)
	u.learn(m, &read)
	c = u.dive(m, spring)[0]
	w, _ = unknownOf(&c, predict.WaterK)
	assert.Equal(t, []float64{8, 3, 0, 0}, []float64{c.cond.WaterC, w.dive, c.cond.YearSin, c.cond.YearCos})
	summer, undated := *spring, *spring
	summer.Date, undated.Date = summer.Date.AddDate(0, 3, 0), time.Time{} // day 183
	c = u.dive(m, &summer)[0]
	assert.InDelta(t, -1, c.cond.YearSin, 0.02)
	assert.InDelta(t, -1, c.cond.YearCos, 0.02)
	c = u.dive(m, &undated)[0]
	assert.Equal(t, []float64{0, 0}, []float64{c.cond.YearSin, c.cond.YearCos})
	c = new(usual).dive(m, &undated)[0]
	w, _ = unknownOf(&c, predict.WaterK)
	assert.Equal(t, []float64{15, 0, 0}, []float64{c.cond.WaterC, c.cond.YearSin, c.cond.YearCos})
	assert.InDelta(t, math.Sqrt(4*4+5*5), w.dive, 1e-12, "of any time of the year")
}

// What lights draw and how water goes with the year is not asked of a log that has no lights on, or the temperature of
// every dive.
func TestUnneeded(t *testing.T) {
	plain, lit, read := session.Line{}, session.Line{Lights: true}, session.Line{WaterC: value(12)}
	const lights, sin, cos = predict.LightsA, predict.YearSinK, predict.YearCosK
	dive := func(lines ...session.Line) session.Dive { return session.Dive{Lines: lines} }
	for name, c := range map[string]struct {
		dives []session.Dive
		want  []int
	}{
		"neither":             {[]session.Dive{dive(plain), dive(plain)}, []int{lights}},
		"lit once":            {[]session.Dive{dive(plain), dive(plain, lit)}, nil},
		"read on every dive":  {[]session.Dive{dive(read, read), dive(read)}, []int{lights, cos, sin}},
		"not on the second":   {[]session.Dive{dive(read, read), dive(plain)}, []int{lights}},
		"read only later":     {[]session.Dive{dive(plain), dive(read)}, []int{lights}},
		"read, and lit later": {[]session.Dive{dive(read), dive(session.Line{Lights: true, WaterC: value(12)})}, []int{cos, sin}},
	} {
		assert.ElementsMatch(t, c.want, unneeded(&session.Log{Dives: c.dives}), name)
	}
}

// The rest voltage of a dive is the median of its lines at rest that lie within 1.3 times of what all its readings of
// the battery lie about; with few readings within twice its nominal; without any it is that.
func TestRestVoltage(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	nominal, charged := m.Vehicle.Battery.NominalV, m.Vehicle.RestBelief().Value
	rest, loaded := &session.Line{}, &session.Line{Drives: []session.Drive{{Name: "port"}}}
	for name, c := range map[string]struct {
		rest, loaded []float64
		want, about  float64
	}{
		"three":          {[]float64{12.7, 12.9, 12.6}, []float64{11.8}, 12.7, 12.7},
		"one of no sort": {[]float64{12.7, 21.7, 12.6}, []float64{11.8, 11.9}, 12.7, 12.6},
		"far below":      {[]float64{12.7, 9.2}, []float64{12.3, 12.4}, 12.7, 12.4},
		"none at rest":   {nil, []float64{11.8, 12, 11.9}, charged, 11.9},
		"one reading":    {[]float64{13.1}, nil, 13.1, 0},
		"one of no use":  {[]float64{2.1 * nominal}, nil, charged, 0},
	} {
		d := &dive{}
		for _, x := range c.rest {
			d.cells = append(d.cells, Cell{Line: rest, Quantity: quantity.BatteryV, Value: x}, Cell{Line: rest, Quantity: quantity.Trim, Value: 7})
		}
		for _, x := range c.loaded {
			d.cells = append(d.cells, Cell{Line: loaded, Quantity: quantity.BatteryV, Value: x})
		}
		v, about, none := restVoltage(m, d)
		assert.Equal(t, []float64{c.want, c.about}, []float64{v, about}, name)
		assert.Equal(t, c.want == charged, none, name)
	}
}

// Two neighbouring digits of a number swap, also across the point; like ones do not.
func TestSwaps(t *testing.T) {
	for x, want := range map[float64][]float64{12.3: {21.3, 13.2}, 1.5: {5.1}, 11.2: {12.1}, 100: {10}, 0.45: {4.05, 0.54}, 7: nil} {
		assert.Equal(t, want, swaps(x), "%g", x)
	}
}

// The evidence of a fit by Laplace's method: half the loss and half the logarithm of the determinant, and the
// priors' widths of what each line has of its own. Huber's loss of a residual of z is 2.5·(2z − 2.5), of one set aside that of 6.
func TestEvidenceOfAFit(t *testing.T) {
	d := &dive{obs: make([]observation, 3), cells: []Cell{{weight: 1}, {weight: 0.5}, {weight: 1, Outlier: true}, {weight: 1, slip: true, Outlier: true}}}
	loss := 2.5*(2*5-2.5) - 0.5*25 + 2.5*(2*6-2.5)
	assert.InDelta(t, loss, d.robustLoss(), 1e-12)
	res := &lsq.Result{Cost: 7, LogDet: 11}
	assert.InDelta(t, -0.5*(7+loss)-0.5*11, d.evidence(res, nil), 1e-12)
	assert.InDelta(t, -0.5*(7+loss)-0.5*11-3*math.Log(0.2)-3*math.Log(0.05), d.evidence(res, []lineScatter{{predict.LoopOhm, 0.2}, {predict.OpenCircuitV, 0.05}}), 1e-12)
}

// Variances are near while none has grown or shrunk to half again.
func TestNear(t *testing.T) {
	assert.True(t, near([]float64{1, 1.45}, []float64{1.45, 1}))
	assert.False(t, near([]float64{1, 1.55}, []float64{1, 1}))
	assert.False(t, near([]float64{1, 1}, []float64{1, 1.55}))
	assert.True(t, near(nil, nil))
}

// What lights draw is learnt only where the file says neither current nor resistor.
func TestLightsOfTheFile(t *testing.T) {
	v := vehicle.Example()
	v.Lights.CurrentA, v.Lights.ResistorOhm = 0, nil
	assert.Positive(t, lightsA(v).beside)
	v.Lights.CurrentA = 0.5
	assert.Zero(t, lightsA(v).beside)
	v.Lights.CurrentA, v.Lights.ResistorOhm = 0, []float64{20}
	assert.Zero(t, lightsA(v).beside)
}

// A decimal slip lies five standard deviations off or is a fifth of what is well known, and within three with the
// point one place away.
func TestDecimalSlip(t *testing.T) {
	amps := &Cell{Quantity: quantity.CurrentA}
	for _, c := range []struct {
		x, want, sd float64
		slip        bool
	}{
		{80, 8, 0.5, true}, {0.8, 8, 0.5, true}, {9.4, 8, 0.5, false}, {80, 8, 15, false}, {96, 8, 0.5, false}, {94, 8, 0.5, true}, {66, 8, 0.5, true}, {64, 8, 0.5, false},
		{0.8, 8, 3.9, true}, {0.8, 8, 4.1, false}, {11, 8, 0.5, false},
	} {
		assert.Equal(t, c.slip, decimalSlip(amps, c.x, c.want, c.sd), "%+v", c)
	}
	assert.False(t, decimalSlip(&Cell{Quantity: quantity.Trim}, 7, 70, 20), "a small hover weight may be a leak")
}

// A line of a thruster that the vehicle does not have has no forecast, and teaches none.
func TestForecastOfAnotherVehiclesLine(t *testing.T) {
	f := AsBuilt(vehicle.Example())
	l := lineOf(1, 2, 9, "sideways")
	_, err := f.Line(&l)
	require.ErrorContains(t, err, "sideways")
	require.ErrorContains(t, f.Learn(&l), "sideways")
}

// A line's readings are expected where it is read, and its climb where a vehicle is that has begun to climb.
func TestAClimbIsForecastApart(t *testing.T) {
	f := AsBuilt(vehicle.Example())
	l := lineOf(3, 8, 12)
	all, err := f.Line(&l)
	require.NoError(t, err)
	o, err := f.observe(&l)
	require.NoError(t, err)
	var still, climbing predict.Point
	f.m.Solve(&o.cond, f.p, &still, nil)
	o.cond.Climbing = true
	f.m.Solve(&o.cond, f.p, &climbing, nil)
	seen := 0
	for _, e := range all {
		switch e.Quantity {
		case quantity.Climb:
			assert.InDelta(t, climbing.Out[e.Quantity], e.Value, 1e-9)
			seen++
		case quantity.Trim:
			assert.InDelta(t, still.Out[e.Quantity], e.Value, 1e-9)
			seen++
		}
	}
	assert.Equal(t, 2, seen)
}
