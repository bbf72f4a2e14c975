package fit

import (
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/instrument"
	"sagline/predict/normal"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// A Known is what is known of one number of vehicle.toml, by its owner and by
// its log.
type Known struct {
	vehicle.Belief              // before any dive: the file's, or what is assumed where it says nothing
	Now            normal.Range // with the log
	Left           float64      // share of the range before any dive that is left, 1: the log says nothing
	Beside         []string
}

// Statics is what is known of the parameters that dives share: of each, by
// Static, how far it lies from Base, and their covariance.
type Statics struct {
	Mean []float64
	Cov  *mat.SymDense
}

// OfBaseline is Statics after the baseline.
func (r *Result) OfBaseline() Statics { return Statics{r.Usual, r.UsualCov} }

// ofMotors are the parameters of all thrusters that their currents follow.
var ofMotors = []int{predict.LogSize, predict.LogTorque, predict.LogArmature, predict.FrictionA}

// OfThrusters are what one standard deviation of each doubt that the calibration
// leaves of the thrusters' currents adds to Params: columns of a root of its
// covariance. Before the first dive there are none.
func (r *Result) OfThrusters() (out []predict.Params) {
	if len(r.Dives) == 0 {
		return nil
	}
	var at []int // among the static parameters
	for i, place := range r.Space.Static {
		if slices.Contains(ofMotors, r.Space.All[place]) {
			at = append(at, i)
		}
	}
	cov := mat.NewSymDense(len(at), nil)
	for i := range at {
		for j := i; j < len(at); j++ {
			cov.SetSym(i, j, r.Cov.At(at[i], at[j]))
		}
	}
	var e mat.EigenSym
	if len(at) == 0 || !e.Factorize(cov, true) {
		return nil
	}
	var axes mat.Dense
	e.VectorsTo(&axes)
	for j, variance := range e.Values(nil) {
		p := r.Model.NewParams().Times(0)
		for i := range at {
			p[r.Space.All[r.Space.Static[at[i]]]] = axes.At(i, j) * math.Sqrt(max(variance, 0))
		}
		out = append(out, p)
	}
	return out
}

// asDived is Statics of the baseline's mean, every dive of it taken for sound.
func (r *Result) asDived() Statics {
	s := Statics{make([]float64, len(r.Space.Static)), mat.NewSymDense(len(r.Space.Static), nil)}
	s.Cov.CopySym(r.Cov)
	for i, at := range r.Space.Static {
		s.Cov.SetSym(i, i, s.Cov.At(i, i)+sq(r.Space.Known(at).Scatter)/float64(max(r.Baseline, 1)))
	}
	return s
}

// Known goes back from parameters to keys: what readings say of a parameter is
// shared out among the keys that enter it, so that what is known least takes
// most of a change. Beside names the keys that the readings do not tell from
// one. What a [[change]] has set anew is as the file says.
func (r *Result) Known(s Statics) []Known {
	k := r.keysGiven(s)
	v := r.models[0].Vehicle
	var out []Known
	for _, b := range r.Model.Vehicle.Beliefs() {
		x := Known{Belief: b, Now: normal.Range{Value: b.Value, Low: b.Low, High: b.High}, Left: 1}
		if q, ok := instrumentOf(b.Path); ok {
			x.instrument(r.Noise, q)
		} else if was := v.Belief(b.Path); !r.rebuilt(b.Path) && b.SD > 0 && was.SD > 0 {
			k.narrow(&x)
		}
		out = append(out, x)
	}
	if x, ok := r.lights(s); ok {
		out = append(out, x)
	}
	return out
}

// LightsKey is the key of what lights draw.
const LightsKey = "lights.current_a"

// lights is what lines with lights on say that those draw, where the file does not.
func (r *Result) lights(s Statics) (x Known, ok bool) {
	p := r.Space.Of[predict.LightsA]
	at := slices.IndexFunc(r.Space.Static, func(at int) bool { return r.Space.All[at] == predict.LightsA })
	x.Belief = r.Model.Vehicle.Belief(LightsKey)
	if at < 0 || p.Beside == 0 || x.Value > 0 {
		return x, false
	}
	value, sd := r.Base[predict.LightsA]+s.Mean[at], math.Sqrt(s.Cov.At(at, at))
	x.Value, x.SD, x.Low, x.High = p.Mean, p.Beside, max(p.Mean-z95*p.Beside, 0), p.Mean+z95*p.Beside
	x.Now, x.Left = normal.Range{Value: value, Low: max(value-z95*sd, 0), High: value + z95*sd}, sd/p.Beside
	return x, true
}

// rebuilt says whether a path has been set anew.
func (r *Result) rebuilt(path string) bool {
	return slices.ContainsFunc(r.eras, func(e vehicle.Era) bool { return slices.Contains(e.Changed, path) })
}

// apart is the correlation from which two keys are not told from each other.
const apart = 0.5

// beside are the keys that the readings narrow together with one.
func (k *givenKeys) beside(key string) []string {
	at := slices.IndexFunc(k.keys, func(d priors.Doubt) bool { return d.Key == key })
	var out []string
	for i := range k.keys {
		if at < 0 || i == at {
			continue
		}
		if c := k.cov.At(i, at) / math.Sqrt(k.cov.At(i, i)*k.cov.At(at, at)); math.Abs(c) > apart {
			out = append(out, k.keys[i].Key)
		}
	}
	return out
}

// instrumentOf is the quantity whose standard deviation a path is.
func instrumentOf(path string) (quantity.Quantity, bool) {
	name, ok := strings.CutPrefix(path, "instruments.")
	for q := range quantity.Count {
		if ok && instrument.Key(q) == name {
			return q, true
		}
	}
	return 0, false
}

// instrument sets what is known of a standard deviation: the logarithm of one
// that n readings show is known to 1/√(2n).
func (x *Known) instrument(n *instrument.Noise, q quantity.Quantity) {
	x.Left = math.Sqrt(n.Doubt[q] / n.Worth[q])
	value, by := x.Value*n.Factor[q], math.Exp(z95*x.SD*x.Left)
	x.Now = normal.Range{Value: value, Low: value / by, High: value * by}
}

const z95 = vehicle.Z95
