package priors

import (
	"math"
	"slices"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/circumstances"
	"sagline/predict/vehicle"
)

// A Parameter holds what is assumed of one index of predict.Params before any reading of a log, all
// in the parameter's unit.
type Parameter struct {
	Mean    float64 // of the difference between the vehicle and its file
	Beside  float64 // one standard deviation of that difference, the file's keys left out
	Prior   float64 // the same with the keys; 0: exactly as in the file
	Scatter float64 // one standard deviation from sound dive to sound dive
	Learn   float64 // one standard deviation of ln(scatter/expected) over logs
	Fault   float64 // how far a cause may take it in one dive
	Normal  bool    // no baseline dive lies far outside its scatter, so none is inflated
}

// perThruster is how far thrusters of one vehicle are assumed to differ, of one label or not:
// motors by a few per cent of their torque constant, what propellers draw by more, and few owners
// write down that the vertical thruster is a smaller one. Common practice, no source. A larger
// difference than is assumed here reads as a change after the baseline: with a third of these
// differences, 36 of 164 claims over 0.99 were wrong on 245 seasons of a simulator with other
// physics, with these 13 of 137.
//
// oneTorque is for a thruster whose test current the file gives, unlike for one whose it does not,
// unread for one that no baseline dive was read with: the file alone tells of it, and what makers
// print may be of another motor.
const (
	oneTorque = 0.08
	unlike    = 0.15
	unread    = 0.4
)

// reverseShare is one standard deviation, as a share of the winding's resistance, of a thruster's
// circuit in reverse: it stands for the propeller's other torque astern, and other contacts carry
// its current. Common practice, no source.
const reverseShare = 0.15

var perThruster = [predict.PerThruster]Parameter{
	predict.BranchOhm:    {Scatter: 0.005, Learn: 0.3},
	predict.LogOneThrust: {Beside: 0.05, Scatter: 0.006, Learn: 0.4},
	predict.LogOneTorque: {Beside: oneTorque},
	predict.OneFrictionA: {Beside: 0.06, Scatter: 0.006, Learn: 0.4},
	predict.LogWeakness:  {Beside: 0.04},
}

// Parameters returns the table of what is assumed of a vehicle. Scatter and Beside are common
// practice, no source, unless noted; priors follow from what the vehicle's file says of each key
// and how well.
func Parameters(m *predict.Model) []Parameter { return withKeys(m, Doubts(m.Vehicle), Log{}) }

// withKeys returns the table of a vehicle and its log.
func withKeys(m *predict.Model, keys []Doubt, log Log) []Parameter {
	v := m.Vehicle
	out := make([]Parameter, m.Dim())
	copy(out, []Parameter{
		// A rested battery's voltage follows its charge.
		predict.OpenCircuitV: {Mean: v.RestBelief().Value - v.Battery.NominalV, Beside: math.Hypot(0.05*v.Battery.NominalV, v.RestBelief().SD), Scatter: v.Battery.ChargeSD(), Learn: 0.6},
		// Cells lose some millivolts a minute under such loads.
		predict.SagVPerMinute: {Mean: SagMean, Beside: v.Battery.SagSD()},
		// Charge is drawn by what runs, yet a battery also loses its surface charge by the clock.
		predict.RestedShare: {Mean: restedShare, Beside: restedShareSD},
		// Next to none, unless a baseline leaves it open (package fit).
		predict.SurfaceV:    {Beside: noSurface * v.Battery.NominalV, Scatter: noSurface * v.Battery.NominalV, Learn: 0.6, Normal: true},
		predict.BatteryOhm:  {Beside: 1e-5, Scatter: 0.0015, Learn: 0.3}, // Beside is next to nothing, so that no file tells it exactly
		predict.BatteryPerK: perK(v),

		predict.BatteryPerSpent: perSpent(v),

		predict.LoopOhm:       {Scatter: 0.008, Learn: 0.3},
		predict.LogInsulation: {Beside: 3, Scatter: 0.5, Learn: 0.5},
		predict.UnloggedA:     {},
		predict.UnlitA:        {},
		predict.LightsA:       lightsA(v),
		// Copper on the reel lies in air and sun.
		predict.ReelK: {Mean: 2, Beside: 3, Scatter: 5, Learn: 0.5, Normal: true},

		predict.LogTorque: {Beside: 0.08},
		predict.LogThrust: {Scatter: 0.015, Learn: 0.3},
		predict.FrictionA: {Scatter: 0.015, Learn: 0.3},
		// A winding under steady load reaches some tens of kelvins above the water.
		predict.WarmK: {Mean: 10, Beside: 10, Scatter: 6, Learn: 0.4},
		// Ferrite magnets lose 0.2 % per kelvin, neodymium ones 0.1 %; from memory. Nobody says
		// which they are, and twice this blamed a branch in one more of thirty seasons that have
		// none of it.
		predict.MagnetPerK: {Beside: 0.0006},

		predict.LogDrag: {Scatter: 0.01, Learn: 0.5},
		// Nobody knows beforehand how much air a frame holds.
		predict.TrimG: {Scatter: bubblesG * math.Sqrt(max(1, v.Hull.DisplacedKG/bubblesKG)), Learn: 0.6},
		// Air leaves the frame under way, foam soaks: common practice, no source.
		predict.WithinDiveG: {Beside: bubblesG, Scatter: bubblesG / 2, Learn: 0.6},
		// Plastics and foam swell by 1.5 to 3 parts in 10,000 per kelvin, aluminium by 0.7, three
		// times their linear coefficients, from memory of makers' tables; a vehicle consists partly
		// of either and of what floods. With twice this the median leak beside a bad joint is found
		// half a dive later in seasons of the model's own world. Of 720 seasons of a simulator
		// whose hulls shrink by 1 to 1.5 parts seven findings over 0.8 were wrong instead of twelve
		// without it, five of those a leak.
		predict.HullPerK: {Beside: 0.5e-4},
		predict.StreamMS: {Scatter: 0.03, Learn: 0.7},

		// Lines whose depth nobody writes down are made at similar depths; scatter from dive to
		// dive: common practice, no source.
		predict.AssumedDepthM: {Beside: circumstances.UnknownDepthM, Scatter: 0.3, Learn: 1, Normal: true},

		// People pay out alike from dive to dive, which is known only once they write it down.
		predict.AssumedOutM: {Beside: circumstances.TetherShare * v.Tether.LengthM},

		// A vehicle whose heave thrusters run stands still, as it does on the bottom or where its pilot
		// lets it, or climbs: common practice, no source.
		predict.ClimbShare: {Beside: 0.4, Scatter: 0.1, Learn: 1, Normal: true},

		predict.YearCosK: {Beside: circumstances.YearK},
		predict.YearSinK: {Beside: circumstances.YearK},
		// Where no temperature was read, what magnets lose over the year is a product of two unknowns,
		// MagnetPerK and the year's amplitude, of which a fit about no loss sees neither. One standard
		// deviation is 0.12 % per kelvin, between neodymium and ferrite, times YearK. Of 12 simulated
		// years with ferrite magnets and no thermometer 11 had an alarm or a finding without it, none with it.
		predict.MagnetYearCos: {Beside: 0.006},
		predict.MagnetYearSin: {Beside: 0.006},

		// Instruments lie within twice this: two voltmeters of 1 %, a clamp meter of 2 % and five
		// hundredths or tenths of an ampere; from memory of makers' limits.
		predict.LogVehicleV: {Beside: 0.007},
		predict.LogClamp:    {Beside: 0.01},
		// Test leads and clips add some tenths of an ohm unless they are shorted and taken off; common
		// practice, no source.
		predict.LoopMeterOhm: {Beside: 0.1},
		predict.ClampZeroA:   {Beside: 0.05, Scatter: 0.02, Learn: 0.6, Normal: true},
		// What all readings of a column have in common in one dive: the clamp's zero, how tape and
		// tether lie, the angle at which the scale pulls. On 455 seasons of two simulators with
		// other physics 22 sound runs instead of 32 of 344 were alarmed with these, and as many
		// faults named; with half of the latter two 25.
		predict.LogSpeed: {Scatter: 0.01, Learn: 0.6, Normal: true},
		predict.LogPull:  {Scatter: 0.01, Learn: 0.6, Normal: true},
	})
	for i := range v.Thrusters {
		of := out[predict.OfThruster(i, 0):]
		copy(of, perThruster[:])
		of[predict.ReverseOhm].Beside = reverseShare * v.Thrusters[i].ArmatureOhm
		switch {
		case slices.Contains(log.Unread, i):
			of[predict.LogOneTorque].Beside, of[predict.LogOneThrust].Beside = unread, unread
		case v.Belief("thruster."+v.Thrusters[i].Name+".test_a").Origin != vehicle.Given:
			of[predict.LogOneTorque].Beside = unlike
		}
	}
	for k := range out {
		p := &out[k]
		square := sq(p.Beside)
		for i := range keys {
			square += sq(keys[i].By[k])
		}
		p.Prior = math.Sqrt(square)
	}
	for _, c := range causes.Table(v) {
		for _, t := range c.Reach() {
			p := &out[t.Param]
			p.Fault = max(p.Fault, faultSteps*t.Per)
		}
	}
	return out
}

// perK is the relative rise of a battery's resistance per kelvin of cold: about 0.8 % for
// lead-acid, up to three times as much for lithium cells, whose resistance doubles between 20 and 0
// °C or nearly so; from memory.
func perK(v *vehicle.Vehicle) Parameter {
	if v.Battery.Lithium() {
		return Parameter{Mean: 0.012, Beside: 0.01}
	}
	return Parameter{Mean: 0.006, Beside: 0.004}
}

// perSpent is the relative rise of the battery's resistance per share of charge spent: for a
// lead-acid battery some hundredths while a quarter is spent, for a lithium one hardly any before
// its end. Makers say that it is lowest when full and rises as the battery empties; how much is
// common practice, no source.
func perSpent(v *vehicle.Vehicle) Parameter {
	if v.Battery.Lithium() {
		return Parameter{Mean: 0.1, Beside: 0.15}
	}
	return Parameter{Mean: 0.3, Beside: 0.3}
}

// lightsShare is one standard deviation of the lights' current as a share of the file's: common
// practice, no source.
const lightsShare = 0.05

// lightsA is the prior of the lights' current beyond what the file tells: of LED lamps of 5 to 25 W
// if it does not name them. Common practice, no source.
func lightsA(v *vehicle.Vehicle) Parameter {
	if v.Lights.Any() {
		return Parameter{Beside: lightsShare * v.Lights.AmpsAt(v.MostV())}
	}
	return Parameter{Mean: 1, Beside: 0.8}
}

const (
	// bubblesG is the scatter of hover weights from dive to dive, g, of a vehicle of bubblesKG: air
	// under the frame, wet foam, the reader's eye. It grows with the vehicle's surface rather than
	// its volume; common practice, no source.
	bubblesG, bubblesKG = 5.0, 8.0
	// noSurface is one standard deviation, as a share of the battery's nominal voltage, of what it loses
	// as soon as anything runs where it loses nothing: small beside any voltmeter's last digit.
	noSurface = 1e-4
	// restedShare is the share of a dive's minutes at rest in which the battery loses no voltage, and
	// restedShareSD one standard deviation: anything from none to all. Common practice, no source.
	restedShare, restedShareSD = 0.5, 0.4
	// SagMean is what a battery in use loses, V/min; common practice, no source.
	SagMean = 0.004
	// faultSteps is the standard deviation of a cause in one dive, as a multiple of its usual size.
	faultSteps = 2.0
)

// OfBattery are the parameters that another battery changes.
var OfBattery = []int{predict.BatteryOhm, predict.OpenCircuitV}
