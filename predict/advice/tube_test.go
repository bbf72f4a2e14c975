package advice

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict"
	"sagline/predict/vehicle"
	"sagline/session/units"
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
	assert.InDelta(t, 1.59792835e6/collapseSafety/1000/predict.Gravity, d, 1e-3)
	_, ok = DeepestM(&vehicle.Tube{OuterMM: 17, WallMM: 1, Material: "wood"}, 1000)
	assert.False(t, ok)
}

// A thick tube yields before it buckles: 110 MPa by 10 mm of wall and a mean radius
// of 20 mm, 55 MPa, where elastic collapse would be at 2,420 MPa.
func TestThickTubeYields(t *testing.T) {
	d, ok := DeepestM(&vehicle.Tube{OuterMM: 50, WallMM: 10, Material: "aluminium"}, 1000)
	assert.True(t, ok)
	assert.InDelta(t, 55e6/collapseSafety/1000/predict.Gravity, d, 1e-3)
}

// A depth that nobody planned or logged meets no guide.
func TestTubeWithoutDepth(t *testing.T) {
	tube := TubeDepth{Name: "eye", DeepestM: 12}
	assert.Equal(t, "tube eye: no depth planned or logged; its guide is 12.0 m in fresh water by elastic collapse and yield with a factor of 4; caps, dents and age make it less",
		tube.Line(units.Metric).String())
	tube.DepthM = 11
	assert.Contains(t, tube.Line(units.Metric).String(), "tube eye: met; 11 m planned or logged, its guide is 12.0 m")
}

// A guide is rounded down, and judged as it is shown.
func TestGuideRoundedDown(t *testing.T) {
	v := &vehicle.Vehicle{Tubes: []vehicle.Tube{{Name: "eye", OuterMM: 50, WallMM: 1.8, Material: "pvc"}}}
	guide, _ := DeepestM(&v.Tubes[0], 1000)
	tube := Tubes(v, 1000, 9)[0]
	assert.LessOrEqual(t, tube.DeepestM, guide)
	assert.Greater(t, tube.DeepestM, guide-0.1)
	tube = TubeDepth{Name: "eye", DeepestM: 8.5, DepthM: 8.5}
	assert.Contains(t, tube.Line(units.Metric).String(), "in fresh water")
	tube.Sea = true
	assert.Contains(t, tube.Line(units.Metric).String(), "in sea water")
	assert.Contains(t, tube.Line(units.Metric).String(), "tube eye: met; 8.5 m planned or logged, its guide is 8.5 m")
	assert.Contains(t, tube.Line(units.Imperial).String(), "its guide is 27.8 ft", "of 27.89")
	tube.DepthM = 8.52
	assert.Contains(t, tube.Line(units.Metric).String(), "tube eye: NOT MET; 8.52 m planned")
}

// A tube's guide is that in the saltier of the water that was logged and the next dive's.
func TestTubeInTheSea(t *testing.T) {
	v := vehicle.Example()
	v.Tubes = []vehicle.Tube{{Name: "float", OuterMM: 50, WallMM: 2, Material: "pvc"}}
	of := func(next, logged float64) float64 {
		q := Ask(v, predict.Condition{WaterC: 15, TetherOutM: v.Tether.LengthM, Salinity: next}, 5)
		q.SaltPSU = logged
		m := q.Judge()
		return m.Tubes[0].DeepestM
	}
	assert.Less(t, of(0, 35), of(0, 0))
	assert.InDelta(t, of(35, 0), of(0, 35), 1e-9)
}

// A tube of 40 mm bore and 500 mm holds π/4·0.04²·0.5 m³ = 0.6283 l.
func TestFloodedTube(t *testing.T) {
	tube := &vehicle.Tube{OuterMM: 44, WallMM: 2, LengthMM: 500}
	assert.InDelta(t, 628.3185, FloodedG(tube, 1000), 1e-3)
}

// Tubes are judged that are sealed, as those are of which nothing is said, and whose strength is known.
func TestTubesThatAreJudged(t *testing.T) {
	open, sealed := false, true
	v := &vehicle.Vehicle{Tubes: []vehicle.Tube{{Name: "a", OuterMM: 50, WallMM: 2, Material: "pvc"}, {Name: "b", OuterMM: 50, WallMM: 2, Material: "pvc", Sealed: &open},
		{Name: "c", OuterMM: 50, WallMM: 2, Material: "pvc", Sealed: &sealed}, {Name: "d", OuterMM: 50, WallMM: 2, Material: "wood"}, {Name: "e", OuterMM: 50, WallMM: 25, Material: "pvc"}}}
	var names string
	for _, x := range Tubes(v, 1000, 7) {
		names += x.Name
		assert.Equal(t, 7.0, x.DepthM)
	}
	assert.Equal(t, "ac", names)
	assert.True(t, (&TubeDepth{DepthM: 7, DeepestM: 7}).Met())
	assert.False(t, (&TubeDepth{DepthM: 7.1, DeepestM: 7}).Met())
}

// A depth that nobody asked for is reduced to the tether and to the guide of the weakest
// sealed tube, never made more.
func TestUsualDepth(t *testing.T) {
	open := false
	weak := vehicle.Tube{Name: "weak", OuterMM: 110, WallMM: 1.6, Material: "acrylic"}
	v := &vehicle.Vehicle{Tubes: []vehicle.Tube{{Name: "stout", OuterMM: 50, WallMM: 5, Material: "aluminium"}, weak}}
	assert.Equal(t, 0.5, TypicalDepth(v, 3, 20, 1000))
	assert.Equal(t, 0.3, TypicalDepth(v, 0.3, 20, 1000))
	assert.Equal(t, 0.2, TypicalDepth(v, 3, 0.2, 1000))
	v.Tubes[1].Sealed = &open
	assert.Equal(t, 3.0, TypicalDepth(v, 3, 20, 1000))
	assert.Equal(t, 2.0, TypicalDepth(v, 3, 2, 1000))
}
