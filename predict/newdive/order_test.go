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

// dived is a dive after one of some rows.
func dived(columns []string, rows ...session.Row) *newdive.Dive {
	log := &session.Log{Columns: columns, Dives: []session.Dive{{Label: "1", Lines: make([]session.Line, len(rows))}}}
	d := newdive.New(log, nil, nil, func(*session.Dive) []session.Row { return rows })
	d.Begin("2")
	return d
}

// The length of a course that is always the same is not typed, and no number is
// taken for it.
func TestCourse(t *testing.T) {
	columns := []string{"dive", "date", "thrusters", "battery_v", "depth_m", "run_m", "run_s", "climb_ft", "climb_s"}
	run := func(m, s string) session.Row {
		return session.Row{"thrusters": "p + s", "battery_v": "12.3", "depth_m": "4", "run_m": m, "run_s": s}
	}
	climb := session.Row{"thrusters": "off", "battery_v": "12.6", "climb_ft": "6", "climb_s": "14"}
	d := dived(columns, run("10", "22"), run("10", "23.1"), climb)
	assert.Equal(t, []string{"thrusters", "battery_v", "depth_m", "run_s"}, names(d, run("", "")))
	assert.Equal(t, []string{"thrusters", "battery_v", "climb_s"}, names(d, climb))
	assert.Equal(t, "run_m=10", d.Course("run_s"))
	for _, c := range []struct{ typed, want session.Row }{
		{session.Row{"run_s": "22"}, session.Row{"run_s": "22", "run_m": "10"}},
		{session.Row{"run_s": "22", "run_ft": "20"}, session.Row{"run_s": "22", "run_ft": "20"}},
		{session.Row{"climb_s": "14"}, session.Row{"climb_s": "14", "climb_ft": "6"}},
		{session.Row{"battery_v": "12"}, session.Row{"battery_v": "12"}},
	} {
		d.Measure(c.typed)
		assert.Equal(t, c.want, c.typed)
	}
	list := d.Doubts(session.Row{"thrusters": "p + s", "depth_m": "10", "run_m": "10", "run_s": "22"})
	if assert.Len(t, list, 1) {
		assert.Equal(t, "depth_m 10: no more than 4 in recent dives: the run's length?", list[0].String())
		assert.Equal(t, session.Row{"depth_m": ""}, list[0].Instead)
	}

	seconds, _ := session.Find("run_s")
	all := []forecast.Expected{{Quantity: quantity.Speed, Value: 0.5, SD: 0.01, Low: 0.48, High: 0.52}}
	assert.Equal(t, "20.0 ± 0.8", d.Should(seconds, session.Row{}, all), "over the usual 10 m")
	assert.Equal(t, "40.0 ± 1.6", d.Should(seconds, session.Row{"run_m": "20"}, all))

	d = dived(columns, run("10", "22"), run("20", "41"))
	assert.Empty(t, d.Should(seconds, session.Row{}, all), "of a length that is not known")
	assert.Equal(t, []string{"thrusters", "battery_v", "depth_m", "run_m", "run_s"}, names(d, run("", "")))
	assert.Empty(t, d.Course("run_s"))
	row := session.Row{"run_m": "22"}
	d.Measure(row)
	length, of := newdive.Untimed(row)
	assert.Equal(t, "run_m run_s", length.Name+" "+of.Name)
	length, _ = newdive.Untimed(session.Row{"run_m": "10", "run_s": "22"})
	assert.Nil(t, length)
}

// Where no line of its kind was read, a line has the columns that make sense on it.
func TestOrderOfWhatWasNotReadYet(t *testing.T) {
	columns := []string{"dive", "date", "minute", "thrusters", "held", "battery_v", "current_a", "vehicle_v", "depth_m", "run_m", "run_s", "climb_m_s", "trim_g", "pull_n"}
	rest := session.Row{"minute": "2", "thrusters": "off", "battery_v": "12.6"}
	full := session.Row{"minute": "9", "thrusters": "p + s", "battery_v": "12.3", "current_a": "8", "depth_m": "4", "run_m": "10", "run_s": "22"}
	off, both, held := session.Row{"thrusters": "off"}, session.Row{"thrusters": "p + s"}, session.Row{"thrusters": "p + s", "held": "yes"}
	for _, c := range []struct {
		before []session.Row
		of     session.Row
		want   string
	}{
		{nil, off, "minute thrusters battery_v depth_m climb_m_s trim_g"},
		{nil, both, "minute thrusters battery_v current_a vehicle_v depth_m run_m run_s climb_m_s"},
		{nil, held, "minute thrusters battery_v current_a vehicle_v depth_m pull_n"},
		{[]session.Row{rest}, off, "minute thrusters battery_v"},
		{[]session.Row{rest, full}, held, "minute thrusters battery_v current_a depth_m"},
		{[]session.Row{full}, off, "minute thrusters battery_v depth_m"},
	} {
		var d *newdive.Dive
		if c.before != nil {
			d = dived(columns, c.before...)
		} else {
			d = newdive.New(&session.Log{Columns: columns}, nil, nil, func(*session.Dive) []session.Row { return nil })
			d.Begin("1")
			d.Put(0, merged(rest, session.Row{"dive": "1"})) // a first dive's own lines are not all that it will have
		}
		assert.Equal(t, c.want, strings.Join(names(d, c.of), " "), "%v after %v", c.of, c.before)
	}
}

// names are the columns of a line's order.
func names(d *newdive.Dive, row session.Row) (out []string) {
	for _, c := range d.Order(row) {
		out = append(out, c.Name)
	}
	return out
}
