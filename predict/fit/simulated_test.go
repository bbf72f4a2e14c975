package fit_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// A simulated log with its truth.
type simulated struct {
	vehicle *vehicle.Vehicle
	log     *session.Log
	truth   []predict.Params
}

func simulatedLog(seed uint64, s simulate.Season) simulated {
	v, log, truth := simulate.FleetLog(seed, s)
	return simulated{v, log, truth}
}

// fit fits the log under a vehicle's file, the real one's where that is nil.
func (s *simulated) fit(t testing.TB, file *vehicle.Vehicle) *fit.Result {
	t.Helper()
	if file == nil {
		file = s.vehicle
	}
	r, err := fit.Fit(file, s.log)
	require.NoError(t, err)
	return r
}

// departure is what a dive's parameter truly is against the mean of the
// baseline's dives; of the battery its resistance in that dive's cold.
func (s *simulated) departure(r *fit.Result, dive, param int) float64 {
	if param == predict.BatteryOhm {
		cold := predict.BelowCold(s.log.Dives[dive].Lines[0].WaterC.X)
		return (s.vehicle.Battery.ResistanceOhm + s.truth[dive][param]) * (1 + s.truth[dive][predict.BatteryPerK]*cold)
	}
	x := s.truth[dive][param]
	for b := range r.Baseline {
		x -= s.truth[b][param] / float64(r.Baseline)
	}
	return x
}

// line finds the line of a dive that was read with so many thrusters on.
func (s *simulated) line(t testing.TB, dive int, q quantity.Quantity, thrusters int) *session.Line {
	t.Helper()
	for i := range s.log.Dives[dive].Lines {
		if l := &s.log.Dives[dive].Lines[i]; l.Readings[q].Measured() && len(l.Drives) == thrusters {
			return l
		}
	}
	require.Fail(t, "no such line")
	return nil
}

// set writes another number into a cell.
func set(l *session.Line, q quantity.Quantity, entered float64) {
	v := l.Readings[q]
	v.Entered, v.X = entered, v.Column.ToBase(entered)
	l.Put(v)
}

func scale(l *session.Line, q quantity.Quantity, by float64) { set(l, q, l.Readings[q].Entered*by) }

// number lines, which a file would have numbered.
func (s *simulated) number() {
	n := 1
	for d := range s.log.Dives {
		for i := range s.log.Dives[d].Lines {
			n++
			s.log.Dives[d].Lines[i].Number = n
		}
	}
}
