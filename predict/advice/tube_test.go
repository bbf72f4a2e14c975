package advice

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict"
	"sagline/predict/vehicle"
)

// Roark, table 35 case 19a: mean radius 6.75 in, wall 0.375 in, E 29·10⁶ psi,
// ν 0.290 collapses at 1357 psi.
func TestCollapseAgainstRoark(t *testing.T) {
	assert.InDelta(t, 1357.289321, collapsePa(29e6, 0.29, 0.375, 6.75), 1e-3)
}

// E 2800 MPa and ν 0.38, outer diameter 17 walls: 1.59792835 MPa.
func TestDeepestOfAPipe(t *testing.T) {
	tube := &vehicle.Tube{OuterMM: 17, WallMM: 1, Material: "pvc"}
	d, ok := DeepestM(tube, 1000)
	assert.True(t, ok)
	assert.InDelta(t, 1.59792835e6/CollapseSafety/1000/predict.Gravity, d, 1e-3)
	_, ok = DeepestM(&vehicle.Tube{OuterMM: 17, WallMM: 1, Material: "wood"}, 1000)
	assert.False(t, ok)
}

// A tube of 40 mm bore and 500 mm holds π/4·0.04²·0.5 m³ = 0.6283 l.
func TestFloodedTube(t *testing.T) {
	tube := &vehicle.Tube{OuterMM: 44, WallMM: 2, LengthMM: 500}
	assert.InDelta(t, 628.3185, FloodedG(tube, 1000), 1e-3)
}
