package outlook_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
)

// A log is fitted and analysed.
type analysed struct {
	*fit.Result
	*findings.Report
}

// simulated is a log of 20 dives of the vehicle of a seed whose parameters change from the eleventh on; n counts the
// dives since, from 1.
func simulated(t *testing.T, seed uint64, change func(p predict.Params, n float64)) analysed {
	t.Helper()
	const dives, onset = 20, 11
	v := simulate.Fleet(seed)
	return judged(t, v, season(t, v, seed, simulate.Season{Dives: dives, Drift: func(d int, p predict.Params) {
		if d >= onset {
			change(p, float64(d-onset+1))
		}
	}}))
}

// season is a simulated log of a vehicle.
func season(t *testing.T, v *vehicle.Vehicle, seed uint64, s simulate.Season) *session.Log {
	t.Helper()
	if testing.Short() {
		t.Skip("some seconds")
	}
	s.Start, s.Seed = time.Date(2025, 3, 1, 0, 0, 0, 0, time.UTC), seed*7919
	log, _ := simulate.LogTruth(v, s)
	return log
}

func judged(t *testing.T, v *vehicle.Vehicle, log *session.Log) analysed {
	t.Helper()
	r, err := fit.Fit(v, log)
	require.NoError(t, err)
	return analysed{r, drift.Analyse(r)}
}

func at(param int, by float64) func(predict.Params, float64) {
	return func(p predict.Params, _ float64) { p[param] += by }
}

func trendOf(t *testing.T, rep *findings.Report, quantity string) *findings.Trend {
	t.Helper()
	for i := range rep.Trends {
		if rep.Trends[i].Quantity == quantity {
			return &rep.Trends[i]
		}
	}
	require.Fail(t, "no trend", quantity)
	return nil
}
