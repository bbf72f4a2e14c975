package fit_test

import (
	"math/rand/v2"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// withoutInstruments is the sound example's vehicle whose owner does not know how good the instruments are, and
// the one that is.
func withoutInstruments(t *testing.T) (file, real *vehicle.Vehicle) {
	t.Helper()
	text, err := os.ReadFile("../../examples/sound/vehicle.toml")
	require.NoError(t, err)
	real, err = vehicle.Read(strings.NewReader(string(text)), vehicle.FileName)
	require.NoError(t, err)
	cut := regexp.MustCompile(`(?s)\n\[instruments\].*?(\n\[|$)`).ReplaceAllString(string(text), "$1")
	require.NotEqual(t, string(text), cut)
	file, err = vehicle.Read(strings.NewReader(cut), vehicle.FileName)
	require.NoError(t, err)
	return file, real
}

// hovers writes hover weights of dives from a function, one a dive.
func hovers(log *session.Log, grams func(dive int) float64) {
	for d := range log.Dives {
		for i := range log.Dives[d].Lines {
			if l := &log.Dives[d].Lines[i]; l.Readings[quantity.Trim].Measured() {
				set(l, quantity.Trim, grams(d))
			}
		}
	}
}

// Of instruments whose noise the file leaves out the log tells it, beyond the baseline's few readings: by what one dive's
// readings scatter, or successive dives' where each has one. A step between them is no noise, readings copied from the dive
// before tell nothing, and a log's first dives know of none of it.
func TestNoiseOfLaterDives(t *testing.T) {
	file, real := withoutInstruments(t)
	season := simulate.Season{Dives: 24, Seed: 3, AsFile: true}
	steady := []float64{1, -1, 0, 2, -2, 1, 0, -1}
	noise := func(log *session.Log) *fit.Result {
		r, err := fit.Fit(file, log)
		require.NoError(t, err)
		return r
	}
	log := simulate.Log(real, season)
	usual := noise(log).Noise.Stated[quantity.Trim]
	sd := func(grams func(d int) float64) float64 {
		hovers(log, grams)
		n := noise(log).Noise
		return n.Stated[quantity.Trim] * n.Factor[quantity.Trim]
	}
	quiet := sd(func(d int) float64 { return 60 + steady[d%8] })
	assert.Less(t, quiet, 0.6*usual)
	assert.InDelta(t, quiet, sd(func(d int) float64 {
		if d > 11 {
			return 20 + steady[d%8]
		}
		return 60 + steady[d%8]
	}), 0.1*usual, "with a step")
	assert.Greater(t, sd(func(d int) float64 { return 60 + 25*steady[d%8] }), 1.6*usual)
	assert.Greater(t, sd(func(d int) float64 { return 60 }), 0.75*usual, "copies")

	hovers(log, func(d int) float64 { return 60 + steady[d%8] })
	r := noise(log)
	for _, n := range []int{6, 14} {
		log.Dives = log.Dives[:n]
		assert.InDelta(t, noise(log).Noise.Factor[quantity.Trim], r.Upto(n).Noise.Factor[quantity.Trim], 1e-9, "%d dives", n)
		log = simulate.Log(real, season)
		hovers(log, func(d int) float64 { return 60 + steady[d%8] })
	}

	v := r.Noise.Stated[quantity.VehicleV] * r.Noise.Factor[quantity.VehicleV]
	assert.InEpsilon(t, real.Instruments.VehicleV, v, 0.25)
	assert.Greater(t, r.Noise.Worth[quantity.VehicleV], 12.0)
}

// A meter bought after the baseline is known by its own readings.
func TestNoiseOfANewMeter(t *testing.T) {
	file, real := withoutInstruments(t)
	real.Instruments.CurrentA = 0.04
	log := simulate.Log(real, simulate.Season{Dives: 20, Seed: 5, AsFile: true})
	for d := range 8 {
		for i := range log.Dives[d].Lines {
			log.Dives[d].Lines[i].Readings[quantity.CurrentA] = session.Value{}
		}
	}
	r, err := fit.Fit(file, log)
	require.NoError(t, err)
	assert.InEpsilon(t, 0.04, r.Noise.Stated[quantity.CurrentA]*r.Noise.Factor[quantity.CurrentA], 0.35)
	assert.Equal(t, 1.0, r.Upto(8).Noise.Factor[quantity.CurrentA])
}

// A contact that comes and goes makes no instrument worse.
func TestAContactIsNoNoise(t *testing.T) {
	file, real := withoutInstruments(t)
	factors := func(season simulate.Season) [quantity.Count]float64 {
		season.Dives, season.Seed, season.AsFile = 14, 3, true
		r, err := fit.Fit(file, simulate.Log(real, season))
		require.NoError(t, err)
		return r.Noise.Factor
	}
	line := 0
	sound, loose := factors(simulate.Season{}), factors(simulate.Season{LineDrift: func(d int, _ *rand.Rand, p predict.Params) {
		if line++; d > later {
			p[predict.LoopOhm] += 0.6 * float64(line%2)
		}
	}})
	for _, q := range []quantity.Quantity{quantity.CurrentA, quantity.VehicleV, quantity.Pull, quantity.Speed} {
		assert.InEpsilon(t, sound[q], loose[q], 0.2, "%s", q)
	}
}
