package fit

import (
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// A Known is what is known of one number of vehicle.toml, by its owner and by
// its log.
type Known struct {
	vehicle.Belief         // before any dive: the file's, or what is assumed where it says nothing
	Now            Range   // with the log
	Left           float64 // share of the range before any dive that is left, 1: the log says nothing
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

// asDived is Statics of the baseline's mean, every dive of it taken for sound.
func (r *Result) asDived() Statics {
	s := Statics{make([]float64, len(r.Space.static)), mat.NewSymDense(len(r.Space.static), nil)}
	s.Cov.CopySym(r.Cov)
	for i, at := range r.Space.static {
		s.Cov.SetSym(i, i, s.Cov.At(i, i)+sq(r.Space.known(at).scatter)/float64(max(r.Baseline, 1)))
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
		x := Known{Belief: b, Now: Range{b.Value, b.Low, b.High}, Left: 1}
		if q, ok := instrumentOf(b.Path); ok {
			x.instrument(r.noise, q)
		} else if was := v.Belief(b.Path); !r.rebuilt(b.Path) && b.SD > 0 && was.SD > 0 {
			k.narrow(&x)
		}
		out = append(out, x)
	}
	return out
}

// rebuilt says whether a path has been set anew.
func (r *Result) rebuilt(path string) bool {
	return slices.ContainsFunc(r.eras, func(e vehicle.Era) bool { return slices.Contains(e.Changed, path) })
}

// apart is the correlation from which two keys are not told from each other.
const apart = 0.5

// beside are the keys that the readings narrow together with one.
func (k *givenKeys) beside(key string) []string {
	at := slices.IndexFunc(k.keys, func(d doubt) bool { return d.key == key })
	var out []string
	for i := range k.keys {
		if at < 0 || i == at {
			continue
		}
		if c := k.cov.At(i, at) / math.Sqrt(k.cov.At(i, i)*k.cov.At(at, at)); math.Abs(c) > apart {
			out = append(out, k.keys[i].key)
		}
	}
	return out
}

// instrumentOf is the quantity whose standard deviation a path is.
func instrumentOf(path string) (quantity.Quantity, bool) {
	name, ok := strings.CutPrefix(path, "instruments.")
	for q := range quantity.Count {
		if ok && instrumentKey(q) == name {
			return q, true
		}
	}
	return 0, false
}

// instrument sets what is known of a standard deviation: the logarithm of one
// that n readings show is known to 1/√(2n).
func (x *Known) instrument(n *noise, q quantity.Quantity) {
	x.Left = math.Sqrt(n.doubt[q] / n.worth[q])
	value, by := x.Value*n.factor[q], math.Exp(z95*x.SD*x.Left)
	x.Now = Range{value, value / by, value * by}
}
