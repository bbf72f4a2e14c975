package predict

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// anyVehicle is a random vehicle that ReadVehicle would accept, far beyond what
// anyone builds.
func anyVehicle(t *rapid.T) *Vehicle {
	between := func(lo, hi float64, name string) float64 {
		return lo * math.Pow(hi/lo, rapid.Float64Range(0, 1).Draw(t, name))
	}
	v := &Vehicle{Name: "any", Battery: Battery{NominalV: between(3, 60, "volts"), ResistanceOhm: between(1e-3, 1, "battery")},
		Tether: Tether{LengthM: between(1, 500, "length"), DiameterMM: between(1, 40, "diameter"), WeightGM: rapid.Float64Range(-50, 50).Draw(t, "weight"),
			NormalDrag: between(0.1, 3, "normal"), SkinDrag: between(1e-3, 0.1, "skin"),
			Power: Conductor{AreaMM2: between(0.05, 50, "area"), Parallel: rapid.IntRange(1, 4).Draw(t, "parallel"), JointsOhm: between(1e-3, 5, "joints")}},
		Hull: Hull{DragAreaM2: between(1e-3, 5, "drag"), ClimbDragAreaM2: between(1e-3, 5, "climb drag"), DisplacedKG: between(0.5, 500, "displaced"),
			Wake: rapid.Float64Range(0, 0.6).Draw(t, "wake"), TrimG: rapid.Float64Range(-2000, 2000).Draw(t, "trim"), BallastDensityKGM3: 7850}}
	for i := range rapid.IntRange(1, 5).Draw(t, "thrusters") {
		th := Thruster{Name: string(rune('a' + i)), Axis: rapid.SampledFrom([]string{"surge", "heave"}).Draw(t, "axis"),
			TestV: between(3, 60, "test v"), NoLoadA: between(0.01, 3, "no load"), TestN: between(0.05, 300, "test n"),
			NoLoadRPM: between(2000, 30000, "rpm"), PropPitchMM: between(15, 300, "pitch"), Astern: rapid.Float64Range(0, 1.5).Draw(t, "astern"), BranchOhm: between(1e-4, 2, "branch")}
		th.TestA = th.NoLoadA * between(1.05, 40, "load")
		th.ArmatureOhm = th.TestV / th.TestA * rapid.Float64Range(0.02, 0.95).Draw(t, "armature")
		v.Thrusters = append(v.Thrusters, th)
	}
	return v
}

// Whatever the valid vehicle, drive and drift, circuit, surge and heave
// balance, and the power adds up: the circuit to 1e-9 of its largest term, the
// forces, found through it, to 1e-6.
func TestEveryVehicleBalances(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		v := anyVehicle(rt)
		m := NewModel(v)
		c := Condition{Sign: make([]int8, len(v.Thrusters)), Electrical: true, WaterC: rapid.Float64Range(-2, 40).Draw(rt, "water"),
			Salinity: rapid.Float64Range(0, 42).Draw(rt, "salt"), DepthM: rapid.Float64Range(0, 50).Draw(rt, "depth"), TetherOutM: v.Tether.LengthM,
			Held: rapid.Bool().Draw(rt, "held"), Climbing: rapid.Bool().Draw(rt, "climb"), BallastG: rapid.Float64Range(-2000, 2000).Draw(rt, "ballast")}
		for i := range c.Sign {
			c.Sign[i] = int8(rapid.IntRange(-1, 1).Draw(rt, "sign"))
		}
		p := m.NewParams()
		p[LoopOhm] = rapid.Float64Range(0, 5).Draw(rt, "excess")
		p[FrictionA] = rapid.Float64Range(0, 1).Draw(rt, "friction")
		var pt Point
		m.Solve(&c, p, &pt, nil)
		for o, x := range pt.Out {
			assert.False(rt, math.IsNaN(x) || math.IsInf(x, 0), "output %d", o)
		}
		e := p[OpenCircuitV]
		amps, volts, speed, climb := pt.Out[OutCurrentA], pt.Out[OutVehicleV], pt.Out[OutSpeed], pt.Out[OutClimb]
		total := v.Battery.ResistanceOhm + pt.Out[OutLoopOhm]
		assert.InDelta(rt, e, volts+amps*total, 1e-9*(e+math.Abs(amps*total)), "circuit")
		w := m.Budget(&c, p, &pt)
		assert.InDelta(rt, e*amps, w.Battery+w.Tether+w.Joints+w.Branches+w.Thrusters+w.Lights, 1e-9*(e*math.Abs(amps)+amps*amps*total+1), "power")
		if m.driven() {
			return // Solve answers with an edge, where the forces need not balance
		}
		var surge, heave float64
		for i, n := range pt.Newtons {
			if v.Thrusters[i].Surge() {
				surge += n
			} else {
				heave += n
			}
		}
		ln := m.prepare(&c, p)
		if pt.Running {
			drag := 0.5 * ln.rho * ln.area * speed * speed
			assert.InDelta(rt, drag, math.Abs(surge), 1e-6*(drag+1e-3), "surge")
		}
		if c.Climbing {
			lift, drag := Gravity*pt.Out[OutTrim]/1000, 0.5*ln.rho*ln.climbArea*climb*math.Abs(climb)
			assert.InDelta(rt, heave+lift, drag, 1e-6*(math.Abs(lift)+math.Abs(heave)+1e-3), "heave")
		}
	})
}

// Within what people build, a powered climb balances too. Far beyond it, a
// propeller dragged through the water may stand stalled or turn at one and the
// same voltage, and no single climb balances.
func TestPoweredClimbBalances(t *testing.T) {
	m := NewModel(testVehicle())
	rapid.Check(t, func(rt *rapid.T) {
		c := Condition{Sign: []int8{int8(rapid.IntRange(-1, 1).Draw(rt, "port")), 0, int8(rapid.SampledFrom([]int{-1, 1}).Draw(rt, "vertical"))},
			Electrical: true, Climbing: true, WaterC: 12, TetherOutM: 20, DepthM: rapid.Float64Range(0, 8).Draw(rt, "depth"),
			BallastG: rapid.Float64Range(-150, 150).Draw(rt, "ballast")}
		c.Sign[1] = c.Sign[0]
		p := m.NewParams()
		p[LoopOhm] = rapid.Float64Range(0, 1).Draw(rt, "excess")
		var pt Point
		m.Solve(&c, p, &pt, nil)
		w := pt.Out[OutClimb]
		ln := m.prepare(&c, p)
		assert.InDelta(rt, 0.5*ln.rho*ln.climbArea*w*math.Abs(w), pt.Newtons[2]+Gravity*pt.Out[OutTrim]/1000, 1e-7)
	})
}

// Newton's steps in all unknowns together end where the bracketed search
// does, whatever the valid vehicle.
func TestTogetherAgreesWithNested(t *testing.T) {
	answered, all := 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		m := NewModel(anyVehicle(rt))
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
		v2, w2, volts2 := m.nested(&other)
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
