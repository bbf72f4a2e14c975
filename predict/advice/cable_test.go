package advice

import (
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/vehicle"
)

// A cable in still water is a catenary: span 40 m, length 50 m, 0.5 N/m, both
// ends level: horizontal tension 8.455047 N, sag 13.271875 m, greatest
// tension 15.090985 N (closed form, root by Brent's method).
func TestCableInStillWaterIsACatenary(t *testing.T) {
	c := Cable{Length: 50, Weight: 0.5}
	pts, err := c.Shape(40, 0)
	require.NoError(t, err)
	deepest, greatest := 0.0, 0.0
	for _, p := range pts {
		deepest, greatest = max(deepest, p.ZM), max(greatest, p.TensionN)
		assert.InDelta(t, 8.455046977134, p.TensionN*math.Cos(p.Angle), 1e-4)
	}
	assert.InDelta(t, 13.271875456991, deepest, 1e-4)
	assert.InDelta(t, 15.090984705629, greatest, 1e-4)
}

// Uneven ends: span 30 m, the end 10 m higher, length 40 m, end tensions in
// the ratio 9.2150 : 14.2150 for 0.5 N/m (closed form).
func TestCatenaryWithUnevenEnds(t *testing.T) {
	pts, err := Cable{Length: 40, Weight: 0.5}.Shape(30, -10)
	require.NoError(t, err)
	assert.InDelta(t, 9.2150233602, pts[0].TensionN, 1e-4)
	assert.InDelta(t, 14.2150233602, pts[len(pts)-1].TensionN, 1e-4)
}

// A neutral cable without skin drag is a catenary in the stream's frame with
// constant tension: ρ 1025, C 1.2, 8 mm, 0.5 m/s, 20 N, 50 m, the vehicle end
// across the stream: downstream 36.3173315 m, across 29.9496008 m, and
// 18.0146939° to the stream at the other end.
func TestNeutralCableInAStream(t *testing.T) {
	c := Cable{Length: 50, Normal: 0.5 * 1025 * 1.2 * 0.008 * 0.25}
	assert.InDelta(t, 1.23, c.Normal, 1e-12)
	pts, err := c.Shape(36.3173315174, 29.9496007958)
	require.NoError(t, err)
	for _, p := range pts {
		assert.InDelta(t, 20, p.TensionN, 1e-4)
	}
	assert.InDelta(t, 18.0146939182, pts[0].Angle*180/math.Pi, 1e-4)
	assert.InDelta(t, 90, pts[len(pts)-1].Angle*180/math.Pi, 1e-4)
}

// A long heavy cable trails at the critical angle, R·sin²φ = w·cos φ (Pode,
// DTMB report 687, from memory): 35.195057° for R 1.23 and w 0.5 N/m.
func TestHeavyCableTrailsAtTheCriticalAngle(t *testing.T) {
	c := Cable{Length: 200, Normal: 1.23, Weight: 0.5}
	phi := 35.1950566209 * math.Pi / 180
	y := [4]float64{0, 0, 500 * math.Cos(phi), 500 * math.Sin(phi)}
	for range 100 {
		y = c.step(y, 0, 1)
	}
	assert.InDelta(t, phi, math.Atan2(y[3], y[2]), 1e-9, "it keeps the angle once it has it")
	assert.InDelta(t, 100*math.Cos(phi), y[0], 1e-6)
}

// Floats that carry just the weight of all of a cable make it neutral; on the
// half next to the vehicle alone they take the load off the vehicle.
func TestFloatsCarryTheCable(t *testing.T) {
	lift := 0.5 / predict.Gravity * 1000
	heavy := Cable{Length: 50, Normal: 1.23, Weight: 0.5, Floats: []vehicle.Float{{ToM: 50.1, LiftGM: lift}}}
	pts, err := heavy.Shape(36.3173315174, 29.9496007958)
	require.NoError(t, err)
	assert.InDelta(t, 20, pts[len(pts)-1].TensionN, 1e-3, "as the neutral cable")
	bare, err := Cable{Length: 14, Normal: 0.5, Weight: 0.5}.Shape(8, 8)
	require.NoError(t, err)
	half, err := Cable{Length: 14, Normal: 0.5, Weight: 0.5, Floats: []vehicle.Float{{ToM: 7, LiftGM: lift}}}.Shape(8, 8)
	require.NoError(t, err)
	pull := func(p []CablePoint) float64 { e := p[len(p)-1]; return math.Abs(e.TensionN * math.Sin(e.Angle)) }
	assert.Less(t, pull(half), pull(bare))
}

func TestCableRefusals(t *testing.T) {
	_, err := Cable{Length: 10, Weight: 1}.Shape(8, 8)
	assert.ErrorIs(t, err, ErrReach)
	_, err = Cable{Length: 10}.Shape(3, 3)
	assert.ErrorIs(t, err, ErrSlack)
}

// A place in reach has a cable that ends there, save for a few where it hangs
// in a bight too sharp to tell.
func TestCableReachesEverywhere(t *testing.T) {
	loose := 0
	for _, c := range []Cable{{20, 0.5, 0.05, 0.02, nil}, {20, 0.5, 0.05, -0.05, nil}, {20, 2, 0.1, 0, nil}, {20, 0.05, 0.01, 0.4, nil}} {
		for x := -14.0; x <= 14; x += 7 {
			for z := 0.5; z <= 13; z += 4 {
				pts, err := c.Shape(x, z)
				if errors.Is(err, ErrLoose) {
					loose++
					continue
				}
				require.NoError(t, err, "%+v to %g, %g", c, x, z)
				end := pts[len(pts)-1]
				assert.InDelta(t, x, end.XM, 1e-3)
				assert.InDelta(t, z, end.ZM, 1e-3)
			}
		}
	}
	assert.LessOrEqual(t, loose, 4, "of 80")
}
