package drift_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/findings"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
)

// A battery that was used the day before lies some tenths of a volt lower for two dives: that is no other
// battery. One that lies there for good is.
func TestAPartlyChargedBattery(t *testing.T) {
	low := func(until int) *result {
		return scenario{world: "measured", season: between(onset, until, at(predict.OpenCircuitV, -0.6))}.fitted(t, 91)
	}
	r := low(onset + 2)
	for n := onset; n < onset+4; n++ {
		rep := r.until(t, n)
		assert.Empty(t, rep.Alarms, "dive %d", n)
		assert.NotContains(t, named(rep), "not_logged:battery", "dive %d", n)
	}
	rep := low(someDives+1).until(t, someDives)
	require.NotEmpty(t, rep.Findings)
	assert.Equal(t, "not_logged:battery", rep.Findings[0].Fault)
}

// A battery that begins the newest dives far lower is remarked on where none of them read it at rest: which one that was not charged
// and one that ages are not told apart.
func TestALowBatteryThatNobodyRead(t *testing.T) {
	const remark = "since dive 11 the battery seems to begin dives "
	for _, read := range []bool{false, true} {
		v, log, truth := scenario{world: "measured", season: between(onset, onset+3, at(predict.OpenCircuitV, -1.2))}.simulated(91, onset+2, onset)
		for d := onset - 1; d < len(log.Dives) && !read; d++ {
			log.Dives[d].Lines = slices.DeleteFunc(log.Dives[d].Lines, func(l session.Line) bool { return len(l.Drives) == 0 })
		}
		r := &result{vehicle: v, log: log, truth: truth}
		for n := onset - 1; n <= onset+2; n++ {
			rep := r.until(t, n)
			assert.Empty(t, named(rep))
			assert.Equal(t, !read && n > onset, strings.Contains(strings.Join(rep.Remarks, "\n"), remark), "read: %v, dive %d: %v", read, n, rep.Remarks)
		}
	}
}

// A voltmeter whose own battery runs down shows ever more volts, more than any battery of that label has: no battery came better
// charged, and the power loop has not gained what would hide it.
func TestMoreVoltsThanABatteryHas(t *testing.T) {
	unhurried(t)
	assert.Equal(t, []string{"instrument:voltage"}, named(ofFolder(t, "rising-voltmeter")))
}

// A battery that stands higher at rest than it does as soon as anything runs still sags under a thruster whose circuit is open.
// Where all readings at one load are alike, only that load's end tells its sag from resistance.
func TestSurfaceChargeBesideAnOpenCircuit(t *testing.T) {
	unhurried(t)
	rep := ofFolder(t, "surface-charge")
	require.NotEmpty(t, rep.Findings)
	assert.Equal(t, "branch:stern", rep.Findings[0].Fault)
	assert.Greater(t, rep.Findings[0].Probability, 0.969)
	for _, f := range rep.Findings[1:] {
		assert.Less(t, f.Probability, 0.5, f.Fault)
	}
}

// A battery left half charged for some of the baseline's dives and some after them is no voltmeter that changed, nor another
// battery once it is full again.
func TestHalfChargedInTheBaseline(t *testing.T) {
	for _, volts := range []float64{-0.4, -0.6} {
		r := scenario{world: "measured", season: between(3, 8, at(predict.OpenCircuitV, volts))}.fitted(t, 91)
		for n := 6; n <= someDives; n++ {
			rep := r.until(t, n)
			assert.Empty(t, rep.Alarms, "%g V, dive %d", volts, n)
			assert.Empty(t, named(rep), "%g V, dive %d", volts, n)
		}
	}
}

// A battery that is charged less and less has more resistance while it lasts, and is not blamed for it; one that ages
// besides is.
func TestResistanceOfASpentBattery(t *testing.T) {
	v, err := vehicle.Read(strings.NewReader(simulate.VehicleText), vehicle.FileName)
	require.NoError(t, err)
	b := &v.Battery
	for name, aged := range map[string]float64{"spent": 0, "aged": 0.015} {
		rep := report(t, season(t, simulate.Season{Dives: 18, Seed: 21, Drift: func(d int, p predict.Params) {
			p[predict.OpenCircuitV] += b.RestAt(0.95-0.04*float64(max(d-6, 0))) - b.RestAt(1)
			p[predict.BatteryOhm] += 0.8 * (0.95 - b.Charge(p[predict.OpenCircuitV])) * b.ResistanceOhm
			if d >= 12 {
				p[predict.BatteryOhm] += aged
			}
		}}))
		told := slices.ContainsFunc(rep.Alarms, func(a findings.Alarm) bool { return a.Cause.Param() == predict.BatteryOhm })
		assert.Equal(t, aged > 0, told, name)
	}
}

// A battery that comes less and less full, as with a charger that ages, is no voltmeter that drifts.
func TestBatteryThatComesLessFull(t *testing.T) {
	const from, dives = 15, 48
	for _, seed := range []uint64{2, 3} {
		v, log, truth := scenario{change: ramp(predict.OpenCircuitV, -0.02)}.simulated(seed, dives, from)
		rep := (&result{vehicle: v, log: log, truth: truth}).until(t, dives)
		require.Equal(t, []string{"not_logged:battery"}, named(rep), "seed %d", seed)
		assert.Equal(t, "rest voltage of the battery", rep.Findings[0].Cause.Words, "seed %d", seed)
		tr := rep.Trends[len(rep.Trends)-1]
		assert.Equal(t, findings.Ramp, tr.Pattern, "seed %d", seed)
		assert.InDelta(t, -0.02, tr.PerDive.Value, 0.01, "seed %d", seed)
	}
}
