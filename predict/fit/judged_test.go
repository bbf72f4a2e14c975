package fit_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict/simulate"
	"sagline/session/quantity"
)

// What is judged of a dive is judged without what was set aside; an insulation that fell and has not risen since stays.
func TestKept(t *testing.T) {
	s := simulatedLog(12, simulate.Season{Dives: 9})
	s.number()
	l := s.line(t, later, quantity.CurrentA, 2)
	scale(l, quantity.CurrentA, 10)
	r := s.fit(t, nil)
	kept := r.WithoutOutliers(later)
	gone := 0
	for i := range kept.Lines {
		for q := range kept.Lines[i].Readings {
			was, is := s.log.Dives[later].Lines[i].Readings[q].Measured(), kept.Lines[i].Readings[q].Measured()
			assert.False(t, is && !was)
			if was && !is {
				gone++
				assert.Equal(t, l.Number, kept.Lines[i].Number)
				assert.Equal(t, quantity.CurrentA, quantity.Quantity(q))
			}
		}
	}
	assert.Equal(t, 1, gone)
	assert.True(t, l.Readings[quantity.CurrentA].Measured(), "the log keeps it")
}
