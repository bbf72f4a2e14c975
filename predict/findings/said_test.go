package findings

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict/causes"
	"sagline/predict/fit"
	"sagline/session/units"
)

func TestTable(t *testing.T) {
	cause, limit := &causes.Cause{Scale: causes.Scale{Unit: "Ω"}, Words: "excess loop resistance"}, 0.3
	r := &Report{Units: units.Metric, Trends: []Trend{
		{Quantity: "excess_resistance_ohm", Pattern: "ramp", State: Drifting, OnsetDive: "11", Level: Estimate{0.1, 0.08, 0.12}, PerDive: &Estimate{0.02, 0.01, 0.03},
			Limit: &limit, DivesToLimit: &Estimate{10, 6, 22}, Cause: cause},
		{Quantity: "excess_resistance_ohm", Pattern: "steady", State: Sound, Level: Estimate{0, -0.01, 0.01}, Cause: cause},
		{Quantity: "excess_resistance_ohm", Pattern: "steady", State: NotJudged, Level: Estimate{0, -0.01, 0.01}, Cause: cause},
	}}
	assert.Equal(t, [][]string{
		{"excess loop resistance", "ramp", "dive 11", "0.100 ± 0.020 Ω", "0.020 ± 0.010", "0.3", "10 (6 to 22)"},
		{"excess loop resistance", Sound, "-", "0.000 ± 0.010 Ω", "-", "-", "-"},
		{"excess loop resistance", NotJudged, "-", "-", "-", "-", "-"},
	}, r.Table())
	for _, row := range r.Table() {
		assert.Len(t, row, len(TableHead))
	}
}

func TestAlarmSaid(t *testing.T) {
	cleared := "21"
	a := Alarm{RaisedDive: "12", OnsetDive: "10", Pattern: "ramp", Cause: &causes.Cause{Words: "excess loop resistance"}}
	const said = "alarm at dive 12: excess loop resistance, ramp since dive 10"
	assert.Equal(t, said, a.String())
	a.ClearedDive = &cleared
	assert.Equal(t, said+" (cleared by the service at dive 21)", a.String())
	a.OtherBattery = true
	assert.Equal(t, said+" (closed at dive 21, which was made on another battery)", a.String())
	a.OtherBattery, a.Withdrawn = false, true
	assert.Equal(t, said+" (taken back at dive 21: since then another explanation fits the readings better)", a.String())
	a.Gone = true
	assert.Equal(t, said+" (over since dive 21, and no service of it is written down)", a.String())
}

func TestFindingSaid(t *testing.T) {
	f := Finding{Probability: 0.97, SinceDive: "11", OnsetFrom: "10", OnsetTo: "12", Evidence: []string{"it rose", "it stayed"}, CheckNext: "clean the joint",
		Cause: &causes.Cause{Name: "power_loop", Words: "excess loop resistance", What: "the loop has more resistance"}}
	assert.Equal(t, []string{"the loop has more resistance, since dive 11 (10 to 12)", "excess loop resistance (97 % sure)", "because it rose", "because it stayed", "next: clean the joint"}, f.Lines())
	f.Probability, f.OnsetFrom, f.OnsetTo, f.Test = Likely-0.01, "11", "11", &Test{Words: "read current_a"}
	got := f.Lines()
	assert.Equal(t, "perhaps the loop has more resistance, since dive 11", got[0])
	assert.Equal(t, []string{"to tell: read current_a", "next: clean the joint"}, got[len(got)-2:])
	f.Probability, f.Again = Likely, []string{"20", "31"}
	assert.Equal(t, "the loop has more resistance, since dive 11 and again since 20, 31", f.Lines()[0])
}

// What may be passed already is not said to have dives left.
func TestLeft(t *testing.T) {
	for want, e := range map[string]Estimate{
		"none: passed": {0, 0, 0.2}, "1 (to 3; may be passed)": {1, 0, 3}, "0 (to 12; may be passed)": {0, 0, 12}, "6 (3 to 12)": {6, 3, 12}, "40 (12 or more)": {40, 12, FarAhead}, CannotTell: {0, 0, FarAhead},
		"0 (to 0; may be passed)": {0, 0, 0.5}, "5 (0 to 9)": {5, 0.5, 9}, "6 (may be passed, or never)": {6, 0.4, FarAhead}, "0 (may be passed, or never)": {0.5, 0, FarAhead},
	} {
		assert.Equal(t, want, Left(&e))
	}
	assert.Equal(t, CannotTell, Left(&Estimate{FarAhead, 0.4, FarAhead}))
	assert.Equal(t, "999 (1 or more)", Left(&Estimate{FarAhead, 0.6, FarAhead}))
}

// A dive that looks jammed says which thrusters it may be; of a day that is not known nothing is said.
func TestDiveSaid(t *testing.T) {
	assert.Empty(t, (&Dive{}).LooksFailed())
	assert.Equal(t, "its readings look as if port were jammed (unplugged, turn it by hand)", (&Dive{Looks: fit.Looks{Jammed: []string{"port"}}}).LooksFailed())
	assert.Equal(t, "its readings look as if port or lift were jammed (unplugged, turn it by hand)", (&Dive{Looks: fit.Looks{Jammed: []string{"port", "lift"}}}).LooksFailed())
	assert.Empty(t, Of(""))
	assert.Equal(t, " of 2026-05-02", Of("2026-05-02"))
}
