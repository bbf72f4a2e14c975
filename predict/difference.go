package predict

import (
	"cmp"
	"math"
	"slices"

	"sagline/predict/vehicle"
)

// Difference returns what to add to the Params of a model of one vehicle so that it behaves as
// another with the same thrusters. It leaves out what no parameter stands for: lights, relays,
// floats, a wake that heave thrusters do not see. Where thrusters differ in unlike ways, each has
// its own thrust, torque, friction and resistance beside the difference of the typical one.
func Difference(from, to *vehicle.Vehicle) Params {
	p := make(Params, OfThruster(len(from.Thrusters), 0))
	p[BatteryOhm] = to.Battery.ResistanceOhm - from.Battery.ResistanceOhm
	p[LoopOhm] = to.LoopOhm(referenceC) - from.LoopOhm(referenceC)

	h, g := &from.Hull, &to.Hull
	t, s := &from.Tether, &to.Tether
	p[LogDrag] = logRatio(g.DragAreaM2, h.DragAreaM2)
	p[LogTetherDrag] = logRatio(s.NormalDrag*s.DiameterMM, t.NormalDrag*t.DiameterMM) - p[LogDrag]
	p[LogClimbDrag] = logRatio(g.ClimbDragAreaM2, h.ClimbDragAreaM2)
	p[TrimG] = g.TrimG - h.TrimG
	p[TrimPerM] = g.FoamLossGM + s.WeightGM - h.FoamLossGM - t.WeightGM
	p[LogDisplaced] = logRatio(g.DisplacedKG, h.DisplacedKG)
	p[BallastLift] = referenceDensity/g.BallastDensityKGM3 - referenceDensity/h.BallastDensityKGM3

	wake := logRatio(1-h.Wake, 1-g.Wake)
	if len(from.Thrusters) == 0 {
		return p
	}
	all := make([]motorDifference, len(from.Thrusters))
	for i := range all {
		all[i] = differenceOf(&from.Thrusters[i], &to.Thrusters[i])
	}
	common := typical(all)
	for i := range all {
		before, after := &from.Thrusters[i], &to.Thrusters[i]
		emf := 2 * logRatio(testEMF(after, 0), testEMF(before, common.armature))
		p[OfThruster(i, BranchOhm)] = after.BranchOhm - before.BranchOhm +
			after.ArmatureOhm - before.ArmatureOhm*math.Exp(common.armature-common.amps)
		p[OfThruster(i, LogOneThrust)] = logRatio(after.TestN, before.TestN) - emf - common.thrust
		p[OfThruster(i, LogOneTorque)] = logRatio(after.TestA-after.NoLoadA, before.TestA-before.NoLoadA) -
			emf - common.torque - common.amps
		p[OfThruster(i, OneFrictionA)] = after.NoLoadA - before.NoLoadA*math.Exp(common.amps) - common.friction
	}
	p[LogSize], p[LogArmature], p[FrictionA] = common.amps, common.armature, common.friction
	p[LogTorque], p[LogThrust], p[LogPitch], p[LogAstern] = common.torque, common.thrust, common.pitch+wake, common.astern
	return p
}

// testEMF returns a thruster's back-EMF in its static test, V, with its armature resistance times
// exp(armature).
func testEMF(t *vehicle.Thruster, armature float64) float64 {
	return max(t.TestV-t.TestA*t.ArmatureOhm*math.Exp(armature), leastTestEMF*t.TestV)
}

// typical returns the median by size, of an even number the smaller of the middle two.
func typical(all []motorDifference) *motorDifference {
	sorted := slices.Clone(all)
	slices.SortStableFunc(sorted, func(a, b motorDifference) int { return cmp.Compare(a.size(), b.size()) })
	return &sorted[(len(sorted)-1)/2]
}

// referenceC is the water temperature in °C at which tethers are compared.
const referenceC = 15.0

// motorDifference is Difference for one thruster.
type motorDifference struct{ amps, armature, friction, torque, thrust, pitch, astern float64 }

func (d *motorDifference) size() float64 {
	return math.Abs(d.amps) + math.Abs(d.armature) + math.Abs(d.torque) + math.Abs(d.thrust) + math.Abs(d.pitch) + math.Abs(d.friction)
}

// differenceOf inverts running.constants.
func differenceOf(from, to *vehicle.Thruster) (d motorDifference) {
	size := to.TestA / from.TestA
	idle := from.NoLoadA * size
	d.amps, d.friction = math.Log(size), to.NoLoadA-idle
	d.armature = logRatio(to.ArmatureOhm*size, from.ArmatureOhm)
	tested := logRatio(max(from.TestV-to.TestA*to.ArmatureOhm, leastTestEMF*from.TestV), to.TestV-to.TestA*to.ArmatureOhm)
	d.torque = logRatio(to.TestA-to.NoLoadA, to.TestA-idle) + 2*tested
	d.thrust = logRatio(to.TestN, from.TestN) + 2*tested
	d.pitch = logRatio(to.PropPitchMM*to.NoLoadRPM, from.PropPitchMM*from.NoLoadRPM) +
		logRatio(from.TestV-idle*to.ArmatureOhm, to.TestV-to.NoLoadA*to.ArmatureOhm)
	d.astern = logRatio(to.Astern, from.Astern)
	return d
}

// logRatio returns ln(a/b), or 0 where either is not positive.
func logRatio(a, b float64) float64 {
	if a <= 0 || b <= 0 {
		return 0
	}
	return math.Log(a / b)
}
