package drift

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict/fit"
)

// The next dive may be on any battery of the last eleven dives; margins are the worst of them.
func TestBatteriesInUse(t *testing.T) {
	r := &fit.Result{Dives: make([]fit.DiveFit, 14)}
	for d := range r.Dives {
		r.Dives[d].Battery = map[int]string{2: "old", 3: "B", 13: "A"}[d]
	}
	assert.Equal(t, []string{"A", "", "B"}, InUse(r))
	assert.Equal(t, "margins are the worst of the batteries in use, A, the one without a label and B", WorstOf(r))
	r.Dives = r.Dives[:2]
	assert.Empty(t, WorstOf(r))
}
