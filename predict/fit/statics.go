package fit

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
)

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

// Unsettled says that the calibration did not converge, "" where it did.
func (r *Result) Unsettled() string {
	if len(r.Dives) == 0 || !r.Status.Early() {
		return ""
	}
	return fmt.Sprintf("the calibration on the baseline's dives did not converge (%s): all that rests on it may be off", r.Status)
}

// Unsettled says whether the dive's own fit ended before it had converged.
func (d *DiveFit) Unsettled() bool { return d.d.unsettled }

// SoundOf is what the vehicle has, when sound, of a parameter that is shown
// absolute: the battery's resistance in Ω, the insulation's logarithm.
func (r *Result) SoundOf(param int) float64 {
	if param == predict.BatteryOhm {
		return r.Model.Vehicle.Battery.ResistanceOhm + r.Base[param]
	}
	return r.Base[param]
}
