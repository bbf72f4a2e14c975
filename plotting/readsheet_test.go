package plotting

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/forecast"
	"sagline/predict/mixture"
	"sagline/predict/outlook"
	"sagline/predict/priors"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
	"sagline/session/units"
)

// Between 0.02 and 50 MΩ lies 1 MΩ, not 25.
func TestHalfway(t *testing.T) {
	assert.InDelta(t, 1.0, halfway(quantity.Insulation, 0.02, 50), 1e-12)
	assert.InDelta(t, 10.0, halfway(quantity.VehicleV, 9, 11), 1e-12)
}

// Who times runs is told the seconds.
func TestTimed(t *testing.T) {
	x := &forecast.Reading{Quantity: quantity.Speed, Low: 0.4, High: 0.6}
	assert.Equal(t, ": 10 m in 16 to 25 s", timed(units.Metric, 10, x))
	assert.Empty(t, timed(units.Metric, 0, x))
	x.Low = -0.1
	assert.Empty(t, timed(units.Metric, 10, x), "it may stand still")
	log, err := session.Read(strings.NewReader("dive,thrusters,speed_m_s,run_m,run_s\n1,p,0.5,,\n2,p,,8,20\n2,p,,,\n"), "dives.csv")
	require.NoError(t, err)
	assert.InDelta(t, 8, courseM(log, quantity.Speed), 1e-9)
	assert.Zero(t, courseM(log, quantity.Climb))
	log.Dives = log.Dives[:1]
	assert.Zero(t, courseM(log, quantity.Speed))
}

// A reading is to be taken again where a fault's value lies near a sound one's.
func TestHowOften(t *testing.T) {
	assert.Equal(t, "one reading is enough", howOften(4))
	assert.Equal(t, "take it three times, as yes and no lie near each other", howOften(3.9))
}

// Insulation has no most, and is written without an exponent.
func TestSheetOfInsulation(t *testing.T) {
	v := vehicle.Example()
	r := &fit.Result{Model: predict.NewModel(v), Calibrated: mixture.Calibrated{Space: priors.New(predict.NewModel(v), priors.Log{})}}
	column := session.ColumnIn(quantity.Insulation.String(), v.Units)
	for low, want := range map[float64]string{193: "190 MΩ or more", 2.34: "2.3 MΩ or more", 0.2: "1 MΩ or more"} {
		x := &forecast.Reading{Quantity: quantity.Insulation, Expected: 400, Low: low, High: 900, SD: 1}
		assert.Equal(t, want, sheetReading(r, x, column, 0).Expect)
	}
}

// What may be any of two thrusters is asked of both together: alone the sound one says that nothing is wrong.
func TestSheetOfEither(t *testing.T) {
	v, log, _ := simulate.FleetLog(2, simulate.Season{Dives: 8})
	r, err := fit.Fit(v, log)
	require.NoError(t, err)
	rep := drift.Analyse(r)
	p := outlook.Present(r, rep)
	p[predict.OfThruster(0, predict.LogOneThrust)] -= 0.25
	p[predict.OfThruster(1, predict.LogOneThrust)] -= 0.25
	row := func(name string) *causes.Cause {
		return &r.Space.Causes[slices.IndexFunc(r.Space.Causes, func(c causes.Cause) bool { return c.Name == name })]
	}
	f := &findings.Finding{Cause: row("thrust:port")}
	ask := func() string {
		return separatingReading(r, rep, p, predict.Condition{WaterC: 15, TetherOutM: v.Tether.LengthM}, f)
	}
	assert.Regexp(t, `still show\? read the pull, port, held still: below \d+\.\d+ N says yes`, ask())
	f.Cause = f.Cause.Either([]*causes.Cause{row("thrust:port"), row("thrust:starboard")})
	f.Either = []findings.Alternative{{Fault: "thrust:port"}, {Fault: "thrust:starboard"}}
	assert.Regexp(t, `of port or starboard still show\? read the pull, port \+ starboard, held still: below \d+\.\d+ N says yes`, ask())
}

// The card is for a battery that rests as the newest dives began with, in their water.
func TestSheetLikeTheNewestDives(t *testing.T) {
	v, log, _ := simulate.FleetLog(4, simulate.Season{Dives: 12})
	r, err := fit.Fit(v, log)
	require.NoError(t, err)
	next := LikeTheNewest(log)
	last := log.Dives[len(log.Dives)-1]
	assert.Equal(t, last.Lines[len(last.Lines)-1].WaterC.X, next.WaterC)
	s := ReadSheet(r, drift.Analyse(r), log, next)
	var rests []float64
	for _, d := range log.Dives[len(log.Dives)-5:] {
		rests = append(rests, d.Lines[0].Readings[quantity.BatteryV].X)
	}
	slices.Sort(rests)
	assert.Contains(t, s.Basis, fmt.Sprintf("on a rested battery of %.2f V", rests[2]))
}

// What an instrument has wrong shows in its own readings, though the vehicle's numbers leave it out.
func TestSheetOfAnInstrument(t *testing.T) {
	v, log, _ := simulate.FleetLog(4, simulate.Season{Dives: 14, Drift: func(d int, p predict.Params) {
		if d > 9 {
			p[predict.LogClamp] += 0.1
		}
	}})
	r, err := fit.Fit(v, log)
	require.NoError(t, err)
	rep := drift.Analyse(r)
	require.Equal(t, "instrument:current_a", rep.Findings[0].Fault)
	s := ReadSheet(r, rep, log, LikeTheNewest(log))
	assert.Regexp(t, `^does gain of the clamp meter still show\? read the current, .*: above \d+\.\d+ A says yes; one reading is enough$`, s.Open[0])
}
