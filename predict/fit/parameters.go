package fit

import (
	"math"
	"slices"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/circumstances"
	"sagline/predict/vehicle"
)

// A parameter says what is assumed of one index of predict.Params before any
// reading of a log, all in the parameter's unit.
type parameter struct {
	mean    float64 // of how the vehicle differs from its file
	beside  float64 // one standard deviation of that, beside what is not known of the file's keys
	prior   float64 // the keys' with it; 0: exactly as in the file
	scatter float64 // one standard deviation from sound dive to sound dive
	learn   float64 // one standard deviation of ln(scatter/expected) over logs
	fault   float64 // how far a cause may take it in one dive
	normal  bool    // no dive of the baseline lies far outside its scatter
}

// perThruster is what thrusters of one vehicle are assumed to differ by, of one
// label or not: motors by a few per cent of their torque constant, what propellers draw by
// more, and few owners write down that the vertical thruster is a smaller one. Common practice, no
// source. What differs by more than is assumed here reads as a change after the baseline: with a
// third of these differences, 36 of 164 claims over 0.99 were wrong on 245 seasons of a
// simulator with other physics, with these 13 of 137.
//
// oneTorque is that of a thruster whose test current the file gives, unlike that of
// one whose it does not.
const (
	oneTorque = 0.08
	unlike    = 0.15
)

var perThruster = [predict.PerThruster]parameter{
	predict.BranchOhm:    {scatter: 0.005, learn: 0.3},
	predict.LogOneThrust: {beside: 0.05, scatter: 0.006, learn: 0.4},
	predict.LogOneTorque: {beside: oneTorque},
	predict.OneFrictionA: {beside: 0.06, scatter: 0.006, learn: 0.4},
	predict.LogWeakness:  {beside: 0.04},
}

// parameters is the table of what is assumed of a vehicle. Scatter and what is
// beside the keys are common practice, no source, but where noted; priors follow
// from what the vehicle's file says of each key and how well.
func parameters(m *predict.Model) []parameter { return withKeys(m, doubts(m.Vehicle)) }

func withKeys(m *predict.Model, keys []doubt) []parameter {
	v := m.Vehicle
	out := make([]parameter, m.Dim())
	copy(out, []parameter{
		// A rested battery's voltage follows its charge.
		predict.OpenCircuitV: {mean: v.RestBelief().Value - v.Battery.NominalV, beside: math.Hypot(0.05*v.Battery.NominalV, v.RestBelief().SD), scatter: v.Battery.ChargeSD(), learn: 0.6},
		// Cells lose some millivolts a minute under such loads.
		predict.SagVPerMinute: {mean: sagMean, beside: v.Battery.SagSD()},
		predict.BatteryOhm:    {beside: 1e-5, scatter: 0.0015, learn: 0.3}, // beside: next to nothing, so that no file tells it exactly
		predict.BatteryPerK:   perK(v),

		predict.BatteryPerSpent: perSpent(v),

		predict.LoopOhm:       {scatter: 0.008, learn: 0.3},
		predict.LogInsulation: {beside: 3, scatter: 0.5, learn: 0.5},
		predict.UnloggedA:     {},
		predict.LightsA:       lightsA(v),
		// Copper on the reel lies in air and sun.
		predict.ReelK: {mean: 2, scatter: 5},

		predict.LogTorque: {beside: 0.08},
		predict.LogThrust: {scatter: 0.015, learn: 0.3},
		predict.FrictionA: {scatter: 0.015, learn: 0.3},
		// A winding under steady load reaches some tens of kelvins above the water.
		predict.WarmK: {mean: 10, beside: 10, scatter: 6, learn: 0.4},
		// Ferrite magnets lose 0.2 % a kelvin, of neodymium 0.1 %; from memory. Which they are nobody
		// says, and twice this blamed a branch in one more of thirty seasons that have none of it.
		predict.MagnetPerK: {beside: 0.0006},

		predict.LogDrag:  {scatter: 0.01, learn: 0.5},
		predict.TrimG:    {scatter: bubblesG * math.Sqrt(max(1, v.Hull.DisplacedKG/bubblesKG)), learn: 0.3},
		predict.StreamMS: {scatter: 0.03, learn: 0.7},

		predict.YearCosK: {beside: circumstances.YearK},
		predict.YearSinK: {beside: circumstances.YearK},

		// Instruments lie within twice this: two voltmeters of 1 %, a clamp meter of 2 % and five
		// hundredths or tenths of an ampere; from memory of makers' limits.
		predict.LogVehicleV: {beside: 0.007},
		predict.LogClamp:    {beside: 0.01},
		predict.ClampZeroA:  {beside: 0.05, scatter: 0.02, learn: 0.6, normal: true},
		// What all readings of a column have in common in one dive: the clamp's zero, how tape and tether
		// lie, the angle at which the scale pulls. On 455 seasons of two simulators with other physics
		// 22 sound runs for 32 of 344 were alarmed with these, and as many faults named; with half of
		// the latter two 25.
		predict.LogSpeed: {scatter: 0.01, learn: 0.6, normal: true},
		predict.LogPull:  {scatter: 0.01, learn: 0.6, normal: true},
	})
	for i := range v.Thrusters {
		of := out[predict.OfThruster(i, 0):]
		copy(of, perThruster[:])
		if v.Belief("thruster."+v.Thrusters[i].Name+".test_a").Origin != vehicle.Given {
			of[predict.LogOneTorque].beside = unlike
		}
	}
	for k := range out {
		p := &out[k]
		square := sq(p.beside)
		for i := range keys {
			square += sq(keys[i].by[k])
		}
		p.prior = math.Sqrt(square)
	}
	for _, c := range causes.Table(v) {
		for _, t := range c.Reach() {
			p := &out[t.Param]
			p.fault = max(p.fault, faultSteps*t.Per)
		}
	}
	return out
}

// perK is by how much a battery's resistance rises a kelvin: about 0.8 % of lead-acid
// ones, up to three times as much of lithium cells, whose resistance doubles between 20 and
// 0 °C or nearly so; from memory.
func perK(v *vehicle.Vehicle) parameter {
	if v.Battery.Lithium() {
		return parameter{mean: 0.012, beside: 0.01}
	}
	return parameter{mean: 0.006, beside: 0.004}
}

// perSpent is by how much the battery's resistance rises with its charge: of a lead-acid battery by some hundredths
// while a quarter of that is spent, of a lithium one hardly before its end. Makers say that it is lowest full and rises
// as the battery empties; how much is common practice, no source.
func perSpent(v *vehicle.Vehicle) parameter {
	if v.Battery.Lithium() {
		return parameter{mean: 0.1, beside: 0.15}
	}
	return parameter{mean: 0.3, beside: 0.3}
}

// lightsA is what lights draw that the file does not tell: LED lamps of 5 to 25 W. Common practice, no
// source.
func lightsA(v *vehicle.Vehicle) parameter {
	if v.Lights.CurrentA > 0 || len(v.Lights.ResistorOhm) > 0 {
		return parameter{}
	}
	return parameter{mean: 1, beside: 0.8}
}

const (
	// bubblesG is by how much hover weights scatter from dive to dive, g, of a vehicle of
	// bubblesKG: air under the frame, wet foam, the reader's eye, all by its surface rather than its
	// volume; common practice, no source.
	bubblesG, bubblesKG = 5.0, 8.0
	// sagMean is what a battery in use loses, V/min; common practice, no source.
	sagMean = 0.004
	// faultSteps is how many times the usual size of a cause one may be.
	faultSteps = 2.0
)

// A space numbers the parameters that summaries of dives hold.
type space struct {
	causes  []causes.Cause
	of      []parameter // by index of predict.Params
	all     []int       // indices of predict.Params, in order
	place   []int       // of each index of predict.Params in all, −1
	static  []int       // places of those that the file does not tell exactly
	scatter []int       // places of those that vary from dive to dive
	columns []column    // all amplitudes of all causes
	keys    []doubt     // what is not known of the file's keys
	prior   prior       // of the static parameters
}

// A column is the direction in the space of one amplitude of a cause.
type column struct {
	cause, amplitude int
	terms            []term
}

// A term is a place in the space and what one unit of the amplitude adds there.
type term struct {
	at  int
	per float64
}

// ofOneDive are the parameters that are one dive's alone and never anything
// else: integrated out of what is kept of it.
var ofOneDive = []int{predict.SagVPerMinute, predict.ReelK, predict.DepthM, predict.TetherOutM, predict.MinuteMin, predict.WaterK}

// newSpace is that of a vehicle without some parameters, which its log never needs.
func newSpace(m *predict.Model, without ...int) *space {
	keys := doubts(m.Vehicle)
	s := &space{causes: causes.Table(m.Vehicle), of: withKeys(m, keys), keys: keys, place: make([]int, m.Dim())}
	for k := range s.place {
		s.place[k] = -1
		p := &s.of[k]
		if slices.Contains(ofOneDive, k) || slices.Contains(without, k) || p.prior == 0 && p.scatter == 0 && p.fault == 0 {
			continue
		}
		at := len(s.all)
		s.place[k], s.all = at, append(s.all, k)
		if p.prior > 0 {
			s.static = append(s.static, at)
		}
		if p.scatter > 0 {
			s.scatter = append(s.scatter, at)
		}
	}
	s.prior = s.priorOf(m)
	for i := range s.causes {
		for j, a := range s.causes[i].Amplitudes {
			col := column{cause: i, amplitude: j}
			for _, t := range a.Terms {
				col.terms = append(col.terms, term{s.place[t.Param], t.Per})
			}
			s.columns = append(s.columns, col)
		}
	}
	return s
}

// known is the parameter at a place of the space.
func (s *space) known(at int) *parameter { return &s.of[s.all[at]] }

const z95 = vehicle.Z95

func sq(x float64) float64 { return x * x }
