package priors

import (
	"maps"
	"math"

	"sagline/predict"
	"sagline/predict/vehicle"
)

// A Doubt is one key of vehicle.toml that is not known exactly, the others held:
// thrusters have theirs alike.
type Doubt struct {
	Key   string         // as thruster.*.test_a
	Paths []string       // as thruster.port.test_a
	By    predict.Params // what one standard deviation adds to the vehicle
}

// Doubts are those of a vehicle's keys, independent of each other: what is left
// out and a formula of a key moves along with it, and has a doubt of its own for
// what the formula leaves open.
func Doubts(v *vehicle.Vehicle) []Doubt {
	var out []Doubt
	at := map[string]int{}
	for _, b := range v.Beliefs() {
		if i, ok := at[b.Key]; ok {
			out[i].Paths = append(out[i].Paths, b.Path)
			continue
		}
		if b.Residual == 0 {
			continue
		}
		d := Doubt{Key: b.Key, Paths: []string{b.Path}, By: SlopesOf(v, nil, b.Key)}
		any := false
		for k := range d.By {
			any = any || d.By[k] != 0
		}
		if any {
			at[b.Key] = len(out)
			out = append(out, d)
		}
	}
	return out
}

// SlopesOf is what one standard deviation of a key adds to a vehicle whose keys
// lie z standard deviations up.
func SlopesOf(v *vehicle.Vehicle, z map[string]float64, key string) predict.Params {
	at := func(by float64) *vehicle.Vehicle {
		moved := maps.Clone(z)
		if moved == nil {
			moved = map[string]float64{}
		}
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

// leastSlope is what rounding leaves where a key changes nothing, in any parameter's unit: a prior
// as narrow as that would be held for sure.
const leastSlope = 1e-9

// leastLift is what of its weight ballast of a known kind may lose in water more or less than that, which
// no scale tells: 2 % of lead's or steel's density are 0.3 g in 100.
const leastLift = 0.01
