package fit

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/normal"
	"sagline/session/quantity"
)

// Statics is what is known of the parameters that dives share, in the order of Space.Static: their
// distance from Base, and its covariance.
type Statics struct {
	Mean []float64
	Cov  *mat.SymDense
}

// A Posterior is what is known together of some parameters: by their indices in predict.Params, how far
// they lie from Base now and in the sound vehicle, and the covariances of where they lie now and
// there. The zero value is of none.
type Posterior struct {
	Params        []int
	Now, Sound    []float64
	Cov, SoundCov *mat.SymDense
}

// A Since is what is known of parameters of the sound vehicle from a dive on, by index: their levels,
// and how far they were set anew there, with standard deviations; 0 where they were not.
type Since struct {
	From int
	Posterior
	Anew, AnewSD []float64
}

// LevelsAt returns the index of the newest of levels, oldest first, that hold at a dive, −1 if none
// does.
func LevelsAt(levels []Since, dive int) int {
	for i, l := range slices.Backward(levels) {
		if l.From <= dive {
			return i
		}
	}
	return -1
}

// OfSound returns the posterior of a vehicle that is sound now.
func (j Posterior) OfSound() Posterior {
	return Posterior{j.Params, j.Sound, j.Sound, j.SoundCov, j.SoundCov}
}

// Index returns the index of a parameter, −1 if it is not among them.
func (j *Posterior) Index(param int) int { return slices.Index(j.Params, param) }

// Without returns the others than a parameter.
func (j Posterior) Without(param int) Posterior {
	i := j.Index(param)
	if i < 0 {
		return j
	}
	without := func(x []float64) []float64 { return slices.Delete(slices.Clone(x), i, i+1) }
	return Posterior{slices.Delete(slices.Clone(j.Params), i, i+1), without(j.Now), without(j.Sound), withoutRow(j.Cov, i), withoutRow(j.SoundCov, i)}
}

// withoutRow returns a symmetric matrix without row and column i, nil if nothing is left.
func withoutRow(m *mat.SymDense, i int) *mat.SymDense {
	n := m.SymmetricDim() - 1
	if n == 0 {
		return nil
	}
	old := func(k int) int {
		if k >= i {
			return k + 1
		}
		return k
	}
	out := mat.NewSymDense(n, nil)
	for a := range n {
		for b := a; b < n; b++ {
			out.SetSym(a, b, m.At(old(a), old(b)))
		}
	}
	return out
}

// OfBaseline returns Statics after the baseline.
func (r *Result) OfBaseline() Statics { return Statics{r.SoundOffset, r.SoundCov} }

// ofMotors are the parameters of all thrusters that set their currents.
var ofMotors = []int{predict.LogSize, predict.LogTorque, predict.LogArmature, predict.FrictionA}

// OfThrusters returns the principal axes of the calibration's uncertainty of the thrusters'
// currents, one standard deviation each, as additions to Params. Before the first dive there are
// none.
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

// NotConverged returns a message that the calibration did not converge, "" if it did.
func (r *Result) NotConverged() string {
	if len(r.Dives) == 0 || !r.Status.Early() {
		return ""
	}
	return fmt.Sprintf("the calibration on the baseline's dives did not converge (%s): all that rests on it may be off", r.Status)
}

// NotConverged reports whether the dive's own fit ended before it had converged.
func (d *DiveFit) NotConverged() bool { return d.d.notConverged }

// SoundOf is the sound vehicle's value of a parameter that is shown absolute: the battery's
// resistance in Ω, with what it loses as soon as anything runs at LoadA; the logarithm of the insulation.
func (r *Result) SoundOf(param int) float64 {
	if param == predict.BatteryOhm {
		return r.Model.Vehicle.Battery.ResistanceOhm + r.Base[param] + r.surfaceOhm(r.Base)
	}
	return r.Base[param]
}

// uncertain is the variance of a prediction with given slopes that the calibration's uncertainty
// makes.
func (f *diver) uncertain(slope []float64) float64 {
	sum := 0.0
	for i, a := range f.sp.Static {
		x := slope[f.sp.All[a]]
		if x == 0 {
			continue
		}
		for j, b := range f.sp.Static {
			sum += x * slope[f.sp.All[b]] * f.cov.At(i, j)
		}
	}
	return max(sum, 0)
}

// leastUnknown defines an uncalibrated cell, of a column that the baseline does not have or a
// thruster that it does not run: the calibration's standard deviation of its logarithm is at least
// leastUnknown times its instrument's, and the cell lies within implausible times the former.
// Common practice, no source.
const leastUnknown = 3.0

// recalibrations is the number of updates from such cells, whose logarithms are nearly linear.
const recalibrations = 4

// uncalibrated returns the uncalibrated cells of a dive at p.
func (f *diver) uncalibrated(d *dive, p predict.Params) (cells []int) {
	d.predict(f.m, p, perLine{}, f.sc, true)
	for k := range d.cells {
		c, want := &d.cells[k], f.sc.predicted.want[k]
		if c.stream || c.Quantity.Log() || c.Quantity == quantity.Trim || c.Value*want <= 0 {
			continue
		}
		unknown := math.Sqrt(f.uncertain(f.sc.predicted.slope[k])) / math.Abs(want)
		if unknown > leastUnknown*c.noiseAt(f.noise, c.Value)/math.Abs(c.Value) && math.Abs(math.Log(c.Value/want)) < implausible*unknown {
			cells = append(cells, k)
		}
	}
	return cells
}

// recalibrate returns p with its static parameters updated from cells of a dive, nil if they imply
// no plausible ones. It iterates updates (Bell and Cathey, IEEE Transactions on Automatic Control
// 38, 1993): the expansion about the calibration does not hold as far off as an uncalibrated
// reading may lie, such as a pull three times that of a file with few keys.
func (f *diver) recalibrate(d *dive, p predict.Params, cells []int) predict.Params {
	if len(cells) == 0 {
		return nil
	}
	from, static := p, f.sp.Static
	row, x := make([]float64, len(static)), mat.NewVecDense(len(static), nil)
	for range recalibrations {
		d.predict(f.m, p, perLine{}, f.sc, true)
		sum := normal.NewInformation(len(static))
		sum.Info.CopySym(f.precision)
		for _, k := range cells {
			c, want := &d.cells[k], f.sc.predicted.want[k]
			if c.Value*want <= 0 {
				return nil
			}
			sd := c.noiseAt(f.noise, want) / math.Abs(want)
			for j, at := range static {
				row[j] = f.sc.predicted.slope[k][f.sp.All[at]] / want / sd
			}
			sum.Add(row, math.Log(c.Value/want)/sd+blas64.Dot(normal.Vector(row), x.RawVector()))
		}
		cov, ok := normal.Invert(sum.Info)
		if !ok {
			return nil
		}
		x.MulVec(cov, mat.NewVecDense(len(static), sum.Lin))
		p = slices.Clone(from)
		for j, at := range static {
			if !(math.Abs(x.AtVec(j)) <= implausible*math.Sqrt(f.cov.At(j, j))) { // also if x is NaN
				return nil
			}
			p[f.sp.All[at]] += x.AtVec(j)
		}
	}
	return p
}
