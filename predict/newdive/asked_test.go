package newdive_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict/forecast"
	"sagline/predict/newdive"
	"sagline/session"
	"sagline/session/quantity"
)

// What recent dives filled is asked for, once a dive what is of a dive; kinds of lines are told once each.
func TestColumnsAskedFor(t *testing.T) {
	columns := []string{"dive", "date", "minute", "thrusters", "held", "battery_v", "current_a", "battery", "serviced"}
	rows := []session.Row{{"thrusters": "off", "battery_v": "12.6", "battery": "A"}, {"battery_v": "12.5"}, {"thrusters": "p+s", "battery_v": "12.3"}, {"thrusters": "s + p", "battery_v": "12.2"},
		{"thrusters": "p + s", "held": "yes", "battery_v": "12.2"}}
	d := dived(columns, rows...)
	of := func(list []*session.Column) string {
		var out []string
		for _, c := range list {
			out = append(out, c.Name)
		}
		return strings.Join(out, " ")
	}
	assert.Equal(t, "thrusters held battery_v", of(d.Columns(false)))
	assert.Contains(t, of(d.Columns(true)), "battery serviced")
	assert.NotContains(t, " "+of(d.Columns(true)), " date")
	assert.ElementsMatch(t, []string{"serviced", "battery"}, strings.Fields(of(d.First())))
	assert.Equal(t, []session.Row{{"thrusters": "off", "held": ""}, {"thrusters": "p+s", "held": ""}, {"thrusters": "p + s", "held": "yes"}}, d.Kinds())

	first := newdive.New(&session.Log{Columns: columns}, nil, nil, func(*session.Dive) []session.Row { return nil })
	first.Begin("1")
	assert.Equal(t, "minute thrusters held battery_v current_a", of(first.Columns(false)), "of a first dive what the log has")
	assert.Empty(t, first.Kinds())
	assert.Equal(t, session.Row{"thrusters": "off"}, first.Next())
}

// A row says something where it has a reading, or a note or work beside its circumstances.
func TestSays(t *testing.T) {
	for _, row := range []session.Row{{}, {"thrusters": "off", "depth_m": "3", "minute": "2"}, {"battery_v": ""}, {"run_m": "10"}, {"note": ""}} {
		assert.False(t, newdive.Says(row), "%v", row)
	}
	for _, row := range []session.Row{{"battery_v": "12"}, {"run_s": "20"}, {"climb_s": "9"}, {"note": "cold"}, {"serviced": "joint"}, {"ballast_g": "50"}, {"ballast_oz": "2"}} {
		assert.True(t, newdive.Says(row), "%v", row)
	}
}

// What a reading should be has the digits that its range leaves known, its ends where they are uneven, and no minus before nothing.
func TestShouldDigits(t *testing.T) {
	volts, _ := session.Find("battery_v")
	back, _ := session.Find("run_back_s")
	of := func(value, sd, low, high float64) []forecast.Expected {
		return []forecast.Expected{{Quantity: quantity.BatteryV, Value: value, SD: sd, Low: low, High: high}}
	}
	for want, all := range map[string][]forecast.Expected{
		"12.34 ± 0.12": of(12.341, 0.06, 12.22, 12.46),
		"12.3 ± 0.3":   of(12.341, 0.15, 12.04, 12.64),
		"12.3 ± 0.2":   of(12.341, 0.11, 12.12, 12.56),
		"12 ± 4":       of(12.3, 2, 8.3, 16.3),
		"12.1 to 12.8": of(12.341, 0.15, 12.14, 12.75),
		"0.0 ± 0.2":    of(-0.04, 0.1, -0.24, 0.16),
		"-0.1 ± 0.2":   of(-0.06, 0.1, -0.26, 0.14),
		"":             {{Quantity: quantity.CurrentA, Value: 1}},
	} {
		assert.Equal(t, want, newdive.Should(volts, session.Row{}, all))
	}
	speed := []forecast.Expected{{Quantity: quantity.Speed, Value: 0.5, SD: 0.01, Low: 0.48, High: 0.52}}
	assert.Equal(t, "20.0 ± 0.8", newdive.Should(back, session.Row{"run_m": "10", "run_s": "19"}, speed), "the way back alone")
	assert.Empty(t, newdive.Should(back, session.Row{}, speed))
	still := []forecast.Expected{{Quantity: quantity.Speed}}
	assert.Equal(t, "none", newdive.Should(back, session.Row{"run_m": "10"}, still), "what stands still never arrives")
}

// Questions that make sense on a line: no current of what is off, no speed of what is held, no climb of what is driven ahead.
func TestMakesSense(t *testing.T) {
	on := []session.Drive{{Name: "port"}}
	speed := []forecast.Expected{{Quantity: quantity.Speed}}
	for _, c := range []struct {
		column string
		line   session.Line
		row    session.Row
		all    []forecast.Expected
		want   bool
	}{
		{"held", session.Line{}, nil, nil, false}, {"held", session.Line{Drives: on}, nil, nil, true},
		{"pull_n", session.Line{Drives: on}, nil, nil, false}, {"pull_n", session.Line{Drives: on, Held: true}, nil, nil, true}, {"pull_n", session.Line{Held: true}, nil, nil, false},
		{"current_a", session.Line{Electrical: true}, nil, nil, false}, {"current_a", session.Line{Electrical: true, Lights: true}, nil, nil, true},
		{"current_a", session.Line{Electrical: true, Drives: on}, nil, nil, true}, {"current_a", session.Line{Drives: on}, nil, nil, false},
		{"battery_v", session.Line{}, nil, nil, false}, {"battery_v", session.Line{Electrical: true}, nil, nil, true},
		{"run_s", session.Line{Drives: on}, nil, nil, true}, {"run_s", session.Line{Drives: on, Held: true}, nil, nil, false}, {"run_s", session.Line{}, nil, nil, false},
		{"run_s", session.Line{Drives: on}, nil, []forecast.Expected{{Quantity: quantity.Trim}}, false}, {"run_s", session.Line{Drives: on}, nil, speed, true},
		{"run_back_s", session.Line{Drives: on}, nil, speed, false}, {"run_back_s", session.Line{Drives: on}, session.Row{"run_s": "20"}, speed, true},
		{"climb_m", session.Line{}, nil, nil, true}, {"climb_m", session.Line{Held: true}, nil, nil, false}, {"climb_m", session.Line{Drives: on}, nil, speed, false},
		{"climb_m", session.Line{Drives: on}, nil, nil, true}, {"climb_s", session.Line{}, nil, nil, false}, {"climb_s", session.Line{}, session.Row{"climb_ft": "6"}, nil, true},
		{"trim_g", session.Line{}, nil, nil, true}, {"trim_g", session.Line{Drives: on}, nil, nil, false},
		{"loop_ohm", session.Line{}, nil, nil, true}, {"loop_ohm", session.Line{Lights: true}, nil, nil, false}, {"insulation_megohm", session.Line{Drives: on}, nil, nil, false},
		{"depth_m", session.Line{}, nil, nil, true},
	} {
		column, ok := session.Find(c.column)
		assert.True(t, ok)
		assert.Equal(t, c.want, newdive.MakesSense(column, &c.line, c.row, c.all), "%+v", c)
	}
}
