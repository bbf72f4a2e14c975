package priors

import (
	"maps"
	"math"
	"slices"

	"sagline/predict"
	"sagline/predict/vehicle"
)

// A Doubt is the uncertainty of one key of vehicle.toml, the others held fixed. Thrusters share
// one, except those that leave out a key that others state; those of another axis may have one of
// their own besides.
type Doubt struct {
	Key   string         // a Belief's Doubt or OfAxis: thruster.*.test_a
	Paths []string       // as thruster.port.test_a
	By    predict.Params // what one standard deviation adds to the vehicle's parameters
}

// Doubts returns the uncertainties of a vehicle's keys, independent of each other. A key that is
// left out and follows from a formula moves along with the formula's keys, and has a Doubt of its
// own for what the formula leaves open.
func Doubts(v *vehicle.Vehicle) []Doubt {
	var out []Doubt
	at := map[string]int{}
	for _, b := range v.Beliefs() {
		for _, name := range []string{b.Doubt, b.OfAxis} {
			if i, ok := at[name]; ok {
				out[i].Paths = append(out[i].Paths, b.Path)
				continue
			}
			if name == "" || b.Residual == 0 {
				continue
			}
			d := Doubt{Key: name, Paths: []string{b.Path}, By: SlopesOf(v, nil, name)}
			if slices.ContainsFunc(d.By, func(x float64) bool { return x != 0 }) {
				at[name] = len(out)
				out = append(out, d)
			}
		}
	}
	return out
}

// OneThrusters returns two doubts of each thruster's test current if there are several thrusters:
// its propeller takes another torque than the others', and its thrust either differs by as much or
// is as the file says.
func OneThrusters(v *vehicle.Vehicle) (out []Doubt) {
	if len(v.Thrusters) == 1 {
		return nil
	}
	for i := range v.Thrusters {
		b := v.Belief("thruster." + v.Thrusters[i].Name + ".test_a")
		if !b.Log || b.SD == 0 {
			continue
		}
		alone := Doubt{Key: b.Path, Paths: []string{b.Path}, By: make(predict.Params, predict.OfThruster(len(v.Thrusters), 0))}
		alone.By[predict.OfThruster(i, predict.LogOneTorque)] = b.SD
		size := Doubt{Key: b.Path, Paths: alone.Paths, By: slices.Clone(alone.By)}
		size.By[predict.OfThruster(i, predict.LogOneThrust)] = b.SD
		out = append(out, alone, size)
	}
	return out
}

// SlopesOf returns what one standard deviation of a key adds to the parameters, at a vehicle whose
// keys are moved by z standard deviations.
func SlopesOf(v *vehicle.Vehicle, z map[string]float64, key string) predict.Params {
	at := func(by float64) *vehicle.Vehicle {
		moved := map[string]float64{}
		maps.Copy(moved, z)
		moved[key] += by
		return v.Varied(moved)
	}
	slopes := predict.Difference(at(-1), at(1))
	for k := range slopes {
		if slopes[k] /= 2; math.Abs(slopes[k]) < leastSlope {
			slopes[k] = 0
		}
	}
	if math.Abs(slopes[predict.BallastLift]) < leastLift {
		slopes[predict.BallastLift] = 0
	}
	return slopes
}

// leastSlope is the most that rounding leaves where a key changes nothing, in any parameter's unit:
// a prior as narrow as that would hold the parameter fixed.
const leastSlope = 1e-9

// leastLift bounds the uncertainty, as a share of its weight, of what ballast of a known kind loses
// in water, which no scale tells: 2 % of lead's or steel's density are 0.3 g in 100.
const leastLift = 0.01
