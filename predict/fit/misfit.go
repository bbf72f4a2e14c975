package fit

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"sagline/predict"
	"sagline/predict/lsq"
	"sagline/predict/normal"
	"sagline/session"
	"sagline/session/problem"
	"sagline/session/quantity"
)

// A Misfit is a quantity of which several readings of one dive are off the same way in the dive's
// own fit, though everything in the table of causes was free there.
type Misfit struct {
	Quantity quantity.Quantity
	Off, Of  int     // readings that are off, and all
	By       float64 // mean of those off, standard deviations, positive if they read too much
	Chance   float64 // probability that a dive that fits has as many
}

// When readings are a misfit and not slips: three and more of one column do not slip the same way.
// Some lie beyond huber by chance: a priori a share offShare each way, which counts as offWorth
// readings beside the log's earlier dives. Of the 2,200 dives of 78 simulated seasons in the field
// five are a misfit by byChance.
const (
	fewestOff = 3
	offShare  = 0.01
	offWorth  = 100.0
	byChance  = 0.001
)

// Misfits returns the misfits of a dive. What the model leaves out in every dive is none: the log's
// earlier dives tell how many readings are off in any dive.
func (r *Result) Misfits(dive int) []Misfit {
	var out []Misfit
	if r.Dives[dive].Summary.IsIntermittent() {
		return nil // which scatters all its readings
	}
	for q := range quantity.Count {
		for _, sign := range []float64{-1, 1} {
			off, of, by := r.off(dive, q, sign)
			if off < fewestOff {
				continue
			}
			before, all := 0, 0
			for d := range dive {
				k, n, _ := r.off(d, q, sign)
				before, all = before+k, all+n
			}
			share := (offShare*offWorth + float64(before)) / (offWorth + float64(all))
			chance := distuv.Binomial{N: float64(of), P: share}.Survival(float64(off) - 1)
			if chance < byChance {
				out = append(out, Misfit{q, off, of, by, chance})
			}
		}
	}
	return out
}

// off counts a dive's readings of one quantity that are off one way in the dive's own fit; by is
// their mean z.
func (r *Result) off(dive int, q quantity.Quantity, sign float64) (off, of int, by float64) {
	for _, c := range r.Dives[dive].apart(r) {
		if c.Quantity != q || c.slip {
			continue
		}
		of++
		if c.Z*sign > huber {
			off++
			by += c.Z
		}
	}
	return off, of, by / math.Max(float64(off), 1)
}

// apart returns the dive's cells beside its own fit: at the mixture's mean, or at the best fit if
// that is closer to the readings. Z allows for what the lines do not give, such as a battery that
// falls unevenly.
func (d *DiveFit) apart(r *Result) []Compared {
	if d.compared == nil {
		grad := normal.Rows(int(quantity.Count), len(d.Summary.Params))
		d.compared = r.compareWith(d, d.Summary.Params, grad, nil)
		if best := d.Summary.Fitted; best != nil {
			if c := r.compareWith(d, best, grad, nil); squares(c) < squares(d.compared) {
				d.compared = c
			}
		}
	}
	return d.compared
}

// squares is the sum of squares of the cells that were not set aside.
func squares(of []Compared) float64 {
	sum := 0.0
	for _, c := range of {
		if !c.Outlier {
			sum += sq(c.Z)
		}
	}
	return sum
}

// mostLog bounds the logarithm of a factor: half a billion.
const mostLog = 20

// credible reports whether all parameters found for a dive are numbers and its factors below
// mostLog.
func (r *Result) credible(d *DiveFit) bool {
	for k, x := range d.Summary.Params {
		if predict.IsLog(k) && math.Abs(x) > mostLog || math.IsNaN(x) {
			return false
		}
	}
	return true
}

// orAbsurd returns absurd's error where err means that readings go beyond what can be computed,
// else err.
func orAbsurd(err error, log *session.Log, d *dive) error {
	if errors.Is(err, lsq.ErrStart) || errors.Is(err, normal.ErrNotDefinite) {
		return absurd(log, d)
	}
	return err
}

// absurd returns the error that names a dive that no vehicle like this one could have made.
func absurd(log *session.Log, d *dive) error {
	return &problem.Problem{File: log.File, Line: d.log.Lines[0].Number,
		Text: fmt.Sprintf("dive %s: found readings, here or in the baseline, that lie beyond all that vehicle.toml could do; want them looked through", problem.Quote(d.log.Label))}
}
