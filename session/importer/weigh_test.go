package importer

import (
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/session"
	"sagline/session/quantity"
)

// small is a judge of a vehicle with 12 V, 9 A, 0.4 m/s and 30 m.
func small(r session.Row) map[string]bool {
	far := map[string]bool{}
	lines, _ := session.ParseRows(r)
	if len(lines) == 0 {
		return far
	}
	for column, most := range map[string][2]float64{"battery_v": {11, 14}, "vehicle_v": {7, 10}, "current_a": {4, 10}, "depth_m": {0, 30}, "depth_ft": {0, 98}, "speed_m_s": {0.2, 0.6}} {
		if x, err := strconv.ParseFloat(r[column], 64); err == nil {
			far[column] = x < most[0] || x > most[1]
		}
	}
	if v := lines[0].Readings[quantity.Speed]; v.Measured() && r["run_s"] != "" {
		far["run_s"] = v.X < 0.2 || v.X > 0.6
	}
	return far
}

// A match that most lines contradict is never sure: the better one is taken
// where the heading leaves it open, else asked about.
func TestMatchesAreWeighed(t *testing.T) {
	k := otter
	k.Judge = small
	for _, c := range []struct{ heading, cells, to, sure, first string }{
		{"Current", "8.1 8.2 8.3", "current_a", Likely, ""},
		{"Strom", "8100 8200 8300", "current_a in mA", Likely, ""},
		{"Strom [A]", "8100 8200 8300", Asked, Asked, "current_a in mA"},
		{"Strom [mA]", "8.1 8.2 8.3", Asked, Asked, "current_a"},
		{"Depth", "3 4 5", Asked, Asked, "depth_m"},
		{"Depth", "60 70 80", "depth_ft", Likely, ""},
		{"Volts", "8.1 8.2 8.3", "vehicle_v", Sure, ""},
		{"Battery (V)", "8.1 8.2 8.3", Asked, Asked, "vehicle_v"},
		{"Temp", "58 59 60", "water_f", Likely, ""},
		{"Temp", "40 41 40", Asked, Asked, "water_c"},
		{"Speed", "40 41 42", Asked, Asked, ""},
		{"Pull", "200 210 220", Asked, Asked, ""}, // that a log takes it says nothing
		{"Readings", "12.4V/8.6A/3m 12.5V/8.5A/3m 12.3V/8.4A/4m", Asked, Asked, "battery_v / current_a / depth_m"},
		{"Zeit 10 m [s]", "25 26 24", "run_s / run_m = 10", Likely, ""},
		{"Zeit 10 m [s]", "2 3 2", Asked, Asked, "note"}, // 4 m/s is no speed of it
		{"Battery (V)", "12.8-12.4 12.7-12.3 12.7-12.2", "battery_v at rest / battery_v", Likely, ""},
		{"Battery (V)", "12.4/12.8 12.3/12.7 12.2/12.7", "battery_v / battery_v at rest", Likely, ""},
		{"Akku [mV]", "12800-12400 12700-12300 12700-12200", "battery_v at rest in mV / battery_v in mV", Likely, ""},
		{"Battery (V)", "12.8-8.4 12.7-8.3 12.7-8.2", "battery_v / vehicle_v", Likely, ""},
		{"Battery (V)", "81 82 83", Asked, Asked, "note"},
		{"Battery (V)", "12.1 12.2 1.22 12.3", "battery_v", Sure, ""}, // a slip is for the fit
	} {
		text := "Date;" + c.heading + "\n"
		for i, x := range strings.Fields(c.cells) {
			text += []string{"2026-05-31", ""}[min(i, 1)] + ";" + x + "\n"
		}
		m, _ := proposed(t, text, k)
		got := m.find(c.heading)
		if c.heading == "Volts" { // a unit by itself is no unit that the heading says beside words
			assert.Contains(t, []string{"vehicle_v", Asked}, got.To)
			continue
		}
		assert.Equal(t, c.to, got.To, "%s of %s: %s", c.heading, c.cells, got.Why)
		assert.Equal(t, c.sure, got.Sure, "%s of %s", c.heading, c.cells)
		if c.heading == "Strom [mA]" {
			assert.Equal(t, []string{"current_a", "note", "current_a in mA"}, got.choices)
		}
		if c.first != "" {
			assert.Equal(t, c.first, got.choices[0], "%s of %s: %v", c.heading, c.cells, got.choices)
		}
	}
}

// Seconds beside a run's length are its time where the speeds are then of a
// size that the vehicle has; without a judge that is asked about.
func TestSecondsBesideARun(t *testing.T) {
	text := "Datum;Strecke [m];Zeit [s]\n31.5.2026;10;25\n;10;26\n;10;24\n"
	k := otter
	k.Judge = small
	m, taken := proposed(t, text, k)
	assert.Equal(t, "run_s", m.find("Zeit [s]").To)
	assert.Empty(t, taken.Asked)
	assert.Equal(t, "10|25\n10|26\n10|24\n", rows(taken, "run_m run_s"))
	m, _ = proposed(t, strings.ReplaceAll(text, ";10;", ";100;"), k)
	assert.NotEqual(t, Sure, m.find("Zeit [s]").Sure, "4 m/s is no speed of it")
	m, _ = proposed(t, "Datum;Strecke [m];Laufzeit (s);Zeit [s]\n31.5.2026;10;25;0\n;10;26;60\n;10;24;120\n", k)
	assert.Equal(t, "minute in s", m.find("Zeit [s]").To, "the run has its time")
}
