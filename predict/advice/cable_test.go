package advice

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sagline/predict"
	"sagline/predict/vehicle"
)

// shape is the cable from the origin to (x, z), point by point.
func (c Cable) shape(x, z float64) ([]CablePoint, error) {
	solves := mostSolves
	c.solves = &solves
	h, err := c.hang(x, z, nil)
	if err != nil {
		return nil, err
	}
	return c.trace(h), nil
}

// A cable in still water is a catenary: span 40 m, length 50 m, 0.5 N/m, both
// ends level: horizontal tension 8.455047 N, sag 13.271875 m, greatest
// tension 15.090985 N (closed form, root by Brent's method).
func TestCableInStillWaterIsACatenary(t *testing.T) {
	c := Cable{Length: 50, Weight: 0.5}
	pts, err := c.shape(40, 0)
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
	pts, err := Cable{Length: 40, Weight: 0.5}.shape(30, -10)
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
	pts, err := c.shape(36.3173315174, 29.9496007958)
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
	c := &Cable{Length: 200, Normal: 1.23, Weight: 0.5}
	phi := 35.1950566209 * math.Pi / 180
	y := [4]float64{0, 0, 500 * math.Cos(phi), 500 * math.Sin(phi)}
	for range 100 {
		y = c.step(y, 0.5, 0, 1)
	}
	assert.InDelta(t, phi, math.Atan2(y[3], y[2]), 1e-9, "it keeps the angle once it has it")
	assert.InDelta(t, 100*math.Cos(phi), y[0], 1e-6)
}

// Floats that carry just the weight of all of a cable make it neutral; on the
// half next to the vehicle alone they take the load off the vehicle.
func TestFloatsCarryTheCable(t *testing.T) {
	lift := 0.5 / predict.Gravity * 1000
	heavy := Cable{Length: 50, Normal: 1.23, Weight: 0.5, Floats: []vehicle.Float{{ToM: 50.1, LiftGM: lift}}}
	pts, err := heavy.shape(36.3173315174, 29.9496007958)
	require.NoError(t, err)
	assert.InDelta(t, 20, pts[len(pts)-1].TensionN, 1e-3, "as the neutral cable")
	bare, err := Cable{Length: 14, Normal: 0.5, Weight: 0.5}.shape(8, 8)
	require.NoError(t, err)
	half, err := Cable{Length: 14, Normal: 0.5, Weight: 0.5, Floats: []vehicle.Float{{ToM: 7, LiftGM: lift}}}.shape(8, 8)
	require.NoError(t, err)
	pull := func(p []CablePoint) float64 { e := p[len(p)-1]; return math.Abs(e.TensionN * math.Sin(e.Angle)) }
	assert.Less(t, pull(half), pull(bare))
}

func TestCableRefusals(t *testing.T) {
	_, err := Cable{Length: 10, Weight: 1}.shape(8, 8)
	assert.ErrorIs(t, err, errReach)
	_, err = Cable{Length: 10}.shape(3, 3)
	assert.ErrorIs(t, err, errSlack)
}

// A tether that hangs slack in still water, 25 m to a vehicle 14 m deep and
// 5 m off, is a catenary: with a from √(L² − z²) = 2a·sinh(x/2a), the pull at
// the vehicle is w·a·cosh(x₁/a), where x₁ = x/2 − a·artanh(z/L) is how far it
// hangs from its lowest point (closed form).
func TestSlackCableHangs(t *testing.T) {
	const x, z, long, w = 5.0, 14.0, 25.0, 0.2
	lo, hi := 0.1, 100.0
	for range 200 {
		if a := (lo + hi) / 2; 2*a*math.Sinh(x/(2*a)) > math.Sqrt(long*long-z*z) {
			lo = a
		} else {
			hi = a
		}
	}
	a := lo
	pts, err := Cable{Length: long, Weight: w}.shape(x, z)
	require.NoError(t, err)
	end := pts[len(pts)-1]
	x1 := x/2 - a*math.Atanh(z/long)
	assert.InDelta(t, w*a*math.Cosh(x1/a), end.TensionN, 1e-4)
	assert.InDelta(t, z, end.ZM, 1e-5)
	deepest := 0.0
	for _, p := range pts {
		deepest = max(deepest, p.ZM)
	}
	assert.InDelta(t, z+a*(math.Cosh(x1/a)-1), deepest, 1e-2)
}

// Every place in reach has a cable that ends there, however heavy, light or
// slack; beside the line along which it would lie without a bend, near there.
func TestCableReachesEverywhere(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		between := func(lo, hi float64, name string) float64 {
			return lo * math.Pow(hi/lo, rapid.Float64Range(0, 1).Draw(rt, name))
		}
		drag := 500 * between(0.001, 0.2, "diameter") * math.Pow(between(0.01, 3, "current"), 2)
		c := Cable{Length: between(0.5, 2000, "length"), Normal: 1.2 * drag, Skin: 0.0377 * drag,
			Weight: between(1e-3, 50, "weight") * float64(rapid.SampledFrom([]int{-1, 0, 1}).Draw(rt, "sinks"))}
		sin, cos := math.Sincos(rapid.Float64Range(0, math.Pi).Draw(rt, "direction"))
		span := c.Length * rapid.Float64Range(0.005, 0.99).Draw(rt, "span")
		pts, err := c.shape(span*cos, span*sin)
		require.NoError(rt, err)
		end := pts[len(pts)-1]
		assert.LessOrEqual(rt, math.Hypot(end.XM-span*cos, end.ZM-span*sin), 0.031*c.Length)
		assert.Less(rt, len(pts), 5000, "steps")
		for i := range pts[1:] { // it is as long as it is, but where it slackShare
			assert.LessOrEqual(rt, math.Hypot(pts[i+1].XM-pts[i].XM, pts[i+1].ZM-pts[i].ZM), (pts[i+1].AlongM-pts[i].AlongM)*1.001+1e-9)
		}
	})
}

// A slack tether whose floats are graded along it, straight below or a little beside, is found as well.
func TestGradedFloats(t *testing.T) {
	for _, u := range []float64{0.1, 0.15, 0.2, 0.25, 0.3} {
		drag := 500 * u * u * 0.011
		for _, x := range []float64{-1, 0, 1} {
			c := Cable{Length: 30, Normal: 1.2 * drag, Skin: 0.012 * math.Pi * drag, Weight: 12 * predict.Gravity / 1000,
				Floats: []vehicle.Float{{FromM: 0, ToM: 10, LiftGM: 14}, {FromM: 10, ToM: 25, LiftGM: 9}}}
			pts, err := c.shape(x, 5)
			require.NoError(t, err, "%g m/s, %g m", u, x)
			end := pts[len(pts)-1]
			assert.InDelta(t, 0, math.Hypot(end.XM-x, end.ZM-5), 0.031*30, "%g m/s, %g m", u, x)
		}
	}
}

// A slack tether that floats, in still water: what is under water hangs
// straight from the surface and pulls up with its buoyancy, the rest lies.
func TestSlackCableFloats(t *testing.T) {
	c := &Cable{Length: 25, Weight: -0.02}
	pts, ok := c.afloat(5, 8)
	require.True(t, ok)
	end := pts[len(pts)-1]
	assert.InDelta(t, 0.02*8, end.TensionN, 1e-3)
	assert.InDelta(t, math.Pi/2, end.Angle, 0.01)
	under := 0.0
	for i, p := range pts[1:] {
		if pts[i].ZM > atSurface || p.ZM > atSurface {
			under += p.AlongM - pts[i].AlongM
		}
	}
	assert.InDelta(t, 8, under, 0.1)
}

// In a current: nothing rises above the surface, the end is where the vehicle
// is, and a loop that streams out is pulled on by its own skin drag alone.
func TestCableAfloatInACurrent(t *testing.T) {
	for _, at := range []struct{ x, z float64 }{{5, 3}, {-5, 3}, {20, 3}, {-20, 6}, {0, 8}} {
		c := &Cable{Length: 25, Normal: 0.2, Skin: 0.006, Weight: -0.05}
		pts, ok := c.afloat(at.x, at.z)
		require.True(t, ok, "%v", at)
		end, along := pts[len(pts)-1], 0.0
		assert.InDelta(t, at.x, end.XM, 0.02, "%v", at)
		assert.InDelta(t, at.z, end.ZM, 1e-6)
		for i, p := range pts {
			assert.GreaterOrEqual(t, p.ZM, 0.0)
			if i > 0 {
				along += math.Hypot(p.XM-pts[i-1].XM, p.ZM-pts[i-1].ZM)
			}
		}
		assert.InDelta(t, 25, along, 0.1, "%v: all of it is somewhere", at)
	}
	_, ok := (&Cable{Length: 25, Weight: 0.1}).afloat(5, 5)
	assert.False(t, ok, "it sinks")
	_, ok = (&Cable{Length: 25, Weight: -0.1, Floats: []vehicle.Float{{ToM: 5, LiftGM: 10}}}).afloat(5, 5)
	assert.False(t, ok, "graded floats")
	_, ok = (&Cable{Length: 25, Weight: -0.1}).afloat(5, 0)
	assert.False(t, ok, "at the surface")
}

// Whatever floats and however slack it is, it lies at or below the surface, ends
// where the vehicle is and is as long as it is, or no shape is given.
func TestCableAfloatAnywhere(t *testing.T) {
	given := 0
	rapid.Check(t, func(rt *rapid.T) {
		between := func(lo, hi float64, name string) float64 {
			return lo * math.Pow(hi/lo, rapid.Float64Range(0, 1).Draw(rt, name))
		}
		drag := 500 * between(0.001, 0.1, "diameter") * math.Pow(between(0.01, 3, "current"), 2)
		c := &Cable{Length: between(0.5, 1000, "length"), Normal: 1.2 * drag, Skin: 0.0377 * drag, Weight: -between(1e-3, 5, "weight")}
		sin, cos := math.Sincos(rapid.Float64Range(0.05, math.Pi-0.05).Draw(rt, "direction"))
		span := c.Length * rapid.Float64Range(0.02, 0.95).Draw(rt, "span")
		pts, ok := c.afloat(span*cos, span*sin)
		if !ok {
			return
		}
		given++
		end, along := pts[len(pts)-1], 0.0
		assert.InDelta(rt, span*cos, end.XM, 0.01*c.Length)
		assert.InDelta(rt, span*sin, end.ZM, 1e-6*c.Length)
		assert.Less(rt, len(pts), 5000, "steps")
		for i, p := range pts {
			assert.GreaterOrEqual(rt, p.ZM, -1e-9)
			if i > 0 {
				along += math.Hypot(p.XM-pts[i-1].XM, p.ZM-pts[i-1].ZM)
			}
		}
		assert.InDelta(rt, c.Length, along, 0.02*c.Length)
	})
	if !testing.Short() { // which draws fewer
		assert.Greater(t, given, 20)
	}
}

// Along a taut cable the tension falls by the drag along it and its weight's share, and it turns by the drag across less the
// weight's: dT/ds = −(D_t + w·sin θ), T·dθ/ds = D_n − w·cos θ.
func TestSlope(t *testing.T) {
	c := &Cable{Normal: 1.3, Skin: 0.4}
	const w, tension = 0.7, 5.0
	for _, degrees := range []float64{-70, 20, 100, 160} {
		sin, cos := math.Sincos(degrees * math.Pi / 180)
		d := c.slope([4]float64{1, 2, tension * cos, tension * sin}, w, 0)
		assert.InDelta(t, cos, d[0], 1e-12)
		assert.InDelta(t, sin, d[1], 1e-12)
		assert.InDelta(t, -(0.4*cos*math.Abs(cos) + w*sin), d[2]*cos+d[3]*sin, 1e-12, "%g°", degrees)
		assert.InDelta(t, 1.3*sin*math.Abs(sin)-w*cos, d[3]*cos-d[2]*sin, 1e-12, "%g°", degrees)
	}
}

// At its edges a float belongs to the side that the walk goes to.
func TestWeightAtAFloatsEdges(t *testing.T) {
	const w, lift = 0.1, 20.0
	c := Cable{Length: 20, Weight: w, Floats: []vehicle.Float{{FromM: 5, ToM: 10, LiftGM: lift}}} // from 10 to 15 m from the origin
	under := w - lift*predict.Gravity/1000
	for _, x := range []struct{ s, towards, weight, until float64 }{
		{0, 1, w, 10}, {10, 1, under, 15}, {12, 1, under, 15}, {15, 1, w, 20}, {20, -1, w, 15}, {15, -1, under, 10}, {12, -1, under, 10}, {10, -1, w, 0},
	} {
		got, until := c.weight(x.s, x.towards)
		assert.InDelta(t, x.weight, got, 1e-12, "%g to %g", x.s, x.towards)
		assert.InDelta(t, x.until, until, 1e-12, "%g to %g", x.s, x.towards)
	}
}
