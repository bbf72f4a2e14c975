package fit_test

import (
	"math"
	"os"
	"sagline/predict"
	"sagline/predict/fit"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A thruster that no baseline dive was read with is known from the file alone: its pull and current by far less than those of one that
// was.
func TestNotReadInTheBaseline(t *testing.T) {
	v := vehicle.Example()
	log, err := session.Open("../../examples/sound")
	require.NoError(t, err)
	log.Dives = log.Dives[:8]
	const vertical = 2
	torque, thrust := predict.OfThruster(vertical, predict.LogOneTorque), predict.OfThruster(vertical, predict.LogOneThrust)
	beside := func() []float64 {
		r, err := fit.Fit(v, log)
		require.NoError(t, err)
		return []float64{r.Space.Of[torque].Beside, r.Space.Of[thrust].Beside}
	}
	known := priors.Parameters(predict.NewModel(v))
	assert.Equal(t, []float64{known[torque].Beside, known[thrust].Beside}, beside())
	for d := range log.Dives[:v.Baseline.Dives] {
		log.Dives[d].Lines = slices.DeleteFunc(slices.Clone(log.Dives[d].Lines), func(l session.Line) bool {
			return slices.ContainsFunc(l.Drives, func(x session.Drive) bool { return x.Name == v.Thrusters[vertical].Name })
		})
	}
	assert.Equal(t, []float64{0.4, 0.4}, beside())
}

// A file without a limit of the water taken in gets what the vehicle floats by with the newest ballast, where that is less than the
// usual limit and not next to nothing: then it sinks. A limit that is stated stays, and so does the usual one of a vehicle that sinks.
func TestLimitOfWater(t *testing.T) {
	text, err := os.ReadFile("../../examples/sound/vehicle.toml")
	require.NoError(t, err)
	for name, c := range map[string]struct {
		keep    bool
		ballast float64
		want    func(floats float64) float64
	}{
		"stated":    {true, 0, func(float64) float64 { return 60 }},
		"floats by": {false, 30, func(floats float64) float64 { return math.Floor(floats - 30*lift) }},
		"by little": {false, 80, func(float64) float64 { return 10 }},
		"more than": {false, -20, func(float64) float64 { return 60 }},
		"it sinks":  {false, 200, func(float64) float64 { return 60 }},
	} {
		as := string(text)
		if !c.keep {
			as = strings.Replace(as, "ingress_g = 60.0\n", "", 1)
			require.NotEqual(t, string(text), as)
		}
		v, err := vehicle.Read(strings.NewReader(as), vehicle.FileName)
		require.NoError(t, err)
		log, err := session.Open("../../examples/sound")
		require.NoError(t, err)
		log.Dives = log.Dives[:8]
		r, err := fit.Fit(v, log)
		require.NoError(t, err)
		floats := r.Model.NetBuoyancyG(&predict.Condition{Sign: make([]int8, 3), WaterC: 15}, r.Base)
		last := log.Dives[7].Lines
		last[len(last)-1].BallastG = c.ballast
		r, err = fit.Fit(v, log)
		require.NoError(t, err)
		assert.InDelta(t, c.want(floats), r.Model.Vehicle.Limits.IngressG, 1.01, "%s: it floats by %.1f g", name, floats)
	}
}

// lift is about the share of its weight that ballast has in fresh water.
const lift = 0.9
