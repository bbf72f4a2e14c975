package plotting

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict/causes"
	"sagline/predict/findings"
)

// From the sound value to the limit is the whole way; what was past it from the start is past it, the
// farther the worse.
func TestWayToLimit(t *testing.T) {
	way := func(scale causes.Scale, worse, sound, limit, level float64) float64 {
		return WayToLimit(&findings.Trend{Baseline: sound, Limit: &limit, Cause: &causes.Cause{Scale: scale, Worse: worse}}, level)
	}
	ohms, leak, grams := causes.Scale{Absolute: true}, causes.Scale{Factor: true, Absolute: true}, causes.Scale{Negative: true}
	assert.InDelta(t, 0.5, way(ohms, 1, 0.05, 0.09, 0.07), 1e-12)
	assert.InDelta(t, 0.5, way(grams, -1, 0, 60, 30), 1e-12)
	assert.InDelta(t, 0.5, way(leak, -1, 100, 1, 10), 1e-12)
	assert.InDelta(t, 0.15/0.09, way(ohms, 1, 0.15, 0.09, 0.15), 1e-12)
	assert.Less(t, way(ohms, 1, 0.15, 0.09, 0.08), 1.0, "better than it was")
	assert.Greater(t, way(leak, -1, 0.5, 1, 0.5), 1.0)
	assert.Greater(t, way(leak, -1, 0.5, 1, 0.2), way(leak, -1, 0.5, 1, 0.5))
	assert.InDelta(t, 1, way(ohms, 1, 0.09, 0.09, 0.09), 1e-12)
}

// However far the range goes, it covers neither word, also in a browser's wider letters and at the
// size that the report prints its strips' words in.
func TestGaugeLeavesItsWords(t *testing.T) {
	for _, state := range []string{findings.CannotTell, findings.PastLimit} {
		for _, s := range (&Gauge{State: state, Low: -9, High: 9, Share: 5}).Picture().Shapes {
			for _, part := range s.Path {
				for _, at := range part.points {
					assert.GreaterOrEqual(t, at.X, 1.25*textWidth("sound", 17), state)
					assert.LessOrEqual(t, at.X, OnPage.Width-1.25*textWidth("limit", 17), state)
				}
			}
		}
	}
}

// A share of the way is said in whole per cents, none below nothing and none of an open circuit.
func TestPercent(t *testing.T) {
	for share, want := range map[float64]string{-0.2: "0 %", 0.344: "34 %", 1.2: "120 %", 10: "1000 %", 300: "> 1000 %"} {
		assert.Equal(t, want, (&Gauge{Share: share}).Percent())
	}
}
