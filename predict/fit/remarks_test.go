package fit_test

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
)

// otter is the example vehicle with one text for another, and its places.
func otter(t *testing.T, old, new string) (*vehicle.Vehicle, *vehicle.Places) {
	dir := t.TempDir()
	require.Contains(t, simulate.VehicleText(), old)
	text := strings.Replace(simulate.VehicleText(), old, new, 1)
	require.NoError(t, os.WriteFile(filepath.Join(dir, vehicle.FileName), []byte(text), 0o644))
	v, at, err := vehicle.OpenPlaced(dir)
	require.NoError(t, err)
	return v, at
}

// What a line holds that its vehicle cannot compare, in the order of the log.
func TestRemarksOfLines(t *testing.T) {
	v, at := otter(t, "", "")
	log, err := session.Read(strings.NewReader(`dive,date,thrusters,held,battery_v,tether_out_ft,speed_m_s,run_m,run_s,run_back_s,climb_m,climb_s,pull_n
1,2026-05-02,off,,12.8,120,,,,,,,
1,,port + starboard,yes,12.1,30,0.4,,,,,,9.8
1,,port + starboard,,12.1,30,,3,7.5,,,,
1,,port + starboard,,12.1,30,,3,7.5,7.6,,,
1,,port + starboard,,12.1,30,,10,25,,,,
1,,off,,12.8,30,,,,,1,6.4,
1,,vertical,,12.8,30,0.4,,,,,,
1,,port,,12.8,30,0.4,,,,,,
1,,port + starboard astern,,12.8,30,0.4,,,,,,
1,,port + starboard,,12.1,30,,,,,,,9.8
`), session.FileName)
	require.NoError(t, err)
	_, got := fit.Remarks(v, log, nil, at)
	assert.EqualError(t, got.Err(), strings.TrimSpace(`
dives.csv:2: column "tether_out_ft": found 120 ft paid out of a tether of 30 m
dives.csv:3: column "speed_m_s": not compared: the line says held
dives.csv:4: column "run_s": 3 m in 7.5 s tells a speed to ±10 % (95 %), worse than the ±8 % of speed_percent: want 3.8 m, less when timed both ways
dives.csv:7: column "climb_s": 1 m in 6.4 s tells a speed to ±29 % (95 %), worse than the ±12 % of climb_percent: want 2.4 m
dives.csv:8: column "speed_m_s": not compared: no surge thruster ran
dives.csv:9: column "speed_m_s": not compared: the thrusters that ran would turn the vehicle (their arm_mm add up to -160)
dives.csv:10: column "speed_m_s": not compared: the thrusters that ran would turn the vehicle (their arm_mm add up to -320)
dives.csv:11: column "pull_n": not compared: the line does not say held and which thrusters pulled`))

	// The same in numbers: √2·√(0.1² + (0.1 s · 0.4 m/s)²) = 0.1523 m of 3 m.
	assert.InDelta(t, 0.051, math.Sqrt2*math.Hypot(0.1, 0.1*0.4)/3, 0.0005)
}

// A sound log is left in peace, whatever the vehicle and with what the model
// leaves out in it; slips are named, each; and an instrument that scatters
// three times as much as is said of it is told with its line.
func TestRemarksOfSeasons(t *testing.T) {
	v, at := otter(t, "", "")
	for seed := range uint64(12) {
		other := simulate.Fleet(seed)
		log := simulate.Log(other, simulate.Season{Dives: 12, Start: start, Seed: seed, Rough: true, Sites: seed%2 == 0})
		r, err := fit.Fit(other, log, nil)
		require.NoError(t, err)
		ofVehicle, _ := fit.Remarks(other, log, r, at)
		assert.NoError(t, ofVehicle.Err(), "seed %d", seed)
	}
	log := simulate.Log(v, simulate.Season{Dives: 12, Start: start, Seed: 5, Slips: 0.03})
	r, err := fit.Fit(v, log, nil)
	require.NoError(t, err)
	_, slips := fit.Remarks(v, log, r, at)
	assert.Greater(t, len(slips), 3)
	assert.ErrorContains(t, slips.Err(), "a slip? it is set aside")

	worse := v.Clone()
	worse.Instruments.CurrentA *= 3
	log = simulate.Log(worse, simulate.Season{Dives: 12, Start: start, Seed: 5})
	r, err = fit.Fit(v, log, nil)
	require.NoError(t, err)
	ofVehicle, _ := fit.Remarks(v, log, r, at)
	require.Len(t, ofVehicle, 1)
	assert.Equal(t, at.Line("instruments.current_a"), ofVehicle[0].Line)
	assert.Regexp(t, `^instruments.current_a 0.15 is stated, but \d+ readings scatter by about 0.[3-5]\d about their fits`, ofVehicle[0].Column+" "+ofVehicle[0].Text)
}
