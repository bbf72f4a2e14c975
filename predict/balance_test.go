package predict

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sagline/predict/invented"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// anyCondition is a random drive of a vehicle in any water.
func anyCondition(t *rapid.T, v *vehicle.Vehicle) Condition {
	c := Condition{Sign: make([]int8, len(v.Thrusters)), Electrical: true, WaterC: rapid.Float64Range(-2, 40).Draw(t, "water"),
		Salinity: rapid.Float64Range(0, 42).Draw(t, "salt"), DepthM: rapid.Float64Range(0, 50).Draw(t, "depth"), TetherOutM: v.Tether.LengthM,
		Held: rapid.Bool().Draw(t, "held"), Climbing: rapid.Bool().Draw(t, "climb"), Lights: rapid.Bool().Draw(t, "lit"), BallastG: rapid.Float64Range(-2000, 2000).Draw(t, "ballast")}
	for i := range c.Sign {
		c.Sign[i] = int8(rapid.IntRange(-1, 1).Draw(t, "sign"))
	}
	return c
}

// Whatever the valid vehicle, drive and drift, circuit, surge and heave
// balance: circuit to 1e-9 of its largest term, the forces, found through it,
// to 1e-7; or the force changes sides within 1e-12 of the speed found, which is
// then the edge at which a propeller driven by the water stops or starts.
func TestEveryVehicleBalances(t *testing.T) {
	edges, all := 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		v := invented.AnyVehicle(rt)
		m := NewModel(v)
		c := anyCondition(rt, v)
		p := m.NewParams()
		p[LoopOhm] = rapid.Float64Range(0, 5).Draw(rt, "excess")
		p[FrictionA] = rapid.Float64Range(0, 1).Draw(rt, "friction")
		var pt Point
		m.Solve(&c, p, &pt, nil)
		for o, x := range pt.Out {
			assert.False(rt, math.IsNaN(x) || math.IsInf(x, 0), "output %d", o)
		}
		e, amps, volts := p[OpenCircuitV], pt.Out[quantity.CurrentA], pt.Out[quantity.VehicleV]
		total, most := v.Battery.ResistanceOhm+pt.Out[quantity.LoopOhm], math.Abs(amps)
		for i := range m.at { // I₀ + q·u·(u − c)
			r := &m.at[i]
			most += math.Abs(pt.Amps[i]) + r.q*r.u*(r.u+r.c)
		}
		assert.InDelta(rt, e, volts+amps*total, 1e-9*(e+most*total), "circuit")

		all++
		ln := m.prepare(&c, p)
		speed, climb := pt.Out[quantity.Speed], pt.Out[quantity.Climb]
		m.surge(&ln, climb) // finds the sense of the motion
		surge := func(v float64) (excess, largest float64) {
			m.circuit(&ln, v, climb)
			thrust, drag := ln.sense*m.thrust(true), 0.5*ln.rho*ln.area*v*v
			return thrust - drag, drag + m.largest(true)
		}
		heave := func(w float64) (excess, largest float64) {
			m.surge(&ln, w)
			thrust, lift, drag := m.thrust(false), Gravity*ln.buoyancy/1000, 0.5*ln.rho*ln.climbArea*w*math.Abs(w)
			return thrust + lift - drag, math.Abs(drag) + math.Abs(lift) + m.largest(false)
		}
		edge := false
		if pt.Running && !balanced(speed, surge) {
			edge = true
			assert.True(rt, changesSides(speed, surge), "surge at %g m/s", speed)
		}
		if c.Climbing && !balanced(climb, heave) {
			edge = true
			assert.True(rt, changesSides(climb, heave), "heave at %g m/s", climb)
		}
		if edge {
			edges++
		}
	})
	t.Logf("%d edges among %d vehicles", edges, all)
	assert.LessOrEqual(t, edges, 1+all/200)
}

// No voltage below the one found balances the circuit, however fast the water
// drives the propellers and whatever the lights draw.
func TestCircuitTakesTheLowestBalance(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		v := invented.AnyVehicle(rt)
		v.Lights = vehicle.Lights{CurrentA: rapid.Float64Range(0, 30).Draw(rt, "lights' current"), Supply: "power"}
		m := NewModel(v)
		c := anyCondition(rt, v)
		c.Lights = true
		ln := m.prepare(&c, m.NewParams())
		ln.e = rapid.Float64Range(0.1, 20).Draw(rt, "rested")
		speed, climb := rapid.Float64Range(0, 5).Draw(rt, "speed"), rapid.Float64Range(-5, 5).Draw(rt, "climbs")
		found := m.circuit(&ln, speed, climb)
		for k := range 500 {
			x := found * float64(k) / 500
			excess, _ := m.draw(&ln, x)
			assert.LessOrEqual(rt, excess, 1e-9*(ln.e+x), "at %g V, %g V found", x, found)
		}
	})
}

// A propeller that the water drives and lights that cease to fade at 1 V make
// three balances, at 0.996, 1.196 and 1.723 V; a switch closing comes to the first.
func TestLightsThatCeaseToFade(t *testing.T) {
	m := &Model{Vehicle: &vehicle.Vehicle{Lights: vehicle.Lights{CurrentA: 6, Supply: "power"}}, motors: make([]motor, 1),
		at: []running{{on: true, sign: 1, q: 0.1, t: 1, s: 1 / (torqueZero * 15), ra: 1, i0: 0.01}}}
	ln := line{supply: supply{e: 5.6, total: 10}, aboard: m.LightAmps, fade: fadingV, climbShare: 1}
	m.advance(&ln, 0, 1)
	for lo, hi := range map[float64]float64{0.9: 1, 1.4: 1.1, 1.5: 2} { // from below zero to above
		below, _ := m.draw(&ln, lo)
		above, _ := m.draw(&ln, hi)
		require.Negative(t, below, "at %g V", lo)
		require.Positive(t, above, "at %g V", hi)
	}
	volts := m.circuit(&ln, 0, 1)
	assert.InDelta(t, 0.9964, volts, 1e-4)
	excess, _ := m.draw(&ln, volts)
	assert.InDelta(t, 0, excess, 1e-12)
}

// largest is the largest thrust of the surge or the heave thrusters, N.
func (m *Model) largest(surge bool) float64 {
	most := 0.0
	for i := range m.at {
		if r := &m.at[i]; r.on && m.motors[i].surge == surge {
			most = max(most, math.Abs(r.sign*r.thrust))
		}
	}
	return most
}

// balanced says whether the forces at a speed balance.
func balanced(x float64, f func(float64) (excess, largest float64)) bool {
	y, most := f(x)
	return math.Abs(y) <= 1e-7*most+1e-12
}

// changesSides says whether the forces drive a speed found from both sides
// back to it. Where the circuit, too, lies at a jump, rounding says from speed to
// speed which side of it the forces are of: any of a few will do.
func changesSides(x float64, f func(float64) (excess, largest float64)) bool {
	up, down := false, false
	for k := range 8 {
		d := 1e-12 * (math.Abs(x) + 1e-3) * float64(k+1) / 8
		below, _ := f(x - d)
		above, _ := f(x + d)
		up, down = up || below >= 0, down || above <= 0
	}
	return up && down
}

// Within what people build, a powered climb has no such edge.
func TestPoweredClimbBalances(t *testing.T) {
	m := NewModel(invented.Vehicle())
	rapid.Check(t, func(rt *rapid.T) {
		c := Condition{Sign: []int8{int8(rapid.IntRange(-1, 1).Draw(rt, "port")), 0, int8(rapid.SampledFrom([]int{-1, 1}).Draw(rt, "vertical"))},
			Electrical: true, Climbing: true, WaterC: 12, TetherOutM: 20, DepthM: rapid.Float64Range(0, 8).Draw(rt, "depth"),
			BallastG: rapid.Float64Range(-150, 150).Draw(rt, "ballast")}
		c.Sign[1] = c.Sign[0]
		p := m.NewParams()
		p[LoopOhm] = rapid.Float64Range(0, 1).Draw(rt, "excess")
		var pt Point
		m.Solve(&c, p, &pt, nil)
		w := pt.Out[quantity.Climb]
		ln := m.prepare(&c, p)
		assert.InDelta(rt, 0.5*ln.rho*ln.climbArea*w*math.Abs(w), pt.Newtons[2]+Gravity*pt.Out[quantity.Trim]/1000, 1e-7)
	})
}

// Newton's steps in all unknowns together end where the bracketed search
// does, whatever the valid vehicle.
func TestTogetherAgreesWithNested(t *testing.T) {
	answered, all := 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		m := NewModel(invented.AnyVehicle(rt))
		c := Condition{Sign: make([]int8, len(m.motors)), Electrical: true, WaterC: 10, DepthM: 3, TetherOutM: m.Vehicle.Tether.LengthM,
			Climbing: rapid.Bool().Draw(rt, "climb")}
		for i := range c.Sign {
			c.Sign[i] = int8(rapid.IntRange(-1, 1).Draw(rt, "sign"))
		}
		p := m.NewParams()
		p[LoopOhm] = rapid.Float64Range(0, 5).Draw(rt, "excess")
		ln := m.prepare(&c, p)
		v, w, volts := m.balance(&ln)
		odd := m.driven()
		other := m.prepare(&c, p)
		v2, w2, volts2 := m.bracketed(&other)
		all++
		if odd || m.driven() {
			return // more than one balance: both ways end at the search's
		}
		answered++
		assert.InDelta(rt, v2, v, 1e-7*(1+v2), "surge")
		assert.InDelta(rt, w2, w, 1e-7*(1+math.Abs(w2)), "climb")
		assert.InDelta(rt, volts2, volts, 1e-7*(1+volts2), "volts")
	})
	assert.Greater(t, answered, all/2)
}

// A scale reads what pulls the vehicle that it holds: along it where a surge thruster runs, else up or down.
func TestPull(t *testing.T) {
	m := NewModel(invented.Vehicle())
	up := -1
	for i := range m.Vehicle.Thrusters {
		if !m.Vehicle.Thrusters[i].Surge() {
			up = i
		}
	}
	require.GreaterOrEqual(t, up, 0)
	p, grad := m.NewParams(), newGradient(m)
	for _, surging := range []bool{false, true} {
		for _, sign := range []int8{1, -1} {
			c := Condition{Sign: make([]int8, len(m.motors)), Electrical: true, Held: true, WaterC: 15}
			for i := range c.Sign {
				if surging || i == up {
					c.Sign[i] = sign
				}
			}
			var pt Point
			m.Solve(&c, p, &pt, grad)
			want := math.Abs(pt.Newtons[up])
			if surging {
				want = 0
				for i, n := range pt.Newtons {
					if i != up {
						want += math.Abs(n)
					}
				}
			}
			assert.Greater(t, want, 1.0)
			assert.InDelta(t, want, pt.Out[quantity.Pull], 1e-12)
			assert.Equal(t, surging, grad[quantity.Pull][OfThruster(up, LogOneThrust)] == 0, "of its own thrust")
		}
	}
}

// A surface charge is lost as soon as anything is switched on, also where its circuit is open, and is no part of what a battery
// shows at rest.
func TestSurfaceCharge(t *testing.T) {
	m := NewModel(vehicle.Example())
	const lost = 0.3
	shows := func(volts float64, lights bool, sign int8, branch float64) float64 {
		c := Condition{Sign: make([]int8, len(m.Vehicle.Thrusters)), Electrical: true, Lights: lights, WaterC: 20}
		c.Sign[0] = sign
		p := m.NewParams()
		p[SurfaceV], p[OfThruster(0, BranchOhm)] = volts, branch
		var pt Point
		m.Solve(&c, p, &pt, nil)
		return pt.Out[quantity.BatteryV]
	}
	assert.Equal(t, shows(0, false, 0, 0), shows(lost, false, 0, 0), "at rest")
	for name, x := range map[string]struct {
		lights bool
		sign   int8
		branch float64
	}{"lights": {true, 0, 0}, "ahead": {false, 1, 0}, "astern": {false, -1, 0}, "open": {false, 1, 1e6}} {
		assert.InDelta(t, shows(0, x.lights, x.sign, x.branch)-lost, shows(lost, x.lights, x.sign, x.branch), 0.02, name)
	}
}

// Heave thrusters whose climb nobody timed draw what they do at rest, or at a share of the steady climb what lies between that and
// a climb that was timed; a climb is not read of them.
func TestUntimedClimb(t *testing.T) {
	m := NewModel(vehicle.Example())
	draws := func(climbing bool, share float64) (amps float64, known bool) {
		p := m.NewParams()
		p[ClimbShare] = share
		var pt Point
		m.Solve(&Condition{Sign: []int8{0, 0, 1}, Electrical: true, WaterC: 15, DepthM: 2, TetherOutM: 10, Climbing: climbing}, p, &pt, nil)
		return pt.Out[quantity.CurrentA], pt.Known[quantity.Climb]
	}
	still, known := draws(false, 0)
	assert.False(t, known)
	half, _ := draws(false, 0.5)
	full, _ := draws(false, 1)
	timed, known := draws(true, 0.5)
	assert.True(t, known)
	assert.InDelta(t, timed, full, 1e-9)
	assert.Greater(t, still, half)
	assert.Greater(t, half, full)
	var held Point
	p := m.NewParams()
	p[ClimbShare] = 1
	m.Solve(&Condition{Sign: []int8{0, 0, 1}, Electrical: true, WaterC: 15, DepthM: 2, TetherOutM: 10, Held: true}, p, &held, nil)
	assert.InDelta(t, still, held.Out[quantity.CurrentA], 1e-9)
}
