package fit

import (
	"errors"
	"fmt"
	"math"

	"sagline/predict"
	"sagline/predict/lsq"
	"sagline/predict/normal"
	"sagline/session"
	"sagline/session/problem"
)

// mostLog bounds the logarithm of a factor that is found: half a billion.
const mostLog = 20

// credible says whether the factors found for a dive are any vehicle's.
func (r *Result) credible(d *DiveFit) bool {
	for k, x := range d.Summary.Params {
		if predict.IsLog(k) && math.Abs(x) > mostLog || math.IsNaN(x) {
			return false
		}
	}
	return true
}

// orAbsurd reports readings that leave the numbers that can be computed with
// where that is what a fit's error means.
func orAbsurd(err error, log *session.Log, d *dive) error {
	if errors.Is(err, lsq.ErrStart) || errors.Is(err, normal.ErrNotDefinite) {
		return absurd(log, d)
	}
	return err
}

// absurd says which dive no vehicle like this one could have made.
func absurd(log *session.Log, d *dive) error {
	return &problem.Problem{File: log.File, Line: d.log.Lines[0].Number,
		Text: fmt.Sprintf("dive %s: found readings, here or in the baseline, that lie beyond all that vehicle.toml could do; want them looked through", problem.Quote(d.log.Label))}
}
