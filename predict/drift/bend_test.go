package drift

import (
	"sagline/predict/findings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// The slope of a change may change at up to twelve dives, evenly from the newest back, never before the
// dive after its onset; its variance over them is that of the walk.
func TestKinks(t *testing.T) {
	for _, c := range []struct{ onset, last, by, first, n int }{
		{5, 6, 1, 6, 1}, {5, 17, 1, 6, 12}, {5, 18, 2, 6, 7}, {5, 41, 3, 8, 12}, {5, 5, 1, 0, 0},
	} {
		m := meanSlope{column{onset: c.onset, pattern: findings.Step, cause: 3, of: 2, sd: 9}, 0.5}
		var ks []column
		if c.last > c.onset {
			ks = m.kinks(2, c.last)
		}
		if !assert.Len(t, ks, c.n, "%+v", c) || c.n == 0 {
			continue
		}
		variance := 0.0
		for i, k := range ks {
			assert.Equal(t, c.last-i*c.by, k.onset)
			assert.Equal(t, findings.Ramp, k.pattern)
			assert.Equal(t, -1, k.cause, "either way")
			variance += k.sd * k.sd
		}
		assert.Equal(t, c.first, ks[len(ks)-1].onset)
		assert.InDelta(t, 2*2*0.5*0.5, variance*float64(c.last-c.onset)/float64(c.n*c.by), 1e-9)
	}
}
