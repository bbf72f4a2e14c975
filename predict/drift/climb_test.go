package drift_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/simulate"
)

// timed makes a season whose pilot climbs at a share of the steady speed whenever the heave thruster is read, and times that
// in some dives.
func timed(share float64, in func(dive int) bool) func(*simulate.Season) {
	return func(s *simulate.Season) {
		s.Timed = in
		always(predict.ClimbShare, share)(s)
	}
}

// Whether a climb was timed changes no reading of a sound vehicle: dives that say how fast it climbed and dives that do not
// are no change of the heave thruster. A real one is found all the same.
func TestClimbsTimedInSomeDives(t *testing.T) {
	branch := at(predict.OfThruster(vertical, predict.BranchOhm), 0.5)
	for name, in := range map[string]func(dive int) bool{
		"the first dives": func(dive int) bool { return dive < onset },
		"the last dives":  func(dive int) bool { return dive >= onset },
		"every third":     func(dive int) bool { return dive%3 == 0 },
	} {
		for _, world := range []string{"", "measured"} {
			t.Run(fmt.Sprintf("%s %s", name, world), func(t *testing.T) {
				t.Parallel()
				sound := scenario{brisk: true, world: world, season: timed(0.95, in)}
				for seed := range uint64(3) {
					assert.Empty(t, sound.try(t, 300+seed).Findings, "vehicle %d", seed)
				}
				if name == "the last dives" {
					return // the fault begins with them: no line before says how fast it climbed
				}
				faulty := sound
				faulty.change = branch
				r := faulty.try(t, 300)
				require.NotEmpty(t, r.Findings)
				assert.Equal(t, "branch:vertical", r.Findings[0].Fault)
			})
		}
	}
}

// A pilot who lets the vehicle climb no longer while the heave thruster is read is not told that the thruster changed.
func TestClimbsNoLonger(t *testing.T) {
	for seed := range uint64(4) {
		r := scenario{brisk: true, season: between(1, onset, at(predict.ClimbShare, 0.9))}.try(t, 300+seed)
		assert.Greater(t, probabilityOf(r.Report, "not_logged:climb"), 0.35, "vehicle %d", seed)
		for _, f := range r.Findings {
			assert.True(t, f.Fault == "not_logged:climb" || f.Probability < 0.8, "vehicle %d: %s %.2f", seed, f.Fault, f.Probability)
		}
	}
}
