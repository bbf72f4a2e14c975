package fit

import (
	"errors"
	"fmt"
	"math"

	"sagline/predict"
	"sagline/predict/lsq"
	"sagline/session"
	"sagline/session/problem"
)

// mostLog bounds the logarithm of a factor that is found: half a billion.
const mostLog = 20

// thinkable says whether the factors found for a dive are any vehicle's.
func (r *Result) thinkable(d *DiveFit) bool {
	most := 0.0
	for _, x := range d.Summary.Params[:predict.LogClimbDrag+1] {
		most = max(most, math.Abs(x))
	}
	for i, k := range r.Drift {
		if k == predict.LogThrust {
			most = max(most, math.Abs(d.Drift[i].Low), math.Abs(d.Drift[i].High))
		}
	}
	return most <= mostLog
}

// orAbsurd tells of readings that leave the numbers that can be reckoned with
// where that is what a fit's error means.
func orAbsurd(err error, log *session.Log, d *dive) error {
	if errors.Is(err, lsq.ErrStart) {
		return absurd(log, d)
	}
	return err
}

// absurd says which dive no vehicle like this one could have made.
func absurd(log *session.Log, d *dive) error {
	return &problem.Problem{File: log.File, Line: d.log.Lines[0].Number,
		Text: fmt.Sprintf("dive %s: found readings, here or in the baseline, that lie beyond all that vehicle.toml could do; want them looked through", problem.Quote(d.log.Label))}
}
