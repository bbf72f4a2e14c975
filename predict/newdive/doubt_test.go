package newdive_test

import (
	"regexp"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/forecast"
	"sagline/predict/newdive"
	"sagline/session"
	"sagline/session/quantity"
)

// ranges are what readings should be, which other machines may round otherwise.
var ranges = regexp.MustCompile(`should be [\d.]+ ± [\d.]+`)

// What lights draw of which neither file nor log says anything is not asked about.
func TestLightsForTheFirstTime(t *testing.T) {
	d := example(t, "sound").before(t, 10)
	row := session.Row{"thrusters": "off", "lights": "on", "battery_v": "12.7", "current_a": "1.2"}
	_, expected := d.Line(row)
	require.NotEmpty(t, expected)
	for _, e := range expected {
		assert.NotEqual(t, quantity.CurrentA, e.Quantity)
	}
	assert.Empty(t, d.Doubts(row))
	assert.NotEmpty(t, d.Doubts(session.Row{"thrusters": "off", "battery_v": "12.7", "current_a": "1.2"}), "without lights it is")
}

// A thruster's name that is a number may have been taken for the minute.
func TestANameThatIsANumber(t *testing.T) {
	v := *example(t, "sound").v
	v.Thrusters = slices.Clone(v.Thrusters)
	for i, name := range []string{"1", "2", "3"} {
		v.Thrusters[i].Name = name
	}
	d := newdive.New(&session.Log{}, forecast.AsBuilt(&v), &v, func(*session.Dive) []session.Row { return nil })
	d.Begin("1")
	list := d.Doubts(session.Row{"minute": "3", "battery_v": "12.5", "current_a": "3.4"})
	require.NotEmpty(t, list)
	assert.Equal(t, session.Row{"thrusters": "3", "held": "", "minute": ""}, list[0].Instead, list[0].String())
}

// No depth and no length paid out is beyond the tether, on a first dive either.
func TestBeyondTheTether(t *testing.T) {
	b := example(t, "sound")
	d := newdive.New(&session.Log{}, forecast.AsBuilt(b.v), b.v, func(*session.Dive) []session.Row { return nil })
	d.Begin("1")
	for _, c := range []struct {
		put  session.Row
		want string // "" where nothing is asked
		then session.Row
	}{
		{session.Row{"depth_m": "29"}, "", nil},
		{session.Row{"depth_m": "126"}, "depth_m 126: on a tether of 30 m: decimal point?", session.Row{"depth_m": "12.6"}},
		{session.Row{"depth_ft": "80"}, "", nil},
		{session.Row{"tether_out_m": "450"}, "tether_out_m 450: on a tether of 30 m", nil},
	} {
		var said string
		var then session.Row
		for _, x := range d.Doubts(merged(c.put, session.Row{"thrusters": "off", "battery_v": "12.7"})) {
			said, then = x.String(), x.Instead
		}
		assert.Equal(t, c.want, said)
		assert.Equal(t, c.then, then)
	}
}

// One question for one mistake, with the cells that would be as they should.
func TestDoubts(t *testing.T) {
	b := example(t, "sound")
	for _, c := range []struct {
		line int // of the dive, from 1
		put  session.Row
		want string // "" where nothing is asked
		then session.Row
	}{
		{line: 3},
		{3, session.Row{"pull_n": "1.22"}, "pull_n 1.22, should be RANGE: decimal point?", session.Row{"pull_n": "12.2"}},
		{6, session.Row{"battery_v": "8.72", "vehicle_v": "12.31"}, "battery_v 8.72, should be RANGE: changed places with vehicle_v?", session.Row{"battery_v": "12.31", "vehicle_v": "8.72"}},
		{6, session.Row{"vehicle_v": "4.9", "depth_m": "11", "tether_out_m": "0.448", "speed_m_s": ""}, "vehicle_v 4.9, should be RANGE: left out?",
			session.Row{"vehicle_v": "", "depth_m": "4.9", "tether_out_m": "11", "speed_m_s": "0.448"}},
		{6, session.Row{"battery_v": "8.72", "vehicle_v": ""}, "battery_v 8.72, should be RANGE: wrong column? it fits vehicle_v", session.Row{"battery_v": "", "vehicle_v": "8.72"}},
		{6, session.Row{"thrusters": "port"}, "thrusters port: in the dive before, a line with these readings had:", session.Row{"thrusters": "port + starboard", "held": ""}},
		{3, session.Row{"held": ""}, "thrusters port + starboard: in the dive before, a line with these readings had:", session.Row{"thrusters": "port + starboard", "held": "yes"}},
		{6, session.Row{"thrusters": ""}, "thrusters: in the dive before, a line with these readings had:", session.Row{"thrusters": "port + starboard", "held": ""}},
		{1, session.Row{"thrusters": "port + starboard"}, "thrusters port + starboard: in the dive before, a line with these readings had:", session.Row{"thrusters": "off", "held": ""}},
		{11, session.Row{"thrusters": "port + starboard astern"}, "thrusters port + starboard astern: in the dive before, a line with these readings had:", session.Row{"thrusters": "port astern + starboard astern", "held": ""}},
		{11, session.Row{"thrusters": "port + starboard astern", "speed_m_s": "", "vehicle_v": "8.6"}, "thrusters port + starboard astern: ran so in no recent dive:", session.Row{"thrusters": "port astern + starboard astern"}},
		{4, session.Row{"thrusters": "starboard", "battery_v": "12.29", "current_a": "7.9", "vehicle_v": "8.76", "speed_m_s": "0.454"},
			"thrusters starboard: current_a 7.9, vehicle_v 8.76, speed_m_s 0.454 would fit others:", session.Row{"thrusters": "port + starboard", "held": ""}},
		{4, session.Row{"current_a": "12.9"}, "current_a 12.9, should be RANGE: is port jammed? switch it off at once where it does not push", nil},
		{6, session.Row{"current_a": "13.6"}, "current_a 13.6, should be RANGE: is a thruster jammed? switch all off at once where one does not push", nil},
		{6, session.Row{"current_a": "9.6"}, "current_a 9.6, should be RANGE", nil},
		{7, session.Row{"depth_m": "49"}, "depth_m 49: no more than 5.8 in recent dives: decimal point?", session.Row{"depth_m": "4.9"}},
		{7, session.Row{"depth_m": "7.9", "current_a": ""}, "depth_m 7.9: no more than 5.8 in recent dives, and it fits current_a, which has none: that?", session.Row{"depth_m": "", "current_a": "7.9"}},
		{7, session.Row{"depth_m": "7.9", "tether_out_m": "14"}, "", nil},
		{7, session.Row{"depth_m": "5.7", "current_a": ""}, "", nil},
		{7, session.Row{"depth_m": "5.9", "tether_out_m": "5"}, "depth_m 5.9: changed places with tether_out_m?", session.Row{"depth_m": "5", "tether_out_m": "5.9"}},
		{6, session.Row{"ballast_g": "3000"}, "ballast_g 3000: was that added? it would sink, by about 2500 g", nil},
		{6, session.Row{"ballast_g": "-300"}, "", nil},
		{7, session.Row{"speed_m_s": "1.6"}, "speed_m_s 1.6, should be RANGE: in km/h?", session.Row{"speed_m_s": "0.4444"}},
		{7, session.Row{"speed_m_s": "", "run_m": "10", "run_s": ".37"}, "run_s .37, should be RANGE: in min?", session.Row{"run_s": "22.2"}},
	} {
		d := b.before(t, 10)
		rows := b.rows[d.Label]
		for _, row := range rows[:c.line-1] {
			d.Put(len(d.Rows), row)
		}
		list := d.Doubts(merged(rows[c.line-1], c.put))
		if c.want == "" {
			assert.Empty(t, list)
			continue
		}
		require.Len(t, list, 1, c.want)
		assert.Equal(t, c.want, ranges.ReplaceAllString(list[0].String(), "should be RANGE"))
		assert.Equal(t, c.then, list[0].Instead, c.want)
		if c.then != nil && c.put["thrusters"] == "" {
			assert.Empty(t, d.Doubts(merged(merged(rows[c.line-1], c.put), c.then)), c.want)
		}
	}
}

// A vehicle that has changed is asked about twice, slips of its readings still.
func TestReadingsThatStand(t *testing.T) {
	b := example(t, "sound")
	d := b.before(t, 10)
	for i, row := range b.rows[d.Label][:8] {
		if row["speed_m_s"] == "" {
			d.Put(i, row)
			continue
		}
		list := d.Doubts(merged(row, session.Row{"speed_m_s": "0.33"}))
		assert.Len(t, list, map[int]int{5: 1, 6: 1}[i], "line %d", i+1)
		assert.Len(t, d.Doubts(merged(row, session.Row{"speed_m_s": "4.5"})), 1)
		for k := range list {
			d.Stands(&list[k])
		}
		d.Put(i, merged(row, session.Row{"speed_m_s": "0.33"}))
	}
}

// Where numbers alone go follows what lines of the same thrusters had; a column
// that the newest dive lacks is not forgotten.
func TestOrder(t *testing.T) {
	b := example(t, "sound")
	newest := b.rows[b.log.Dives[9].Label]
	for _, row := range newest {
		delete(row, "vehicle_v")
		delete(row, "depth_m")
	}
	d := b.before(t, 10)
	names := func(row session.Row) (out []string) {
		for _, c := range d.Order(row) {
			out = append(out, c.Name)
		}
		return out
	}
	assert.Equal(t, []string{"minute", "thrusters", "battery_v", "current_a", "vehicle_v", "depth_m", "tether_out_m", "speed_m_s"}, names(session.Row{"thrusters": "starboard+port"}))
	assert.Equal(t, []string{"minute", "thrusters", "battery_v", "depth_m", "tether_out_m", "climb_m_s", "trim_g"}, names(session.Row{"thrusters": "off"}))
	assert.Contains(t, names(session.Row{"thrusters": "port + vertical"}), "speed_m_s", "as on any line under way")
	assert.NotContains(t, names(session.Row{"thrusters": "port + vertical"}), "pull_n")
	first := d.First()
	require.Len(t, first, 3)
	assert.Equal(t, "serviced", first[2].Name, "asked whether or not the log has it")
}
