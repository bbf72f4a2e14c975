package fit

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict"
	"sagline/predict/circumstances"
	"sagline/predict/lsq"
	"sagline/predict/mixture"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// example is the vehicle of logs made by hand: two thrusters ahead, one up.
var example = predict.NewModel(vehicle.Example())

// What lights draw, how water goes with the year, what an ohmmeter's leads add and how the hull swells is not asked of a log that
// has no lights on, the temperature of every dive, no ohmmeter, or nothing that tells of buoyancy.
func TestUnneeded(t *testing.T) {
	water := session.Value{X: 12, Entered: 12, Column: &session.Column{}}
	plain, lit, read := session.Line{}, session.Line{Lights: true}, session.Line{WaterC: water}
	const lights, unlit, sin, cos, depth = predict.LightsA, predict.UnlitA, predict.YearSinK, predict.YearCosK, predict.AssumedDepthM
	const leads, hull, perM, magnetCos, magnetSin = predict.LoopMeterOhm, predict.HullPerK, predict.TrimPerM, predict.MagnetYearCos, predict.MagnetYearSin
	reads := func(q quantity.Quantity) (l session.Line) {
		l.Readings[q] = water
		return l
	}
	dive := func(lines ...session.Line) session.Dive { return session.Dive{Lines: lines} }
	for name, c := range map[string]struct {
		dives []session.Dive
		want  []int
	}{
		"neither":             {[]session.Dive{dive(plain), dive(plain)}, []int{depth, leads, hull, perM, lights, unlit}},
		"lit once":            {[]session.Dive{dive(plain), dive(plain, lit)}, []int{depth, leads, hull, perM}},
		"read on every dive":  {[]session.Dive{dive(read, read), dive(read)}, []int{depth, leads, hull, perM, lights, unlit, cos, sin, magnetCos, magnetSin}},
		"not on the second":   {[]session.Dive{dive(read, read), dive(plain)}, []int{depth, leads, hull, perM, lights, unlit}},
		"read only later":     {[]session.Dive{dive(plain), dive(read)}, []int{depth, leads, hull, perM, lights, unlit}},
		"read, and lit later": {[]session.Dive{dive(read), dive(session.Line{Lights: true, WaterC: water})}, []int{depth, leads, hull, perM, cos, sin, magnetCos, magnetSin}},
		"ohms once":           {[]session.Dive{dive(plain), dive(lit, reads(quantity.LoopOhm))}, []int{depth, hull, perM}},
		"hover weight":        {[]session.Dive{dive(lit, reads(quantity.Trim))}, []int{depth, leads}},
		"climbs":              {[]session.Dive{dive(lit, reads(quantity.Climb))}, []int{depth, leads}},
	} {
		assert.ElementsMatch(t, append(c.want, predict.AssumedOutM, predict.ClimbShare, predict.SurfaceV, predict.WithinDiveG, predict.OfThruster(0, predict.ReverseOhm), predict.OfThruster(1, predict.ReverseOhm), predict.OfThruster(2, predict.ReverseOhm)),
			unneeded(example, &session.Log{Dives: c.dives}, nil), name)
	}
}

// What a battery loses as soon as anything runs is asked of a log that reads it with all off.
func TestRestsBesideLoads(t *testing.T) {
	volts := session.Value{X: 12.6, Entered: 12.6, Column: &session.Column{}}
	line := func(electrical, lights bool, drives int) session.Line {
		l := session.Line{Electrical: electrical, Lights: lights, Drives: make([]session.Drive, drives)}
		l.Readings[quantity.BatteryV] = volts
		return l
	}
	for _, c := range []struct {
		line session.Line
		asks bool
	}{{line(true, false, 0), true}, {line(true, true, 0), false}, {line(true, false, 1), false}, {line(false, false, 0), false}, {session.Line{Electrical: true}, false}} {
		log := &session.Log{Dives: []session.Dive{{Lines: []session.Line{line(true, false, 2), c.line}}}}
		assert.Equal(t, !c.asks, slices.Contains(unneeded(example, log, nil), predict.SurfaceV), c.line)
	}
}

// What a dive adds to the hover weight is asked of a log that weighs before the first run and again after it.
func TestWeighsAgain(t *testing.T) {
	of := func(underWay ...float64) (d dive) {
		for _, x := range underWay {
			d.cells = append(d.cells, Cell{Quantity: quantity.Trim, obs: len(d.obs)}, Cell{Quantity: quantity.Climb, obs: len(d.obs) + 1})
			d.obs = append(d.obs, observation{Circumstance: circumstances.Circumstance{Cond: predict.Condition{Sign: make([]int8, 3), UnderWay: x}}},
				observation{Circumstance: circumstances.Circumstance{Cond: predict.Condition{Sign: make([]int8, 3), UnderWay: 1 - x}}})
		}
		return d
	}
	for _, c := range []struct {
		dives []dive
		asks  bool
	}{{[]dive{of(0, 0), of(0, 1)}, true}, {[]dive{of(0), of(1)}, false}, {[]dive{of(0, 0)}, false}, {[]dive{of(0.5, 1)}, false}, {[]dive{of(0.2, 0)}, true}, {nil, false}} {
		assert.Equal(t, !c.asks, slices.Contains(unneeded(example, &session.Log{}, c.dives), predict.WithinDiveG), "%d", len(c.dives))
	}
}

// The contacts that reverse a thruster are asked of a log in which it ran astern.
func TestReverses(t *testing.T) {
	at := func(sign ...int8) observation {
		return observation{Circumstance: circumstances.Circumstance{Cond: predict.Condition{Sign: sign}}}
	}
	without := unneeded(example, &session.Log{}, []dive{{obs: []observation{at(0, 0, 0), at(1, 0, 1)}}, {obs: []observation{at(1, -1, 0)}}})
	for i, never := range []bool{true, false, true} {
		assert.Equal(t, never, slices.Contains(without, predict.OfThruster(i, predict.ReverseOhm)), "thruster %d", i)
	}
}

// A depth that runs have in common is asked of a log in which thrusters ran before any line gave a depth.
func TestAssumesDepth(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	at := func(assumed float64, sign ...int8) observation {
		return observation{Circumstance: circumstances.Circumstance{Cond: predict.Condition{DepthAssumed: assumed, Sign: append(sign, 0)}}}
	}
	for name, c := range map[string]struct {
		obs  []observation
		want bool
	}{
		"run":              {[]observation{at(0, 1, 1), at(1, 0, -1)}, true},
		"at rest alone":    {[]observation{at(1, 0, 0), at(0, 1, 1)}, false},
		"depths are given": {[]observation{at(0, 1, 0)}, false},
	} {
		d := dive{obs: c.obs}
		assert.Equal(t, c.want, d.assumesDepth(), name)
		without := unneeded(example, &session.Log{}, []dive{d})
		assert.Equal(t, c.want, !slices.Contains(without, predict.AssumedDepthM), name)
		assert.Equal(t, c.want, (&Result{Calibrated: mixture.New(priors.New(m, priors.Log{Unneeded: without}))}).AssumesDepth(), name)
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
	assert.True(t, similar([]float64{1, 1.45}, []float64{1.45, 1}))
	assert.False(t, similar([]float64{1, 1.55}, []float64{1, 1}))
	assert.False(t, similar([]float64{1, 1}, []float64{1, 1.55}))
	assert.True(t, similar(nil, nil))
}

// A voltage, at the battery or at the vehicle, is far from rest above the battery's other ones, with whatever on; below
// only at the battery at rest, since under load the wiring may take as much. Other columns never are.
func TestFarFromRest(t *testing.T) {
	rest, loaded := &session.Line{}, &session.Line{Drives: []session.Drive{{Name: "port"}}}
	for _, c := range []struct {
		line  *session.Line
		q     quantity.Quantity
		about float64
		value float64
		want  bool
	}{
		{rest, quantity.BatteryV, 12.3, 12.9, false}, {loaded, quantity.BatteryV, 12.3, 12.9, false},
		{rest, quantity.BatteryV, 12.3, 21.3, true}, {loaded, quantity.BatteryV, 12.3, 21.3, true},
		{rest, quantity.BatteryV, 12.3, 8, true}, {loaded, quantity.BatteryV, 12.3, 8, false},
		{loaded, quantity.VehicleV, 12.3, 12.9, false}, {loaded, quantity.VehicleV, 12.3, 21.3, true}, {rest, quantity.VehicleV, 12.3, 8, false},
		{loaded, quantity.CurrentA, 12.3, 21.3, false},
		{rest, quantity.BatteryV, 0, 12.6, false}, {loaded, quantity.BatteryV, 0, 17.9, false}, {rest, quantity.BatteryV, 0, 8, false}, // not known about what,
		{rest, quantity.BatteryV, 0, 31, true}, {loaded, quantity.VehicleV, 0, 18, true}, {loaded, quantity.CurrentA, 0, 31, false}, // but no battery of 13.8 V
	} {
		d := &dive{about: c.about}
		assert.Equal(t, c.want, d.farFromRest(&Cell{Line: c.line, Quantity: c.q, Value: c.value}, 13.8), "%+v", c)
	}
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
		{0.8, 8, 3.9, true}, {0.8, 8, 4.1, false}, {11, 8, 0.5, false}, {1.5, 8, 3.2, true}, {1.7, 8, 3.2, false},
		{3.1, 1.2, 0.37, false}, {3.9, 1.2, 0.37, true}, {0.39, 1.2, 0.1, false}, {0.37, 1.2, 0.1, false}, // nearer by their ratio
	} {
		assert.Equal(t, c.slip, decimalSlip(amps, c.x, c.want, c.sd), "%+v", c)
	}
	assert.False(t, decimalSlip(&Cell{Quantity: quantity.Trim}, 7, 70, 20), "a small hover weight may be a leak")
}

// A length of tether out that runs have in common is asked of a log that gives it only later; where it never does the drag has it.
func TestAssumesTether(t *testing.T) {
	at := func(assumed float64, sign ...int8) observation {
		return observation{Circumstance: circumstances.Circumstance{Cond: predict.Condition{OutAssumed: assumed, Sign: append(sign, 0)}}}
	}
	given := session.Line{TetherOut: session.Value{X: 12, Entered: 12, Column: &session.Column{}}}
	for name, c := range map[string]struct {
		obs  []observation
		line session.Line
		want bool
	}{
		"given later":   {[]observation{at(1, 1, 1), at(0, 1, 1)}, given, true},
		"never given":   {[]observation{at(1, 1, 1)}, session.Line{}, false},
		"at rest alone": {[]observation{at(1, 0, 0), at(0, 1, 1)}, given, false},
		"always given":  {[]observation{at(0, 1, 1)}, given, false},
	} {
		without := unneeded(example, &session.Log{Dives: []session.Dive{{Lines: []session.Line{c.line}}}}, []dive{{obs: c.obs}})
		assert.Equal(t, c.want, !slices.Contains(without, predict.AssumedOutM), name)
	}
}

// What share of a steady climb heave thrusters were read at is asked of a log in which they alone were, with no climb timed.
func TestClimbsUntimed(t *testing.T) {
	c := predict.Condition{Sign: []int8{0, 0, 1}, Electrical: true}
	for name, change := range map[string]func(){
		"":           func() {},
		"held":       func() { c.Held = true },
		"timed":      func() { c.Climbing = true },
		"with port":  func() { c.Sign[0] = 1 },
		"port alone": func() { c.Sign = []int8{1, 0, 0} },
		"off":        func() { c.Sign = []int8{0, 0, 0} },
		"unknown":    func() { c.Electrical = false },
	} {
		c = predict.Condition{Sign: []int8{0, 0, 1}, Electrical: true}
		change()
		d := dive{obs: []observation{{Circumstance: circumstances.Circumstance{Cond: c}}}, cells: []Cell{{Quantity: quantity.CurrentA}}}
		assert.Equal(t, name != "", slices.Contains(unneeded(example, &session.Log{}, []dive{d}), predict.ClimbShare), name)
	}
}
