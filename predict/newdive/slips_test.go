package newdive_test

import (
	"bytes"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/predict/forecast"
	"sagline/predict/newdive"
	"sagline/predict/outlook"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
)

// A book is a logbook with its rows as they stand in its file.
type book struct {
	v    *vehicle.Vehicle
	log  *session.Log
	rows map[string][]session.Row   // by dive
	read map[int]*forecast.Forecast // of the dives before one, once they have been read
}

func open(t testing.TB, v *vehicle.Vehicle, dir string) *book {
	log, err := session.Open(dir)
	require.NoError(t, err)
	b := &book{v: v, log: log, rows: map[string][]session.Row{}, read: map[int]*forecast.Forecast{}}
	f, err := session.View(dir)
	require.NoError(t, err)
	for i := range log.Dives {
		b.rows[log.Dives[i].Label], err = f.Rows(&log.Dives[i])
		require.NoError(t, err)
	}
	return b
}

// examples are the books of examples that tests have opened, which they leave as they are.
var examples = map[string]*book{}

func example(t testing.TB, name string) *book {
	if examples[name] == nil {
		dir := filepath.Join("../../examples", name)
		v, err := vehicle.Open(dir)
		require.NoError(t, err)
		examples[name] = open(t, v, dir)
	}
	return examples[name]
}

func simulated(t testing.TB, seed uint64) *book {
	v, dir := simulate.Fleet(seed), t.TempDir()
	log := simulate.Log(v, simulate.Season{Dives: 8, Seed: seed, Sites: seed%2 == 0, Rough: seed%3 == 0})
	var text bytes.Buffer
	require.NoError(t, session.Write(&text, append(slices.Clone(simulate.Columns), "ballast_g"), log))
	require.NoError(t, os.WriteFile(filepath.Join(dir, session.FileName), text.Bytes(), 0o644))
	return open(t, v, dir)
}

// before is the dive of an index as it begins, with those before it in the log.
func (b *book) before(t testing.TB, i int) *newdive.Dive {
	log := *b.log
	log.Dives = log.Dives[:i]
	if b.read[i] == nil {
		b.read[i] = forecast.AsBuilt(b.v)
		if i > 0 {
			r, err := fit.Fit(b.v, &log)
			require.NoError(t, err)
			rep := drift.Analyse(r)
			b.read[i] = forecast.New(r, outlook.Present(r, rep), rep.Doubts(), rep.Posterior)
		}
	}
	d := newdive.New(&log, b.read[i].Clone(), b.v, func(d *session.Dive) []session.Row { return b.rows[d.Label] })
	d.Begin(b.log.Dives[i].Label)
	return d
}

// A slip makes another row of one; ok is false where it means nothing there.
type slip struct {
	name string
	of   func(session.Row) (session.Row, bool)
}

func changed(name string, to func(string) string) func(session.Row) (session.Row, bool) {
	return func(r session.Row) (session.Row, bool) {
		if r[name] == "" || to(r[name]) == r[name] {
			return nil, false
		}
		r = maps.Clone(r)
		r[name] = to(r[name])
		return r, true
	}
}

func times(name string, k float64) func(session.Row) (session.Row, bool) {
	return changed(name, func(s string) string {
		x, _ := strconv.ParseFloat(s, 64)
		return strconv.FormatFloat(x*k, 'g', 6, 64)
	})
}

func swapped(a, b string) func(session.Row) (session.Row, bool) {
	return func(r session.Row) (session.Row, bool) {
		if r[a] == "" || r[b] == "" {
			return nil, false
		}
		r = maps.Clone(r)
		r[a], r[b] = r[b], r[a]
		return r, true
	}
}

// digits changes the places of the first two digits.
func digits(s string) string {
	at := strings.IndexAny(s, "123456789")
	if at < 0 || at+1 >= len(s) {
		return s
	}
	b := []byte(s)
	next := at + 1
	if b[next] == '.' {
		next++
	}
	if next < len(b) {
		b[at], b[next] = b[next], b[at]
	}
	return string(b)
}

func thrusters(from, to string) func(session.Row) (session.Row, bool) {
	return func(r session.Row) (session.Row, bool) {
		if r["thrusters"] != from {
			return nil, false
		}
		r = maps.Clone(r)
		r["thrusters"] = to
		return r, true
	}
}

var slips = []slip{
	{"battery point right", times("battery_v", 10)}, {"battery point left", times("battery_v", 0.1)},
	{"current point right", times("current_a", 10)}, {"current point left", times("current_a", 0.1)},
	{"vehicle point right", times("vehicle_v", 10)}, {"vehicle point left", times("vehicle_v", 0.1)},
	{"speed point right", times("speed_m_s", 10)}, {"speed point left", times("speed_m_s", 0.1)},
	{"pull point right", times("pull_n", 10)}, {"pull point left", times("pull_n", 0.1)},
	{"trim point right", times("trim_g", 10)}, {"depth point right", times("depth_m", 10)}, {"tether point right", times("tether_out_m", 10)},
	{"battery and vehicle", swapped("battery_v", "vehicle_v")}, {"battery and current", swapped("battery_v", "current_a")},
	{"current and vehicle", swapped("current_a", "vehicle_v")}, {"current and speed", swapped("current_a", "speed_m_s")},
	{"depth and battery", swapped("depth_m", "battery_v")}, {"depth and current", swapped("depth_m", "current_a")},
	{"battery digits", changed("battery_v", digits)}, {"current digits", changed("current_a", digits)}, {"vehicle digits", changed("vehicle_v", digits)},
	{"speed digits", changed("speed_m_s", digits)},
	{"speed km/h", times("speed_m_s", 3.6)}, {"speed kn", times("speed_m_s", 1.94)}, {"speed ft/s", times("speed_m_s", 3.28)},
	{"pull kgf", times("pull_n", 0.102)}, {"current mA", times("current_a", 1000)}, {"trim oz", times("trim_g", 0.0353)},
	{"run in minutes", times("run_s", 1.0/60)}, {"run digits", changed("run_s", digits)}, {"run point right", times("run_s", 10)},
	{"both for one", thrusters("port", "port + starboard")}, {"one for both", thrusters("port + starboard", "port")},
	{"off for both", thrusters("port + starboard", "off")}, {"both for off", thrusters("off", "port + starboard")},
}

// timed is a row with its speed as a run of 10 m.
func timed(r session.Row) session.Row {
	x, err := strconv.ParseFloat(r["speed_m_s"], 64)
	if err != nil || x <= 0 {
		return r
	}
	r = maps.Clone(r)
	delete(r, "speed_m_s")
	r["run_m"], r["run_s"] = "10", strconv.FormatFloat(10/x, 'f', 1, 64)
	return r
}

// amounts says whether a slip changed a number by more than a tenth of it, or
// other than a number: less is of the size of what instruments err by.
func amounts(was, is session.Row) bool {
	for name, text := range was {
		x, err := strconv.ParseFloat(text, 64)
		y, _ := strconv.ParseFloat(is[name], 64)
		if is[name] != text && (err != nil || math.Abs(y-x) > 0.1*math.Abs(x)) {
			return true
		}
	}
	return false
}

// farther is by how much less likely a row's readings are than another's, as
// twice the logarithm: a slip that is not asked about is one that they cannot tell
// from what was meant.
func farther(d *newdive.Dive, is, was session.Row) float64 {
	squares := func(row session.Row) (sum float64) {
		lines, _ := session.ParseRows(row)
		_, expected := d.Line(row)
		for i := range expected {
			if x := lines[0].Readings[expected[i].Quantity]; x.Measured() {
				sum += math.Pow(expected[i].Off(x.X), 2)
			}
		}
		return sum
	}
	return squares(is) - squares(was)
}

// counts are of one kind of slip.
type counts struct{ made, asked int }

// try makes every slip that means something in a row, and counts those that are
// asked about.
func try(t *testing.T, d *newdive.Dive, row session.Row, all map[string]*counts) {
	for _, s := range slips {
		bad, ok := s.of(row)
		if !ok || !amounts(row, bad) {
			continue
		}
		if all[s.name] == nil {
			all[s.name] = &counts{}
		}
		all[s.name].made++
		if d.Problem(bad) != nil || len(d.Doubts(bad)) > 0 {
			all[s.name].asked++
		} else {
			by, most := farther(d, bad, row), 9.0  // three standard deviations
			if strings.Contains(s.name, " and ") { // of many pairs of cells, which one by itself must lie 3.5 standard deviations off
				most = 3.5 * 3.5
			}
			t.Logf("not asked: %s, χ² %+.1f: %v, meant %v", s.name, by, bad, row)
			assert.Less(t, by, most, s.name)
		}
	}
}

// Of more than 30 kinds of slip, made in lines of the examples and of simulated
// logs, nearly all are asked about, and of sound readings hardly any: at most one in
// 200. The readings cannot tell the rest from what was meant. It takes one dive of two
// logs; SLIPS=30 takes as many dives of each of five.
func TestSlips(t *testing.T) {
	dives := number(t, "SLIPS", 1)
	books := []*book{example(t, "joint"), simulated(t, 1)}
	if dives > 1 {
		books = append(books, example(t, "sound"), example(t, "volts-only"), simulated(t, 2))
	}
	all := map[string]*counts{}
	var sound counts
	for k, b := range books {
		first := 1
		if dives == 1 {
			first += 6 * k // within the baseline and after it
		}
		for i := first; i < len(b.log.Dives); i += max(1, (len(b.log.Dives)-1)/dives) {
			d := b.before(t, i)
			for _, row := range b.rows[b.log.Dives[i].Label] {
				if k%2 == 1 { // some log runs, some speeds
					row = timed(row)
				}
				sound.made += len(newdive.Pruned(row)) - 1
				sound.asked += len(d.Doubts(row))
				try(t, d, row, all)
				d.Put(len(d.Rows), row)
			}
		}
	}
	require.GreaterOrEqual(t, len(all), 30)
	total := counts{}
	for _, s := range slips {
		c := all[s.name]
		t.Logf("%s: asked about %d of %d", s.name, c.asked, c.made)
		total.made, total.asked = total.made+c.made, total.asked+c.asked
		assert.LessOrEqual(t, c.made-c.asked, max(1, c.made/5), s.name)
	}
	t.Logf("slips: asked about %d of %d; sound readings: %d of %d", total.asked, total.made, sound.asked, sound.made)
	assert.Greater(t, float64(total.asked), 0.99*float64(total.made))
	assert.Less(t, float64(sound.asked), 0.005*float64(sound.made))
}

// number is an environment variable's, for tries on demand.
func number(t *testing.T, name string, usual int) int {
	s := os.Getenv(name)
	if s == "" {
		if testing.Short() {
			t.Skip("some seconds")
		}
		return usual
	}
	n, err := strconv.Atoi(s)
	require.NoError(t, err, name)
	return n
}

func merged(a, b session.Row) session.Row {
	out := maps.Clone(a)
	maps.Copy(out, b)
	return out
}
