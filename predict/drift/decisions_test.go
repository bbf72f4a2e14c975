package drift_test

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/simulate"
	"sagline/session/quantity"
)

// A loose contact that is quiet in most dives between is one fault that stays.
func TestALooseContactMayBeQuiet(t *testing.T) {
	for _, seed := range []uint64{2, 5} {
		r := scenario{season: func(s *simulate.Season) {
			s.LineDrift = func(d int, rng *rand.Rand, p predict.Params) {
				if x := rng.Float64(); slices.Contains([]int{11, 14, 17}, d) && x < 0.4 {
					p[predict.LoopOhm] += 0.3
				}
			}
		}}.try(t, seed)
		require.Len(t, r.Alarms, 1)
		assert.Equal(t, "14", r.Alarms[0].RaisedDive, "one dive alone may be odd")
		assert.Equal(t, "11", r.Alarms[0].OnsetDive)
		assert.Nil(t, r.Alarms[0].ClearedDive)
	}
}

// What was mended without a word is gone from the dive that shows it.
func TestAnEndIsSeenLater(t *testing.T) {
	r := scenario{season: between(9, 16, at(predict.LogThrust, -0.14))}.try(t, 2)
	require.Len(t, r.Alarms, 1)
	require.NotNil(t, r.Alarms[0].ClearedDive)
	assert.Equal(t, "16", *r.Alarms[0].ClearedDive)
	assert.True(t, r.Alarms[0].Gone)
}

// A small change that stays is not given up for mended.
func TestASmallChangeStays(t *testing.T) {
	r := scenario{change: at(predict.LogThrust, -0.05)}.try(t, 4)
	require.NotEmpty(t, r.Findings)
	assert.Equal(t, "11", r.Findings[0].SinceDive)
	for _, m := range r.Remarks {
		assert.NotContains(t, m, "earlier level")
	}
}

// Where nothing explains a dive's readings it raises no alarm for what comes nearest.
func TestNoAlarmWhereNothingFits(t *testing.T) {
	v, log, truth := scenario{}.simulated(3, 18, onset)
	for d := 16; d < 18; d++ {
		n := 0
		for i := range log.Dives[d].Lines {
			if x := &log.Dives[d].Lines[i].Readings[quantity.BatteryV]; x.Measured() {
				if n++; n%2 == 0 {
					x.X, x.Entered = x.X+0.3, x.Entered+0.3
				}
			}
		}
	}
	rep := (&result{vehicle: v, log: log, truth: truth}).until(t, 18)
	assert.Empty(t, rep.Alarms)
}

// In a long log what begins between two of the dives that are explained from the start
// is told at once.
func TestLongLogsTellWhatIsNew(t *testing.T) {
	log := season(t, simulate.Season{Dives: 71, Seed: 63, Drift: func(d int, p predict.Params) {
		if d >= 63 {
			p[predict.LoopOhm] += 0.2
		}
	}})
	rep := report(t, log)
	require.Len(t, rep.Alarms, 1)
	assert.Equal(t, "63", rep.Alarms[0].RaisedDive)
}
