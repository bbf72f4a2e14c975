package advice

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"sagline/predict"
	"sagline/predict/invented"
	"sagline/predict/published"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// bSeries is a Wageningen B-series polynomial, Σ C·J^s·(P/D)^t·(A_E/A₀)^u·Z^v
// (Oosterveld and van Oossanen, International Shipbuilding Progress 22, 1975).
func bSeries(t *testing.T, name string) func(j, pitch, area, blades float64) float64 {
	rows := published.Rows(t, "testdata/"+name)
	return func(j, pitch, area, blades float64) (k float64) {
		for _, c := range rows {
			k += c["C"] * math.Pow(j, c["s"]) * math.Pow(pitch, c["t"]) * math.Pow(area, c["u"]) * math.Pow(blades, c["v"])
		}
		return k
	}
}

// At rest, over the pitch ratios of small propellers, thrust and torque go as
// the powers of pitch that repitch uses.
func TestPitchExponentsAgainstBSeries(t *testing.T) {
	kt, kq := bSeries(t, "wageningen_b_kt.csv"), bSeries(t, "wageningen_b_kq.csv")
	assert.InDelta(t, 0.2776853239, kt(0, 0.7, 0.5, 3), 1e-9, "a computed check point of the series")
	for _, b := range []struct{ blades, area float64 }{{2, 0.4}, {3, 0.5}, {4, 0.55}} {
		for _, pitch := range []float64{0.6, 0.7, 0.8, 1} {
			slope := func(k func(j, p, a, z float64) float64) float64 {
				return math.Log(k(0, pitch*1.01, b.area, b.blades)/k(0, pitch/1.01, b.area, b.blades)) / math.Log(1.01*1.01)
			}
			assert.InDelta(t, thrustByPitch, slope(kt), 0.16, "%g blades, P/D %g", b.blades, pitch)
			assert.InDelta(t, torqueByPitch, slope(kq), 0.13, "%g blades, P/D %g", b.blades, pitch)
		}
	}
}

// Where thrust and torque vanish over the pitch ratios and blades of small
// propellers, in pitch speeds: about the 1.1 and 1.3 that the model takes.
func TestPropellerZerosOfTheBSeries(t *testing.T) {
	kt, kq := bSeries(t, "wageningen_b_kt.csv"), bSeries(t, "wageningen_b_kq.csv")
	zero := func(k func(j, p, a, z float64) float64, pitch, area, blades float64) float64 {
		j := 0.3 * pitch
		for k(j, pitch, area, blades) > 0 {
			j += 1e-3
		}
		return j / pitch
	}
	for _, b := range []struct{ blades, area float64 }{{2, 0.4}, {3, 0.5}, {4, 0.55}} {
		for _, pitch := range []float64{0.6, 0.8, 1} {
			assert.InDelta(t, 1.105, zero(kt, pitch, b.area, b.blades), 0.05, "thrust, %g blades, P/D %g", b.blades, pitch)
			assert.InDelta(t, 1.205, zero(kq, pitch, b.area, b.blades), 0.1, "torque, %g blades, P/D %g", b.blades, pitch)
		}
	}
}

// Whatever the valid vehicle, more resistance never means more thrust and a
// shorter tether never less speed, unless the water drives a propeller.
func TestOutcomeIsMonotone(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		m := predict.NewModel(invented.AnyVehicle(rt))
		p := m.NewParams()
		p[predict.LoopOhm] = rapid.Float64Range(0, 1).Draw(rt, "loop")
		c := predict.Condition{WaterC: 10, DepthM: rapid.Float64Range(0, 10).Draw(rt, "depth"), TetherOutM: min(25, m.Vehicle.Tether.LengthM)}
		worse := append(predict.Params(nil), p...)
		worse[predict.LoopOhm] += rapid.Float64Range(0, 1).Draw(rt, "more")
		before := AllAhead(m, c, p)
		assert.LessOrEqual(rt, AllAhead(m, c, worse).PullN, before.PullN*(1+1e-9)+1e-12)
		short := m.Vehicle.Clone()
		short.Tether.LengthM *= rapid.Float64Range(0.1, 1).Draw(rt, "cut")
		n := predict.NewModel(short)
		after := AllAhead(n, c, p)
		if !driven(m, c, p) && !driven(n, c, p) {
			assert.GreaterOrEqual(rt, after.SpeedMS, before.SpeedMS*(1-1e-6)-1e-12)
		}
	})
}

// driven says whether the water drives a propeller that runs free.
func driven(m *predict.Model, c predict.Condition, p predict.Params) bool {
	c.Sign, c.Electrical = make([]int8, len(m.Vehicle.Thrusters)), true
	for i := range c.Sign {
		if m.Vehicle.Thrusters[i].Surge() {
			c.Sign[i] = 1
		}
	}
	var pt predict.Point
	m.Solve(&c, p, &pt, nil)
	for i, n := range pt.Newtons {
		if c.Sign[i] != 0 && n <= 0 {
			return true
		}
	}
	return false
}

// A change leaves the vehicle it was tried on alone, and every changed
// vehicle still solves; its power adds up to what the battery gives.
func TestChangesTouchACopy(t *testing.T) {
	v := invented.Vehicle()
	v.Battery.CapacityAh = 18
	before := *v.Clone()
	for _, ch := range Changes(v, 0.25) {
		w := v.Clone()
		p := predict.NewModel(v).NewParams()
		p[predict.LoopOhm] = 0.2
		ch.Apply(w, p)
		m := predict.NewModel(w)
		p[predict.OpenCircuitV] = w.Battery.NominalV
		o := AllAhead(m, predict.Condition{WaterC: 15, TetherOutM: 20}, p)
		assert.Greater(t, o.SpeedMS, 0.0, ch.Name)
		c := predict.Condition{Sign: []int8{1, 1, 0}, Electrical: true, Held: true, WaterC: 15}
		var pt predict.Point
		m.Solve(&c, p, &pt, nil)
		b := Budget(m, &c, p, &pt)
		assert.InEpsilon(t, p[predict.OpenCircuitV]*pt.Out[quantity.CurrentA], b.Battery+b.Tether+b.Joints+b.Branches+b.Thrusters+b.Lights, 1e-9, ch.Name)
	}
	assert.Equal(t, before, *v)
}

// The same propeller again is the same thruster; more pitch pulls harder from
// a stiff supply.
func TestRepitch(t *testing.T) {
	v := invented.Vehicle()
	v.Tether.Power, v.Battery.ResistanceOhm = vehicle.Conductor{AreaMM2: 1000, Parallel: 1}, 0
	w := v.Clone()
	repitch(w, 1)
	assert.InDelta(t, v.Thrusters[0].TestV, w.Thrusters[0].TestV, 1e-12)
	repitch(w, 1.1)
	c := predict.Condition{WaterC: 15}
	a, b := AllAhead(predict.NewModel(v), c, predict.NewModel(v).NewParams()), AllAhead(predict.NewModel(w), c, predict.NewModel(w).NewParams())
	assert.Greater(t, b.CurrentA, a.CurrentA)
	for _, k := range []float64{1.1, 0.9} { // the constants of back-EMF as the powers of pitch
		w := v.Clone()
		repitch(w, k)
		q0, t0, s0 := constants(&v.Thrusters[0])
		q, th, s := constants(&w.Thrusters[0])
		assert.InEpsilon(t, s0*k, s, 1e-12)
		assert.InEpsilon(t, t0*math.Pow(k, thrustByPitch), th, 1e-12)
		assert.InEpsilon(t, q0*math.Pow(k, torqueByPitch), q, 1e-12)
	}
}

// What is set takes along what follows from it: another pitch the static test of the rank's propellers, the winding's copper as before;
// another label the battery's resistance and least voltage by its cells. What is set besides stays.
func TestFollow(t *testing.T) {
	v := invented.Vehicle()
	w, ranked := v.Clone(), v.Clone()
	repitch(ranked, 1.5)
	for i := range w.Thrusters {
		w.Thrusters[i].PropPitchMM *= 1.5
	}
	assert.Equal(t, []int{0, 1, 2}, Repitched(v, w))
	assert.Equal(t, []string{byPitch}, Follow(v, w))
	assert.Equal(t, 1.0, InSeries(v, w))
	assert.Equal(t, ranked.Thrusters, w.Thrusters)
	assert.Equal(t, v.Thrusters[0].TestV*v.Thrusters[0].TestA, w.Thrusters[0].OtherTestW)
	assert.Empty(t, Repitched(v, w), "its test is not the one before")

	w = v.Clone()
	w.Thrusters[0].PropPitchMM, w.Thrusters[0].TestA = 60, 9
	assert.Empty(t, Follow(v, w), "a test that is stated")
	assert.Equal(t, 9.0, w.Thrusters[0].TestA)

	w = v.Clone()
	w.Battery.NominalV *= 2
	assert.Len(t, Follow(v, w), 1)
	assert.Equal(t, 2.0, InSeries(v, w), "as the one in use")
	assert.Equal(t, []float64{2 * v.Battery.ResistanceOhm, 2 * v.Battery.MinimumV}, []float64{w.Battery.ResistanceOhm, w.Battery.MinimumV})
	w = v.Clone()
	w.Battery.NominalV, w.Battery.ResistanceOhm = 2*v.Battery.NominalV, 0.3
	Follow(v, w)
	assert.Zero(t, InSeries(v, w), "its resistance is stated")
	assert.Equal(t, []float64{0.3, 2 * v.Battery.MinimumV}, []float64{w.Battery.ResistanceOhm, w.Battery.MinimumV})
	w = v.Clone()
	w.Battery.NominalV, w.Battery.Chemistry = 2*v.Battery.NominalV, "lithium-iron"
	assert.Empty(t, Follow(v, w), "nothing follows from other cells")
	assert.Zero(t, InSeries(v, w))
}

// Another battery has its own rest voltage, and its resistance by the log of the sound one before, cell by cell; the one that
// is in use keeps its own.
func TestSetBattery(t *testing.T) {
	v := invented.Vehicle()
	of := func(change func(*vehicle.Battery)) (openV, ohm float64) {
		w, p := v.Clone(), predict.NewModel(v).NewParams()
		change(&w.Battery)
		Follow(v, w)
		p[predict.BatteryOhm] = 0.07
		SetBattery(v, w, p, 0.02)
		return p[predict.OpenCircuitV], p[predict.BatteryOhm]
	}
	for name, c := range map[string]struct {
		change     func(*vehicle.Battery)
		times, ohm float64
	}{
		"the one in use":    {func(*vehicle.Battery) {}, 1, 0.07},
		"three in series":   {func(b *vehicle.Battery) { b.NominalV *= 3 }, 3, 0.06},
		"stated resistance": {func(b *vehicle.Battery) { b.ResistanceOhm = 0.3 }, 1, 0},
	} {
		openV, ohm := of(c.change)
		assert.InEpsilon(t, c.times*v.Battery.RestV(), openV, 1e-9, name)
		assert.InDelta(t, c.ohm, ohm, 1e-9, name)
	}
	openV, ohm := of(func(b *vehicle.Battery) { b.Chemistry = "lithium-iron" })
	assert.NotEqual(t, v.Battery.RestV(), openV)
	assert.Zero(t, ohm)
}

// constants are a thruster's A/V², N/V² and m/s/V of back-EMF, by its test.
func constants(t *vehicle.Thruster) (q, n, s float64) {
	u := t.TestV - t.TestA*t.ArmatureOhm
	return (t.TestA - t.NoLoadA) / (u * u), t.TestN / (u * u), t.PropPitchMM * t.NoLoadRPM / (t.TestV - t.NoLoadA*t.ArmatureOhm)
}

// What a builder could try: the next conductors that are sold either way, a shorter tether where the dives leave one, a
// next battery that is sold with more volts and is no danger, and one on board where its weight is known.
func TestChangesToTry(t *testing.T) {
	for _, c := range []struct {
		area, length, volts, ah float64
		want                    []string
	}{
		{2.5, 30, 12, 18, []string{"conductors of 1.5 mm²", "conductors of 4 mm²", "tether 5 m shorter", "tether 10 m shorter", "joints re-made", "battery of 24 V", "battery carried on board"}},
		{20, 12, 50, 0, []string{"conductors of 16 mm²", "tether 5 m shorter", "joints re-made"}},
		{0.4, 10, 51, 0, []string{"conductors of 0.5 mm²", "joints re-made"}},
		{16, 15, 12, 0, []string{"conductors of 10 mm²", "tether 5 m shorter", "joints re-made", "battery of 24 V"}},
		{0.49, 15.5, 12, 0, []string{"conductors of 0.75 mm²", "tether 5 m shorter", "tether 10 m shorter", "joints re-made", "battery of 24 V"}},
	} {
		v := invented.Vehicle()
		v.Tether.Power.AreaMM2, v.Tether.LengthM, v.Battery.NominalV, v.Battery.CapacityAh = c.area, c.length, c.volts, c.ah
		var got []string
		for _, ch := range Changes(v, CopperShare) {
			got = append(got, ch.Name)
		}
		assert.Equal(t, append(c.want, "propellers of +15 % pitch", "propellers of -15 % pitch"), got, "%+v", c)
	}
}

// Of a vehicle that nothing pushes ahead the outcome is that of all heave thrusters up: its
// current and the volts at the vehicle are under that load.
func TestOutcomeOfHeaveAlone(t *testing.T) {
	v := invented.Vehicle()
	v.Thrusters = slices.DeleteFunc(v.Thrusters, func(t vehicle.Thruster) bool { return t.Surge() })
	m := predict.NewModel(v)
	c, p := predict.Condition{WaterC: 15, TetherOutM: 20}, m.NewParams()
	o := AllAhead(m, c, p)
	climb, _ := AllUp(m, c, p)
	what, ms := o.Move()
	assert.Equal(t, "climb", what)
	assert.InDelta(t, climb, ms, 1e-12)
	assert.Greater(t, o.CurrentA, 1.0)
	assert.InDelta(t, p[predict.OpenCircuitV]-o.CurrentA*(v.Battery.ResistanceOhm+v.Tether.CableOhm(15)+v.Tether.Power.JointsOhm), o.VehicleV, 1e-6)
	assert.Greater(t, o.PullN, 1.0)
	what, _ = new(Outcome).Move()
	assert.Equal(t, "speed", what)
}
