package circumstances

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

func value(x float64) session.Value {
	c, _ := session.Find("depth_m")
	return session.Value{X: x, Entered: x, Column: c}
}

// lineOf is a line at a minute, a depth and with a tether out, each NaN where it is not given, and what runs.
func lineOf(minute, depth, tether float64, drives ...string) session.Line {
	l := session.Line{}
	for i, to := range []*session.Value{&l.Minute, &l.Depth, &l.TetherOut} {
		if x := []float64{minute, depth, tether}[i]; !math.IsNaN(x) {
			*to = value(x)
		}
	}
	for _, name := range drives {
		l.Drives = append(l.Drives, session.Drive{Name: name})
	}
	return l
}

var nan = math.NaN()

// Minutes that are not given lie evenly between their neighbours', three apart before the first and after the last.
func TestMinutes(t *testing.T) {
	for _, c := range []struct{ given, want []float64 }{
		{[]float64{0, 5, 9}, []float64{0, 5, 9}},
		{[]float64{2, nan, nan, 11}, []float64{2, 5, 8, 11}},
		{[]float64{nan, nan, 10}, []float64{4, 7, 10}},
		{[]float64{nan, nan, 2}, []float64{0, 0, 2}},
		{[]float64{4, nan, nan}, []float64{4, 7, 10}},
		{[]float64{nan, nan}, []float64{3, 6}},
		{[]float64{nan, 8, nan, 20, nan}, []float64{5, 8, 14, 20, 23}},
	} {
		d := &session.Dive{}
		for _, m := range c.given {
			d.Lines = append(d.Lines, lineOf(m, nan, nan))
		}
		minutes, guessed := minutesOf(d)
		assert.Equal(t, c.want, minutes)
		for i, m := range c.given {
			assert.Equal(t, math.IsNaN(m), guessed[i])
		}
	}
}

// unknownOf is what a line does not give of a circumstance.
func unknownOf(c *Circumstance, param int) (u Unknown, is bool) {
	for _, x := range c.Unknown {
		if x.Param == param {
			u, is = x, true
		}
	}
	return u, is
}

// Windings warm with the minutes that thrusters have run before, at most 24 of one line, by 63 % in twelve; until one
// runs, nothing is unknown of that.
func TestWindingsWarm(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	name := m.Vehicle.Thrusters[0].Name
	d := &session.Dive{Lines: []session.Line{lineOf(0, 1, 9), lineOf(4, 1, 9, name), lineOf(16, 1, 9), lineOf(20, 1, 9, name), lineOf(80, 1, 9)}}
	var u Typical
	cs := u.Of(m, d)
	for i, want := range []float64{0, 0, 1 - math.Exp(-1), 1 - math.Exp(-1), 1 - math.Exp(-3)} {
		assert.InDelta(t, want, cs[i].Cond.Warm, 1e-12, "line %d", i)
		warm, is := unknownOf(&cs[i], predict.WarmK)
		assert.Equal(t, i > 0, is, "line %d", i)
		if is {
			assert.Equal(t, Unknown{Param: predict.WarmK, Line: 3}, warm, "line %d", i)
		}
	}
}

// A battery rests until the first line on which something runs, while nothing does, and after 24 minutes of one line.
func TestRestMinutes(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	name := m.Vehicle.Thrusters[0].Name
	d := &session.Dive{Lines: []session.Line{lineOf(2, 1, 9), lineOf(4, 1, 9, name), lineOf(16, 1, 9), lineOf(20, 1, 9, name), lineOf(80, 1, 9)}}
	var u Typical
	for i, want := range []float64{2, 4, 4, 8, 44} {
		assert.InDelta(t, want, u.Of(m, d)[i].Cond.RestMin, 1e-12, "line %d", i)
	}
}

// A dive is under way from its first run on, whatever is off again, in proportion to the minutes until its last line.
func TestUnderWay(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	name := m.Vehicle.Thrusters[0].Name
	var u Typical
	shares := func(lines ...session.Line) (all []float64) {
		for _, c := range u.Of(m, &session.Dive{Lines: lines}) {
			all = append(all, c.Cond.UnderWay)
		}
		return all
	}
	assert.InDeltaSlice(t, []float64{0, 0, 0.25, 0.5, 1}, shares(lineOf(0, 1, 9), lineOf(4, 1, 9, name), lineOf(8, 1, 9), lineOf(12, 1, 9, name), lineOf(20, 1, 9)), 1e-12)
	assert.Equal(t, []float64{0, 0}, shares(lineOf(0, 1, 9), lineOf(4, 1, 9)), "nothing ran")
	assert.Equal(t, []float64{0, 1}, shares(lineOf(4, 1, 9, name), lineOf(4, 1, 9)), "within one minute")
}

// A minute that is guessed is so to two minutes.
func TestMinutesGuessed(t *testing.T) {
	cs := new(Typical).Of(predict.NewModel(vehicle.Example()), &session.Dive{Lines: []session.Line{lineOf(0, 1, 9), lineOf(nan, 1, 9)}})
	_, is := unknownOf(&cs[0], predict.MinuteMin)
	assert.False(t, is)
	guessed, is := unknownOf(&cs[1], predict.MinuteMin)
	assert.True(t, is)
	assert.Equal(t, Unknown{Param: predict.MinuteMin, Line: 2}, guessed)
}

// A depth that is not given is that of the dive's other lines below the surface; of a dive without any what dives
// had before, to begin with 2.5 m; of a hover weight or a pull on a scale that of the surface.
func TestDepthsNotGiven(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	name := m.Vehicle.Thrusters[0].Name
	var u Typical
	held := lineOf(3, nan, 9, name)
	held.Held = true
	of := func(d *session.Dive) []Circumstance { return u.Of(m, d) }

	cs := of(&session.Dive{Lines: []session.Line{lineOf(0, 3, 9, name), lineOf(1, nan, 9, name), lineOf(2, 5, 9, name), held, lineOf(4, 0.2, 9)}})
	assert.Equal(t, 3.0, cs[0].Cond.DepthM)
	assert.Equal(t, 4.0, cs[1].Cond.DepthM, "0.2 m is at the surface")
	assert.Zero(t, cs[3].Cond.DepthM)
	_, is := unknownOf(&cs[0], predict.DepthM)
	assert.False(t, is)
	within, _ := unknownOf(&cs[1], predict.DepthM)
	assert.InDelta(t, 0.15*4+0.3, within.Line, 1e-9)
	assert.Zero(t, within.Dive)
	moored, _ := unknownOf(&cs[3], predict.DepthM)
	assert.InDelta(t, 0.3, moored.Line, 1e-9)

	none := &session.Dive{Lines: []session.Line{lineOf(1, nan, 9, name), lineOf(2, nan, 9, name)}}
	cs = of(none)
	assert.Equal(t, 2.5, cs[0].Cond.DepthM)
	all, _ := unknownOf(&cs[0], predict.DepthM)
	assert.Equal(t, []float64{1, 0, 0.2}, []float64{cs[0].Cond.DepthAssumed, all.Dive, all.Line}, "at like depths, as long as no line gives one")
	u.Learn(m, &session.Dive{Lines: []session.Line{lineOf(0, 4, 9, name), lineOf(1, 6, 9, name)}})
	cs = of(none)
	assert.InDelta(t, 5, cs[0].Cond.DepthM, 1e-9)
	all, _ = unknownOf(&cs[0], predict.DepthM)
	assert.Zero(t, cs[0].Cond.DepthAssumed)
	assert.Positive(t, all.Dive)
}

// Hover weights are read near the surface, whatever the dive's depth; what runs is at its dive's depth. No vehicle is deeper than
// the tether that is out.
func TestDepthsByKindOfLine(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	name := m.Vehicle.Thrusters[0].Name
	var u Typical
	hover := func(depth float64) session.Line {
		l := lineOf(1, depth, 9)
		l.Readings[quantity.Trim] = value(50)
		return l
	}
	for i, depth := range []float64{12, 20, 14, 18} {
		u.Learn(m, &session.Dive{Lines: []session.Line{hover(0.3 + 0.2*float64(i)), lineOf(2, depth, 30, name), lineOf(3, depth+0.5, 30, name), lineOf(4, depth-0.5, 30, name)}})
	}
	for _, other := range []float64{nan, 15} {
		c := u.Of(m, &session.Dive{Lines: []session.Line{hover(nan), lineOf(2, other, 30, name)}})[0]
		depth, _ := unknownOf(&c, predict.DepthM)
		assert.InDelta(t, 0.6, c.Cond.DepthM, 1e-9)
		assert.Less(t, math.Hypot(depth.Line, depth.Dive), 0.6)
	}
	cs := u.Of(m, &session.Dive{Lines: []session.Line{lineOf(2, 9, 30, name), lineOf(3, nan, 30, name), lineOf(4, nan, 4, name)}})
	assert.InDelta(t, 9, cs[1].Cond.DepthM, 0.5, "as its dive, not as the others'")
	assert.Equal(t, 4.0, cs[2].Cond.DepthM)
	none := u.Of(m, &session.Dive{Lines: []session.Line{lineOf(3, nan, 30, name)}})[0]
	depth, _ := unknownOf(&none, predict.DepthM)
	assert.InDelta(t, 16, none.Cond.DepthM, 1e-9)
	assert.Greater(t, depth.Dive, 2*depth.Line, "one dive's lines lie together")
}

// Tether that is not given is what the line before had out, else what was out on average, else half of it, evenly
// unknown; never less than the depth.
func TestTetherNotGiven(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	length := m.Vehicle.Tether.LengthM
	var u Typical
	cs := u.Of(m, &session.Dive{Lines: []session.Line{lineOf(0, 2, nan), lineOf(1, 2, 9), lineOf(2, 2, nan), lineOf(3, 11, nan), lineOf(4, 3*length, nan)}})
	for i, want := range []float64{length / 2, 9, 9, 11, length} {
		assert.InDelta(t, want, cs[i].Cond.TetherOutM, 1e-9, "line %d", i)
		assert.Equal(t, i == 0, cs[i].Cond.OutAssumed == 1, "line %d", i)
	}
	first, _ := unknownOf(&cs[0], predict.TetherOutM)
	assert.InDelta(t, length/math.Sqrt(12), first.Line, 0.01*length, "even from nothing to all of it")
	assert.InDelta(t, first.Line/2, first.Dive, 1e-9)
	_, is := unknownOf(&cs[1], predict.TetherOutM)
	assert.False(t, is)
	after, _ := unknownOf(&cs[2], predict.TetherOutM)
	assert.Zero(t, after.Dive, "the line before says it")
	u.Learn(m, &session.Dive{Lines: []session.Line{lineOf(0, 2, 12), lineOf(0, 2, 18)}})
	assert.InDelta(t, 15, u.Of(m, &session.Dive{Lines: []session.Line{lineOf(0, 2, nan)}})[0].Cond.TetherOutM, 1e-9)
	assert.Zero(t, u.Of(m, &session.Dive{Lines: []session.Line{lineOf(0, 2, nan)}})[0].Cond.OutAssumed)
}

// Water that is not given is that of the dive before, within 3 K and what the year has done since; of a log that has
// none it is 15 °C within 4 K and the year's course, which is that of the dive's day.
func TestWaterNotGiven(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	var u Typical
	spring := &session.Dive{Date: time.Date(2026, 4, 2, 0, 0, 0, 0, time.UTC), Lines: []session.Line{lineOf(0, 2, 9)}} // day 92
	c := u.Of(m, spring)[0]
	w, _ := unknownOf(&c, predict.WaterK)
	assert.Equal(t, []float64{15, 4}, []float64{c.Cond.WaterC, w.Dive})
	assert.InDelta(t, 1, c.Cond.YearSin, 0.01)
	assert.InDelta(t, 0, c.Cond.YearCos, 0.02)
	read := *spring
	read.Lines = []session.Line{lineOf(0, 2, 9)}
	read.Lines[0].WaterC = value(8)
	c = u.Of(m, &read)[0]
	_, is := unknownOf(&c, predict.WaterK)
	assert.False(t, is)
	assert.Equal(t, 8.0, c.Cond.WaterC)
	u.Learn(m, &read)
	c = u.Of(m, spring)[0]
	w, _ = unknownOf(&c, predict.WaterK)
	assert.Equal(t, []float64{8, 3, 0, 0}, []float64{c.Cond.WaterC, w.Dive, c.Cond.YearSin, c.Cond.YearCos})
	summer, undated := *spring, *spring
	summer.Date, undated.Date = summer.Date.AddDate(0, 3, 0), time.Time{} // day 183
	c = u.Of(m, &summer)[0]
	assert.InDelta(t, -1, c.Cond.YearSin, 0.02)
	assert.InDelta(t, -1, c.Cond.YearCos, 0.02)
	c = u.Of(m, &undated)[0]
	assert.Equal(t, []float64{0, 0}, []float64{c.Cond.YearSin, c.Cond.YearCos})
	c = new(Typical).Of(m, &undated)[0]
	w, _ = unknownOf(&c, predict.WaterK)
	assert.Equal(t, []float64{15, 0, 0}, []float64{c.Cond.WaterC, c.Cond.YearSin, c.Cond.YearCos})
	assert.InDelta(t, math.Sqrt(4*4+5*5), w.Dive, 1e-12, "of any time of the year")
}

// What runs as no line with a depth did is at the depth that dives have on average, half a dive of 2.5 m counted in, within six tenths of that
// as far as dives do not tell; its lines lie as far apart as lines of a dive do.
func TestDepthsOfAnotherKind(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	var surge, heave string
	for i := range m.Vehicle.Thrusters {
		if m.Vehicle.Thrusters[i].Surge() {
			surge = m.Vehicle.Thrusters[i].Name
		} else {
			heave = m.Vehicle.Thrusters[i].Name
		}
	}
	var u Typical
	u.Learn(m, &session.Dive{Lines: []session.Line{lineOf(0, 4, 9, surge), lineOf(1, 6, 9, surge)}})
	of := func(drives ...string) (depth float64, within Unknown) {
		c := u.Of(m, &session.Dive{Lines: []session.Line{lineOf(0, nan, 9, drives...)}})[0]
		within, _ = unknownOf(&c, predict.DepthM)
		return c.Cond.DepthM, within
	}
	depth, within := of(surge)
	assert.InDelta(t, 5, depth, 1e-9)
	for _, drives := range [][]string{{heave}, {surge, heave}, nil} {
		depth, within = of(drives...)
		assert.InDelta(t, (0.5*2.5+5)/1.5, depth, 1e-9, "%v", drives)
		assert.InDelta(t, u.depth.SD(0.6*depth, 2), within.Dive, 1e-9, "%v", drives)
		assert.InDelta(t, u.fromMean.SD(0.15*depth+0.3, 2), within.Line, 1e-9, "%v", drives)
	}
}

// A line of a kind that is made deeper than the others of its dive is taken to be so where it gives no depth, by as much as it was below the
// others.
func TestDepthsBelowTheOthers(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	name := m.Vehicle.Thrusters[0].Name
	climb := func(depth float64) session.Line {
		l := lineOf(3, depth, 40)
		l.Readings[quantity.Climb] = value(0.1)
		return l
	}
	var u Typical
	for _, depth := range []float64{5, 15, 9, 12} {
		u.Learn(m, &session.Dive{Lines: []session.Line{lineOf(1, depth, 40, name), climb(depth + 4), lineOf(2, depth, 40, name)}})
	}
	cs := u.Of(m, &session.Dive{Lines: []session.Line{lineOf(1, 20, 40, name), climb(nan)}})
	assert.InDelta(t, 20+4*4/5.0, cs[1].Cond.DepthM, 1e-9, "one dive of no difference counted in")
}

// A run is timed one way where no way back was timed; a line without a run is not.
func TestOneWay(t *testing.T) {
	run := func(row string) *session.Line {
		log, err := session.Read(strings.NewReader("dive,date,thrusters,run_m,run_s,run_back_s,speed_m_s\n1,2026-05-02,port,"+row+"\n"), "dives.csv")
		require.NoError(t, err)
		return &log.Dives[0].Lines[0]
	}
	for row, want := range map[string]bool{"10,20,,": true, "10,20,30,": false, ",,,0.4": false, ",,,": false} {
		assert.Equal(t, want, OneWay(run(row)), row)
	}
}
