package predict

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Roark, table 35 case 19a: mean radius 6.75 in, wall 0.375 in, E 29·10⁶ psi,
// ν 0.290 collapses at 1357 psi.
func TestCollapseAgainstRoark(t *testing.T) {
	assert.InDelta(t, 1357.289321, collapsePa(29e6, 0.29, 0.375, 6.75), 1e-3)
}

// E 2800 MPa and ν 0.38, outer diameter 17 walls: 1.59792835 MPa.
func TestDeepestOfAPipe(t *testing.T) {
	tube := Tube{OuterMM: 17, WallMM: 1, Material: "pvc"}
	d, ok := tube.DeepestM(1000)
	assert.True(t, ok)
	assert.InDelta(t, 1.59792835e6/CollapseSafety/1000/Gravity, d, 1e-3)
	_, ok = (&Tube{OuterMM: 17, WallMM: 1, Material: "wood"}).DeepestM(1000)
	assert.False(t, ok)
}

// A tube of 40 mm bore and 500 mm holds π/4·0.04²·0.5 m³ = 0.6283 l.
func TestFloodedTube(t *testing.T) {
	tube := Tube{OuterMM: 44, WallMM: 2, LengthMM: 500}
	assert.InDelta(t, 628.3185, tube.FloodedG(1000), 1e-3)
}

// ISO 10133's annex, E = 0.0164·I·L/S, is 5 % below 1/58 Ω·mm²/m: 10 A through
// 20 m of 2.5 mm² drops 1.312 V there; ABYC E-11's K = 10.75 Ω·cmil/ft is 3.65 %
// above. Ours, without the strands' lay, lies between.
func TestVoltageDropBetweenTheStandards(t *testing.T) {
	c := Conductor{AreaMM2: 2.5}
	drop := 10 * 20 * c.OhmPerMetre(20) / layFactor
	assert.Greater(t, drop, 1.312)
	assert.InEpsilon(t, 1.312*copperOhmMM2M/0.0164, drop, 1e-9)
	assert.InEpsilon(t, 10.75/10.371215406, 1.0365, 1e-4)
}
