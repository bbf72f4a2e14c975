package locate

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/predict/vehicle"
	"sagline/session"
)

// A loop that had more resistance than its file says from the first dive on is searched as one
// that was found, for that much, in joints that are sound by the file.
func TestJointThatWasBadFromTheStart(t *testing.T) {
	begun := func(metres string) *Search {
		v, err := vehicle.Open("../../examples/sound")
		require.NoError(t, err)
		require.NoError(t, v.Set("tether.length_m="+metres))
		log, err := session.Open("../../examples/sound")
		require.NoError(t, err)
		r, err := fit.Fit(v, log)
		require.NoError(t, err)
		s, err := Begin(r, drift.Analyse(r), "", nil)
		require.NoError(t, err)
		return s
	}
	v, err := vehicle.Open("../../examples/sound")
	require.NoError(t, err)
	assert.False(t, begun("30").Found())
	s := begun("10")
	assert.True(t, s.Found())
	assert.Equal(t, "1", s.since)
	joints := 0.0
	for i := range s.parts {
		joints += s.parts[i].contact * float64(len(s.parts[i].legs))
	}
	assert.InDelta(t, v.Tether.Power.JointsOhm, joints, 1e-9)
	last := s.Spots()
	assert.InDelta(t, 1-spotShare, last[0].Probability, 0.1)
}
