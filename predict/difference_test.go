package predict

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// A model moved by Difference reads as the other vehicle's own, whatever keys
// differ, while all thrusters differ alike.
func TestDifference(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		by := func(name string) float64 { return rapid.Float64Range(0.75, 1.3).Draw(rt, name) }
		from := vehicle.Example()
		for i := range from.Thrusters {
			from.Thrusters[i] = vehicle.Thruster{Name: from.Thrusters[i].Name, Axis: from.Thrusters[i].Axis, ArmMM: from.Thrusters[i].ArmMM,
				TestV: 12, TestA: 7.2, TestN: 9.8, ArmatureOhm: 0.5, NoLoadA: 0.45, NoLoadRPM: 7800, PropPitchMM: 38, BranchOhm: 0.03, Astern: 0.7}
		}
		to := from.Clone()
		volts, amps, newtons, ohm, idle, turns, pitch, astern := by("V"), by("A"), by("N"), by("ohm"), by("idle"), by("rpm"), by("pitch"), by("astern")
		for i := range to.Thrusters {
			m := &to.Thrusters[i]
			m.TestV, m.TestA, m.TestN, m.ArmatureOhm = m.TestV*volts, m.TestA*amps, m.TestN*newtons, m.ArmatureOhm*ohm
			m.NoLoadA, m.NoLoadRPM, m.PropPitchMM, m.Astern = m.NoLoadA*idle, m.NoLoadRPM*turns, m.PropPitchMM*pitch, m.Astern*astern
			m.BranchOhm *= by("branch")
		}
		to.Hull.DragAreaM2, to.Hull.ClimbDragAreaM2, to.Hull.DisplacedKG = to.Hull.DragAreaM2*by("drag"), to.Hull.ClimbDragAreaM2*by("climb"), to.Hull.DisplacedKG*by("mass")
		to.Hull.TrimG, to.Hull.FoamLossGM = to.Hull.TrimG*by("trim"), to.Hull.FoamLossGM*by("foam")
		to.Battery.ResistanceOhm, to.Tether.Power.JointsOhm = to.Battery.ResistanceOhm*by("battery"), to.Tether.Power.JointsOhm*by("joints")
		to.Tether.WeightGM += by("weight")
		to.Tether.NormalDrag *= by("normal")

		c := Condition{Sign: []int8{1, 1, 0}, Electrical: true, WaterC: referenceC, DepthM: from.Tether.LengthM, TetherOutM: from.Tether.LengthM, Salinity: 20}
		switch rapid.IntRange(0, 3).Draw(rt, "run") {
		case 0:
			c.Sign = []int8{-1, -1, 0}
		case 1:
			c.Held = true
		case 2:
			c.Sign, c.Climbing = []int8{0, 0, 1}, true
		}
		was, is := NewModel(from), NewModel(to)
		p := was.NewParams()
		for k, x := range Difference(from, to) {
			p[k] += x
		}
		var got, want Point
		was.Solve(&c, p, &got, nil)
		is.Solve(&c, is.NewParams(), &want, nil)
		for q := range quantity.Count {
			assert.InDelta(rt, want.Out[q], got.Out[q], 1e-6*(1+abs(want.Out[q])), q.String())
		}
	})
}

// One thruster of another size than the others keeps what all share as it is, and reads as its own vehicle.
func TestDifferenceOfOneThruster(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		from := vehicle.Example()
		which := rapid.IntRange(0, 2).Draw(rt, "which")
		size, torque, thrust := rapid.Float64Range(0.5, 2).Draw(rt, "size"), rapid.Float64Range(0.8, 1.25).Draw(rt, "torque"), rapid.Float64Range(0.6, 1.6).Draw(rt, "thrust")
		to := from.Clone()
		m := &to.Thrusters[which]
		m.NoLoadA, m.ArmatureOhm = m.NoLoadA*size, m.ArmatureOhm/size
		m.TestA, m.TestN = m.NoLoadA+(m.TestA*size-m.NoLoadA)*torque, m.TestN*thrust

		d := Difference(from, to)
		for _, k := range []int{LogSize, LogTorque, LogThrust, LogPitch, LogArmature, FrictionA} {
			assert.Zero(rt, d[k], "parameter %d is of all thrusters", k)
		}
		c := Condition{Sign: make([]int8, 3), Held: true, Electrical: true, WaterC: referenceC}
		c.Sign[which] = 1
		was, is := NewModel(from), NewModel(to)
		p := was.NewParams()
		for k, x := range d {
			p[k] += x
		}
		var got, want Point
		was.Solve(&c, p, &got, nil)
		is.Solve(&c, is.NewParams(), &want, nil)
		for _, q := range []quantity.Quantity{quantity.CurrentA, quantity.VehicleV, quantity.Pull} {
			assert.InDelta(rt, want.Out[q], got.Out[q], 1e-6*(1+abs(want.Out[q])), q.String())
		}
	})
}

func abs(x float64) float64 { return max(x, -x) }
