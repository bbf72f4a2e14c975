package newdive_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/fit"
	"sagline/predict/forecast"
	"sagline/predict/newdive"
	"sagline/predict/simulate"
	"sagline/session"
	"sagline/session/quantity"
)

func TestNextDive(t *testing.T) {
	day := func(s string) time.Time {
		d, err := time.Parse(time.DateOnly, s)
		require.NoError(t, err)
		return d
	}
	for _, c := range []struct{ newest, of, today, want, date string }{
		{"30", "2026-05-02", "2026-05-09", "31", "2026-05-09"},
		{"30", "2026-05-09", "2026-05-09", "30", "2026-05-09"},
		{"P-009", "2026-05-02", "2026-05-09", "P-010", "2026-05-09"},
		{"pool", "2026-05-02", "2026-05-09", "pool-2", "2026-05-09"},
		{"30", "2026-05-02", "1970-01-01", "31", "2026-05-02"}, // a clock that lost its battery
	} {
		label, date := newdive.NextDive(&session.Log{Dives: []session.Dive{{Label: c.newest, Date: day(c.of)}}}, day(c.today))
		assert.Equal(t, c.want, label)
		assert.Equal(t, c.date, date)
	}
	label, _ := newdive.NextDive(&session.Log{}, day("2026-05-09"))
	assert.Equal(t, "1", label)
}

// A dive that goes on is known by its day. A log that has no column for days gets
// none; one that has gets today's, or its newest.
func TestNextDiveOfAnUnknownDay(t *testing.T) {
	day := func(s string) time.Time {
		d, err := time.Parse(time.DateOnly, s)
		require.NoError(t, err)
		return d
	}
	undated := &session.Log{Columns: []string{"dive", "battery_v"}, Dives: []session.Dive{{Label: "30"}}}
	label, date := newdive.NextDive(undated, day("2026-05-09"))
	assert.Equal(t, []string{"31", ""}, []string{label, date})
	assert.Equal(t, "dive 30 has no day, so the next line is taken for one of a new dive, 31; name dive 30 to go on with it", newdive.Another(undated))
	assert.Empty(t, newdive.ClockBehind(undated, day("1970-01-01")))

	some := &session.Log{Columns: []string{"dive", "date"}, Dives: []session.Dive{{Label: "29", Date: day("2026-05-02")}, {Label: "30"}}}
	for today, want := range map[string]string{"2026-05-09": "2026-05-09", "1970-01-01": "2026-05-02"} {
		label, date = newdive.NextDive(some, day(today))
		assert.Equal(t, []string{"31", want}, []string{label, date})
	}
	assert.Contains(t, newdive.ClockBehind(some, day("1970-01-01")), "before the newest dive of 2026-05-02")
	some.Dives = some.Dives[:1]
	assert.Empty(t, newdive.Another(some))
	assert.Empty(t, newdive.Another(&session.Log{}))
}

// Lines that are written at once are compared with what they should be.
func TestAll(t *testing.T) {
	nowhere := func(int) string { return "" }
	v := simulate.Fleet(1)
	log := &session.Log{}
	dive := func(f *forecast.Forecast) *newdive.Dive {
		return newdive.New(log, f, nil, func(*session.Dive) []session.Row { return nil })
	}
	assert.Empty(t, dive(forecast.AsBuilt(v)).All([]session.Row{{"dive": "1", "thrusters": "off", "battery_v": "12.8"}}, nowhere))
	got := dive(forecast.AsBuilt(v)).All([]session.Row{{"dive": "1", "thrusters": "off", "battery_v": "128"}}, func(i int) string { return fmt.Sprintf("line %d, ", i+1) })
	require.Len(t, got, 1)
	assert.Contains(t, got[0], "line 1, battery_v 128, should be")
	assert.Contains(t, got[0], "decimal point? 12.8")
	assert.Empty(t, dive(nil).All([]session.Row{{"dive": "1", "thrusters": "off", "battery_v": "128"}}, nowhere))
}

// A range that is uneven is said by its ends: half of its width would reach past
// what can be.
func TestShould(t *testing.T) {
	c, _ := session.Find("battery_v")
	even := []forecast.Expected{{Quantity: quantity.BatteryV, Value: 12.6, SD: 0.15, Low: 12.3, High: 12.9}}
	assert.Equal(t, "12.6 ± 0.3", newdive.Should(c, session.Row{}, even))
	uneven := []forecast.Expected{{Quantity: quantity.BatteryV, Value: 8.3, SD: 0.38, Low: 6.98, High: 8.43}}
	assert.Equal(t, "7.0 to 8.4", newdive.Should(c, session.Row{}, uneven))
}

// On another battery than the dive before was on, volts are as far apart as
// batteries are, and lines that were read tell of it.
func TestAnotherBattery(t *testing.T) {
	log := simulate.Log(simulate.Fleet(1), simulate.Season{Dives: 8, Seed: 1, Start: time.Date(2025, 5, 1, 0, 0, 0, 0, time.UTC)})
	for i := range log.Dives {
		log.Dives[i].Battery = "A"
	}
	r, err := fit.Fit(simulate.Fleet(1), log)
	require.NoError(t, err)
	d := newdive.New(log, forecast.New(r, r.Base, nil, fit.Posterior{}), nil, func(*session.Dive) []session.Row { return nil })
	d.Begin("9")
	width := func(row session.Row) float64 {
		_, all := d.Line(row)
		for _, e := range all {
			if e.Quantity == quantity.BatteryV {
				return e.High - e.Low
			}
		}
		return 0
	}
	row := func(more ...string) session.Row {
		out := session.Row{"dive": "9", "minute": "3", "thrusters": "port + starboard"}
		for i := 0; i < len(more); i += 2 {
			out[more[i]] = more[i+1]
		}
		return out
	}
	same := width(row("battery", "A"))
	assert.InDelta(t, same, width(row()), 1e-9)
	assert.Greater(t, width(row("battery", "B")), 2*same)
	assert.Greater(t, width(row("serviced", "joint+battery")), 2*same)
	assert.Greater(t, width(row("serviced", "Joint + Battery")), 2*same)
	d.Put(0, session.Row{"dive": "9", "minute": "1", "thrusters": "off", "battery": "B", "battery_v": "12.6"}, row("battery_v", "11.4", "current_a", "8"))
	assert.Less(t, width(row()), 1.5*same)
}
