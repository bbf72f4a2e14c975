package fit

import (
	"math"
	"slices"
	"strings"

	"sagline/predict"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
)

// touched lists the parameters whose sound level a rebuilt key may change, by the beginning of its
// path.
var touched = []struct {
	path   string
	params []int
}{
	{"battery.", []int{predict.BatteryOhm, predict.OpenCircuitV}},
	{"tether.", []int{predict.LoopOhm, predict.LogInsulation, predict.LogTetherDrag, predict.TrimPerM}},
	{"hull.", []int{predict.LogDrag, predict.LogClimbDrag, predict.TrimG, predict.TrimPerM, predict.LogDisplaced, predict.HullPerK}},
	{"lights.", []int{predict.LightsA, predict.UnloggedA}},
	{"camera.", []int{predict.UnloggedA}},
}

// shared maps one thruster's parameter to the parameters of all thrusters whose priors count too if
// that thruster alone gets another motor or propeller.
var shared = map[int][]int{predict.LogOnePitch: {predict.LogPitch}, predict.LogOneThrust: {predict.LogThrust},
	predict.LogOneTorque: {predict.LogSize, predict.LogTorque}, predict.OneFrictionA: {predict.FrictionA}}

// A Free is a place of the space at which a dive may have its own value, and that value's standard
// deviation.
type Free struct {
	Place int
	SD    float64
}

// rebuiltScatter is the least standard deviation of a rebuilt level, as a multiple of sound
// scatter: common practice, no source.
const rebuiltScatter = 3.0

// Rebuilt returns the places of the space whose sound level may have changed with an era, with one
// standard deviation of the change: as far as a vehicle may differ from its file.
func (r *Result) Rebuilt(era int) []Free {
	e := &r.Eras[era]
	of := priors.Parameters(r.Models[era])
	var out []Free
	for _, k := range Anew(e.Vehicle, e.Changed) {
		sd := of[k].Prior
		if k >= predict.FirstThruster {
			for _, all := range shared[(k-predict.FirstThruster)%predict.PerThruster] {
				sd = math.Hypot(sd, of[all].Prior)
			}
		}
		if at := r.Space.Place[k]; at >= 0 {
			out = append(out, Free{at, max(sd, rebuiltScatter*of[k].Scatter, 0.05)})
		}
	}
	return out
}

// Anew returns, in order, the parameters whose sound level may change when the keys of paths are
// rebuilt: a thruster's own, and the shared ones if all thrusters are.
func Anew(v *vehicle.Vehicle, paths []string) (params []int) {
	rebuilt := map[int]bool{}
	for _, path := range paths {
		for _, t := range touched {
			if strings.HasPrefix(path, t.path) {
				params = append(params, t.params...)
			}
		}
		if i := thrusterOf(v, path); i >= 0 {
			rebuilt[i] = true
			for what := range predict.PerThruster {
				params = append(params, predict.OfThruster(i, what))
			}
		}
	}
	if len(rebuilt) > 0 && len(rebuilt) == len(v.Thrusters) {
		params = append(params, predict.LogPitch, predict.LogThrust, predict.LogTorque, predict.FrictionA)
	}
	slices.Sort(params)
	return slices.Compact(params)
}

// RebuiltAt returns the paths of what was rebuilt just before a dive.
func (r *Result) RebuiltAt(dive int) []string {
	if dive == 0 || r.Dives[dive].Era == r.Dives[dive-1].Era {
		return nil
	}
	return r.Eras[r.Dives[dive].Era].Changed
}

// ToCome returns, by index of predict.Params, one standard deviation of the levels that a change
// logged for the next dive may alter.
func (r *Result) ToCome() map[int]float64 {
	out := map[int]float64{}
	if last := len(r.Eras) - 1; last > 0 && r.Eras[last].First == len(r.Dives) {
		for _, f := range r.Rebuilt(last) {
			out[r.Space.All[f.Place]] = f.SD
		}
	}
	return out
}

// Builds describes what was rebuilt up to a dive, oldest first: "from dive 13 on: tether.length_m =
// 80, was 30". For the newest dive it includes what is to come.
func (r *Result) Builds(dive int) (out []string) {
	for n := 1; n < len(r.Eras); n++ {
		e := &r.Eras[n]
		toCome := e.First == len(r.Dives)
		if !toCome && e.First > dive || toCome && dive < e.First-1 {
			return out
		}
		out = append(out, e.Said(toCome)...)
	}
	if dive == len(r.Dives)-1 {
		out = append(out, r.Later...)
	}
	return out
}

// ModelOf returns the vehicle as built at a dive.
func (r *Result) ModelOf(dive int) *predict.Model { return r.Models[r.Dives[dive].Era] }

// thrusterOf returns the thruster that a path names, −1 if none.
func thrusterOf(v *vehicle.Vehicle, path string) int {
	for i := range v.Thrusters {
		if strings.HasPrefix(path, "thruster."+v.Thrusters[i].Name+".") {
			return i
		}
	}
	return -1
}

// OtherBattery returns the places of which a dive with another battery than today's says nothing,
// with one standard deviation of how far a vehicle's batteries may differ.
func (r *Result) OtherBattery() []Free {
	var out []Free
	for _, k := range priors.OfBattery {
		p := &r.Space.Of[k]
		out = append(out, Free{r.Space.Place[k], max(p.Prior, p.Fault)})
	}
	return out
}
