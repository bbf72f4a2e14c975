package predict

import (
	"math"

	"sagline/predict/vehicle"
)

// Difference is what to add to the Params of a model of one vehicle so that it
// behaves as another of the same thrusters: how a vehicle differs from its file.
// It leaves out what no parameter stands for (lights, relays, floats, a wake that
// heave thrusters do not see); thrusters that differ unlike each other keep a
// thrust, a torque and a friction of their own.
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
	all := make([]motorDifference, len(from.Thrusters))
	most := 0
	for i := range all {
		all[i] = differenceOf(&from.Thrusters[i], &to.Thrusters[i])
		if all[i].size() > all[most].size() {
			most = i
		}
	}
	for i := range all {
		d, common := &all[i], &all[most]
		p[OfThruster(i, BranchOhm)] = to.Thrusters[i].BranchOhm - from.Thrusters[i].BranchOhm
		p[OfThruster(i, LogOneThrust)] = d.thrust - common.thrust
		p[OfThruster(i, LogOneTorque)] = d.torque - common.torque
		p[OfThruster(i, OneFrictionA)] = d.friction - common.friction
	}
	if len(all) > 0 {
		d := &all[most]
		p[LogSize], p[LogArmature], p[FrictionA] = d.amps, d.armature, d.friction
		p[LogTorque], p[LogThrust], p[LogPitch], p[LogAstern] = d.torque, d.thrust, d.pitch+wake, d.astern
	}
	return p
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

// logRatio is ln(a/b), 0 where either is none.
func logRatio(a, b float64) float64 {
	if a <= 0 || b <= 0 {
		return 0
	}
	return math.Log(a / b)
}
