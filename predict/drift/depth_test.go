package drift_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/findings"
	"sagline/predict/simulate"
)

// probabilityOf is how sure a report is of a fault, found or one of what else a finding may be.
func probabilityOf(rep *findings.Report, fault string) float64 {
	sum := 0.0
	for _, f := range rep.Findings {
		if f.Fault == fault {
			sum += f.Probability
		}
		for _, a := range f.Alternatives {
			if a.Fault == fault {
				sum += a.Probability
			}
		}
	}
	return sum
}

// A log that gives no depth is taken for one whose runs are made at like depths: slower runs are seen, and are the
// drag, the tape or deeper runs. Where the depth is written down it is never those.
func TestRunsWithoutDepth(t *testing.T) {
	never := func(s *simulate.Season) { s.NoDepthFrom = 1 }
	for name, c := range map[string]struct {
		scenario
		want string
		most map[string]float64 // how sure of what it may be at most
	}{
		"drag":               {scenario{change: at(predict.LogDrag, 0.4), season: never}, "drag", nil},
		"drag, depth given":  {scenario{change: at(predict.LogDrag, 0.4)}, "drag", map[string]float64{"not_logged:depth": 0}},
		"other site, deeper": {scenario{change: at(predict.DepthM, 2), season: never}, "not_logged:depth", map[string]float64{"drag": 0.8}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := c.try(t, 3)
			require.NotEmpty(t, r.Findings)
			assert.Greater(t, probabilityOf(r.Report, c.want), 0.2)
			for fault, p := range c.most {
				assert.LessOrEqual(t, probabilityOf(r.Report, fault), p, fault)
			}
			all := probabilityOf(r.Report, "drag") + probabilityOf(r.Report, "not_logged:depth") + probabilityOf(r.Report, "instrument:speed")
			assert.Greater(t, all, 0.95)
		})
	}
}
