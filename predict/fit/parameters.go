package fit

import (
	"math"
	"slices"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/vehicle"
)

// A parameter says what is assumed of one index of predict.Params before any
// reading of a log, all in the parameter's unit.
type parameter struct {
	mean    float64 // of how the vehicle differs from its file
	prior   float64 // one standard deviation of that; 0: exactly as in the file
	scatter float64 // one standard deviation from sound dive to sound dive
	learn   float64 // one standard deviation of ln(scatter/expected) over logs
	fault   float64 // how far a cause may take it in one dive
}

// perThruster is what thrusters of one vehicle are assumed to differ by.
var perThruster = [predict.PerThruster]parameter{
	predict.BranchOhm:    {scatter: 0.005, learn: 0.3},
	predict.LogOneThrust: {prior: 0.05, scatter: 0.006, learn: 0.4},
	predict.LogOneTorque: {prior: 0.04},
	predict.OneFrictionA: {prior: 0.04, scatter: 0.006, learn: 0.4},
	predict.LogWeakness:  {},
}

// parameters is the table of what is assumed of a vehicle. Scatter is common
// practice, no source, but where noted; priors follow from what the vehicle's
// file says of each key and how well.
func parameters(m *predict.Model) []parameter {
	v := m.Vehicle
	out := make([]parameter, m.Dim())
	copy(out, []parameter{
		// A rested battery's voltage follows its charge.
		predict.OpenCircuitV: {mean: v.RestBelief().Value - v.Battery.NominalV, prior: math.Hypot(0.05*v.Battery.NominalV, v.RestBelief().SD), scatter: 0.12, learn: 0.6},
		// Cells lose some millivolts a minute under such loads.
		predict.SagVPerMinute: {mean: sagMean, prior: 0.01},
		predict.BatteryOhm:    {prior: unit(v, "battery.resistance_ohm"), scatter: 0.0015, learn: 0.3},
		// design of lead-acid and lithium cells alike: about 0.8 % a kelvin.
		predict.BatteryPerK: {mean: 0.006, prior: 0.004},

		predict.LoopOhm:       {prior: math.Hypot(unit(v, "tether.power.joints_ohm"), cableTolerance*v.Tether.CableOhm(15)), scatter: 0.008, learn: 0.3},
		predict.LogInsulation: {prior: 3, scatter: 0.5, learn: 0.5},
		predict.UnloggedA:     {},
		// Copper on the reel lies in air and sun.
		predict.ReelK: {mean: 2, scatter: 5},

		predict.LogSize:     {prior: sizePrior(v)},
		predict.LogTorque:   {prior: torquePrior(v)},
		predict.LogThrust:   {prior: thrusters(v, "test_n"), scatter: 0.015, learn: 0.3},
		predict.LogPitch:    {prior: math.Hypot(math.Hypot(thrusters(v, "no_load_rpm"), thrusters(v, "prop_pitch_mm")), unit(v, "hull.wake"))},
		predict.LogArmature: {prior: residual(v, "armature_ohm")},
		predict.FrictionA:   {prior: frictionPrior(v), scatter: 0.015, learn: 0.3},
		predict.LogAstern:   {prior: thrusters(v, "astern")},
		// A winding under steady load reaches some tens of kelvins above the water.
		predict.WarmK: {mean: 10, prior: 10, scatter: 6, learn: 0.4},

		predict.LogDrag:       {prior: share(v, "hull.drag_area_m2"), scatter: 0.01, learn: 0.5},
		predict.LogTetherDrag: {prior: math.Hypot(share(v, "tether.normal_drag"), share(v, "tether.diameter_mm"))},
		predict.LogClimbDrag:  {prior: share(v, "hull.climb_drag_area_m2")},
		predict.TrimG:         {prior: unit(v, "hull.trim_g"), scatter: 5, learn: 0.3},
		predict.TrimPerM:      {prior: math.Hypot(unit(v, "hull.foam_loss_g_m"), unit(v, "tether.weight_g_m"))},
		predict.LogDisplaced:  {prior: share(v, "hull.displaced_kg")},
		predict.StreamMS:      {scatter: 0.03, learn: 0.7},

		predict.LoopMeterOhm: {},
	})
	for i := range v.Thrusters {
		for what, p := range perThruster {
			if what == predict.BranchOhm {
				p.prior = unit(v, "thruster."+v.Thrusters[i].Name+".branch_ohm")
			}
			out[predict.OfThruster(i, what)] = p
		}
	}
	for _, c := range causes.Table(v) {
		for _, a := range c.Amplitudes {
			for _, t := range a.Terms {
				p := &out[t.Param]
				p.fault = max(p.fault, faultSteps*a.Step*math.Abs(t.Per))
			}
		}
	}
	return out
}

const (
	// sagMean is what a battery in use loses, V/min; common practice, no source.
	sagMean = 0.004
	// cableTolerance is one standard deviation of a cable's resistance against
	// its stated length and size: IEC 60228 bounds it from above, makers keep a
	// few per cent below; common practice, no source.
	cableTolerance = 0.03
	// faultSteps is how many times the usual size of a cause one may be.
	faultSteps = 2.0
)

// unit and share are one standard deviation of a key's value: in its unit, and
// of its logarithm.
func unit(v *vehicle.Vehicle, path string) float64 {
	b := v.Belief(path)
	if b.Log {
		return b.SD * math.Abs(b.Value)
	}
	return b.SD
}

func share(v *vehicle.Vehicle, path string) float64 {
	b := v.Belief(path)
	if !b.Log {
		return b.SD / max(math.Abs(b.Value), 1e-9)
	}
	return b.SD
}

// thrusters is the largest share among a vehicle's thrusters.
func thrusters(v *vehicle.Vehicle, key string) float64 {
	most := 0.0
	for i := range v.Thrusters {
		most = max(most, share(v, "thruster."+v.Thrusters[i].Name+"."+key))
	}
	return most
}

// residual is thrusters of what is left when the keys are known that a prior is a
// formula of.
func residual(v *vehicle.Vehicle, key string) float64 {
	most := 0.0
	for i := range v.Thrusters {
		if b := v.Belief("thruster." + v.Thrusters[i].Name + "." + key); b.Log {
			most = max(most, b.Residual)
		} else {
			most = max(most, b.Residual/max(math.Abs(b.Value), 1e-9))
		}
	}
	return most
}

// stated says whether the file gives a key of any thruster.
func stated(v *vehicle.Vehicle, key string) bool {
	return slices.ContainsFunc(v.Thrusters, func(t vehicle.Thruster) bool { return v.Belief("thruster."+t.Name+"."+key).Origin != vehicle.Prior })
}

// An armature's resistance that the file leaves out is reckoned from the test
// current, so that a wrong current scales it along. One that the file gives
// stands by itself: a wrong current is then one of the propeller's torque.
func sizePrior(v *vehicle.Vehicle) float64 {
	if stated(v, "armature_ohm") {
		return 0
	}
	return thrusters(v, "test_a")
}

func torquePrior(v *vehicle.Vehicle) float64 {
	if stated(v, "armature_ohm") {
		return 1.5 * thrusters(v, "test_a")
	}
	return 0.08
}

func frictionPrior(v *vehicle.Vehicle) float64 {
	most := 0.0
	for i := range v.Thrusters {
		b := v.Belief("thruster." + v.Thrusters[i].Name + ".no_load_a")
		sd := b.Residual
		if b.Log {
			sd *= b.Value
		}
		most = max(most, sd)
	}
	return most
}

// A space numbers the parameters that summaries of dives hold.
type space struct {
	causes  []causes.Cause
	of      []parameter // by index of predict.Params
	all     []int       // indices of predict.Params, in order
	place   []int       // of each index of predict.Params in all, −1
	static  []int       // places of those that the file does not tell exactly
	scatter []int       // places of those that vary from dive to dive
	columns []column    // all amplitudes of all causes
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

func newSpace(m *predict.Model) *space {
	s := &space{causes: causes.Table(m.Vehicle), of: parameters(m), place: make([]int, m.Dim())}
	for k := range s.place {
		s.place[k] = -1
		p := &s.of[k]
		if slices.Contains(ofOneDive, k) || p.prior == 0 && p.scatter == 0 && p.fault == 0 {
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

func sq(x float64) float64 { return x * x }
