package audit

import (
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/fit"
	"sagline/predict/instrument"
	"sagline/predict/normal"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// A Known is what is known of one number of vehicle.toml, from its owner and from its log.
type Known struct {
	vehicle.Belief              // before any dive: the file's, else the prior
	Now            normal.Range // with the log
	Left           float64      // width of Now over that before any dive
	Beside         []string     // keys that the readings do not tell from this one
}

// asDived returns the Statics of the baseline's mean, with all its dives taken to be sound.
func asDived(r *fit.Result) fit.Statics {
	s := fit.Statics{Mean: make([]float64, len(r.Space.Static)), Cov: mat.NewSymDense(len(r.Space.Static), nil)}
	s.Cov.CopySym(r.Cov)
	for i, at := range r.Space.Static {
		s.Cov.SetSym(i, i, s.Cov.At(i, i)+sq(r.Space.Known(at).Scatter)/float64(max(r.Baseline, 1)))
	}
	return s
}

// Keys returns what is known of every number of the file given readings. What they say of a
// parameter is shared among its keys, the least known one taking most of it. What a [[change]] has
// set is as the file says.
func Keys(r *fit.Result, s fit.Statics) []Known {
	k := keysGiven(r, s)
	k.move()
	v := r.Models[0].Vehicle
	var out []Known
	for _, b := range r.Model.Vehicle.Beliefs() {
		x := Known{Belief: b, Now: normal.Range{Value: b.Value, Low: b.Low, High: b.High}, Left: 1}
		if q, ok := instrumentOf(b.Path); ok {
			x.instrument(r.Noise, q)
		} else if first := v.Belief(b.Path); !rebuilt(r, b.Path) && b.SD > 0 && first.SD > 0 {
			k.narrow(&x)
		}
		out = append(out, x)
	}
	if x, ok := lights(r, s); ok {
		out = append(out, x)
	}
	return out
}

// LightsKey is the key of the lights' current.
const LightsKey = "lights.current_a"

// lights returns the lights' current by the lines that have them on; ok is false if the file states
// it or there are no such lines.
func lights(r *fit.Result, s fit.Statics) (x Known, ok bool) {
	p := r.Space.Of[predict.LightsA]
	at := slices.IndexFunc(r.Space.Static, func(at int) bool { return r.Space.All[at] == predict.LightsA })
	x.Belief = r.Model.Vehicle.Belief(LightsKey)
	if at < 0 || p.Beside == 0 || x.Value > 0 {
		return x, false
	}
	value, sd := r.Base[predict.LightsA]+s.Mean[at], math.Sqrt(s.Cov.At(at, at))
	x.Value, x.SD, x.Low, x.High = p.Mean, p.Beside, max(p.Mean-vehicle.Z95*p.Beside, 0), p.Mean+vehicle.Z95*p.Beside
	x.Now, x.Left = normal.Range{Value: value, Low: max(value-vehicle.Z95*sd, 0), High: value + vehicle.Z95*sd}, sd/p.Beside
	return x, true
}

// rebuilt reports whether a [[change]] has set a path.
func rebuilt(r *fit.Result, path string) bool {
	return slices.ContainsFunc(r.Eras, func(e vehicle.Era) bool { return slices.Contains(e.Changed, path) })
}

// apart is the correlation above which the readings do not tell two keys apart.
const apart = 0.5

// beside returns the keys that the readings do not tell from one.
func (k *givenKeys) beside(key string) []string {
	at := slices.IndexFunc(k.keys, func(d priors.Doubt) bool { return d.Key == key })
	var out []string
	for i := range k.keys {
		if at < 0 || i == at {
			continue
		}
		if c := k.cov.At(i, at) / math.Sqrt(k.cov.At(i, i)*k.cov.At(at, at)); math.Abs(c) > apart {
			out = append(out, strings.TrimSuffix(k.keys[i].Key, vehicle.LeftOut))
		}
	}
	return slices.Compact(out)
}

// instrumentOf returns the quantity whose instrument's standard deviation a path is.
func instrumentOf(path string) (quantity.Quantity, bool) {
	name, ok := strings.CutPrefix(path, "instruments.")
	for q := range quantity.Count {
		if ok && instrument.Key(q) == name {
			return q, true
		}
	}
	return 0, false
}

// instrument sets what is known of an instrument's standard deviation: n readings give its
// logarithm to 1/√(2n).
func (x *Known) instrument(n *instrument.Noise, q quantity.Quantity) {
	x.Left = math.Sqrt(n.Doubt[q] / n.Worth[q])
	value, by := x.Value*n.Factor[q], math.Exp(vehicle.Z95*x.SD*x.Left)
	x.Now = normal.Range{Value: value, Low: value / by, High: value * by}
}
