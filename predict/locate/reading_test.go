package locate

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/findings"
	"sagline/predict/vehicle"
	"sagline/session"
)

func begin(t testing.TB, fault string, without ...string) *Search {
	s, err := Begin(invented(t), &findings.Report{}, fault, without)
	require.NoError(t, err)
	return s
}

func (s *Search) named(t testing.TB, name string) *Test {
	i := slices.IndexFunc(s.tests, func(x *Test) bool { return x.Name == name })
	require.GreaterOrEqual(t, i, 0, name)
	return s.tests[i]
}

// The chain follows the file: what it names, in order, each leg apart but the
// fuse; a joint beyond the tether's end is at its end.
func TestChain(t *testing.T) {
	r := pond(t, []vehicle.Joint{{Name: "late", AtM: 99}, {Name: "Box", AtM: 30, Accessible: new(bool)}, {Name: "early", AtM: 4}}, nil)
	s, err := Begin(r, &findings.Report{}, "", nil)
	require.NoError(t, err)
	var names []string
	for _, sp := range s.spots {
		names = append(names, sp.Name)
	}
	assert.Equal(t, []string{"battery clip, + leg", "battery clip, - leg", "fuse", "plug, + leg", "plug, - leg", "cable 0 to 4 m, + leg", "cable 0 to 4 m, - leg",
		"early, + leg", "early, - leg", "cable 4 to 30 m, + leg", "cable 4 to 30 m, - leg", "late, + leg", "late, - leg", "box, + leg", "box, - leg", "none of these"}, names)
	p := 0.0
	for _, sp := range s.spots {
		p += sp.Probability
	}
	assert.InDelta(t, 1, p, 1e-12)
	assert.Equal(t, []string{"box"}, s.named(t, "millivolts + before box .. after box").Opens, "the file says that the box is closed")
	assert.Empty(t, s.named(t, "millivolts + after plug .. before early").Opens, "the ends of a cable are at joints that are reached")
	_, err = Begin(r, &findings.Report{}, "power_lop", nil)
	assert.ErrorContains(t, err, `found "power_lop", want one of power_loop, intermittent_contact, insulation, branch:port, branch:starboard, branch:vertical (nearest: "power_loop")`)
	_, err = Begin(r, &findings.Report{}, "ingress", nil)
	assert.Error(t, err, "a vehicle without tubes")
}

// Sound readings are those of the copper and the file's joints: 30 m of 2.5 mm²
// there and back at 20 °C, 1/58 Ω·mm²/m (IEC 60028) and a lay factor of 1.02,
// 0.00393 of it more a kelvin.
func TestSoundLoop(t *testing.T) {
	s := begin(t, "power_loop")
	x := s.named(t, "ohms shorted after box")
	c := s.typical
	c.copperC = 30
	sound := s.predictions(x, &c)[len(s.hyps)-1]
	clips := 2 * s.parts[0].contact
	assert.InDelta(t, 2*30*1.02/58/2.5*(1+0.00393*10)+0.04-clips, sound.mean, 1e-9)
}

// What a reading says of circumstances is used: current, copper's temperature,
// and the air's in a tube.
func TestParse(t *testing.T) {
	s := begin(t, "power_loop")
	c, y, err := s.parse(&millivolts, "182 mV, 5.2 A, 14 °C")
	require.NoError(t, err)
	assert.InDelta(t, 0.035, y, 1e-9)
	assert.Equal(t, 14.0, c.copperC)
	assert.InDelta(t, 0.15/5.2, c.ampsShare, 1e-9)
	c, y, err = s.parse(&millivolts, "-182")
	require.NoError(t, err)
	assert.InDelta(t, 0.182/s.typical.amps, y, 1e-9, "tips the other way round, the current as predicted")
	assert.Equal(t, predictedShare, c.ampsShare)
	_, y, err = s.parse(&insulation, "500 kohm")
	require.NoError(t, err)
	assert.InDelta(t, math.Log(0.5), y, 1e-12)
	_, _, err = s.parse(&wiggle, "perhaps")
	assert.EqualError(t, err, `found "perhaps", want yes or no`)
	for _, tip := range []struct{ test, reading, want string }{
		{"millivolts + before plug .. before splic", "1 mV", `found the test "millivolts + before plug .. before splic", want one of this search (nearest: "millivolts + before plug .. before splice")`},
		{"ohms shorted after box", "3 V", `found "3 V", want a number Ω, then, after commas, °C as known`},
	} {
		assert.EqualError(t, s.Take(tip.test, tip.reading), tip.want)
	}
	const test = "millivolts + before plug .. before splice"
	assert.EqualError(t, s.Typed(test, "0,35"), `found "0,35", want its unit too: 0,35 mV or 0,35 V`)
	assert.Empty(t, s.taken)
	for _, plain := range []string{"0.35 V", "0", "182", "-182", "5, 7 A"} { // no volts of a battery, or their unit stands there
		assert.NoError(t, s.Typed(test, plain), plain)
	}
}

// At constant volume p/T is constant: 81.325 kPa at 18 °C are 80.766 at 16 °C,
// so that of a rise from -20 to -17 kPa 3.559 are a leak; in 20 minutes half as
// much in 10.
func TestHoldAllowsForTemperature(t *testing.T) {
	s := begin(t, "ingress")
	for text, want := range map[string]float64{"-20 to -17 kPa, 10 min, 18 to 16 °C": 3.5587, "-20 to -17 kPa, 20 min, 18 to 16 °C": 1.7793,
		"-10 to -8.5 kPa, 10 min": 3, "20 to 17 kPa, 10 min": 3, "-20 to -20 kPa, 10 min": 0} {
		_, y, err := s.parse(&hold, text)
		require.NoError(t, err, text)
		assert.InDelta(t, want, y, 1e-3, text)
	}
	warm, _, _ := s.parse(&hold, "-20 to -17 kPa, 10 min")
	known, _, _ := s.parse(&hold, "-20 to -17 kPa, 10 min, 18 to 18 °C")
	assert.Greater(t, warm.holdSD, known.holdSD, "a temperature that is not known leaves doubt")
	for _, text := range []string{"-20 to -17 kPa", "0 to 1 kPa, 10 min", "-200 to -100 kPa, 10 min"} {
		_, _, err := s.parse(&hold, text)
		assert.ErrorContains(t, err, "want the pressure at both times and the minutes", text)
	}
	require.NoError(t, s.Take("hold port float", "-20 to -19.9 kPa, 10 min, 18 to 18 °C"))
	require.NoError(t, s.Take("hold starboard float", "-20 to -12 kPa, 10 min, 18 to 18 °C"))
	assert.Equal(t, []string{"starboard float"}, s.State().Result.Spots)
}

// Murray's loop: with arms of 2 and 1 Ω on 300 m of a uniform core, the fault
// lies at 2·300·1/(2+1) = 200 m (an exercise on cable faults, recomputed).
func TestMurrayLoop(t *testing.T) {
	r := pond(t, []vehicle.Joint{{Name: "splice", AtM: 200}}, nil)
	r.Model.Vehicle.Tether.LengthM = 300
	s, err := Begin(r, finding(r, "insulation", 0.2, 0), "", nil)
	require.NoError(t, err)
	at := slices.IndexFunc(s.spots, func(sp Spot) bool { return sp.Name == "splice, + leg" })
	ratio, _ := s.loopRatio(at)
	assert.InDelta(t, 1.0/(2+1), ratio, 1e-12)
	back, _ := s.loopRatio(at + 1)
	assert.InDelta(t, 2.0/3, back, 1e-12, "in the other leg as far from the other end")
	require.NoError(t, s.Take("bridge", "0.333"))
	assert.Equal(t, "splice, + leg", s.Spots()[0].Name)
}

// The order of readings does not matter, and a reading made twice says less the
// second time: copper and contacts are the same.
func TestReadingsShareTheChain(t *testing.T) {
	reads := []Taken{{Test: "ohms shorted after box", Reading: "0.52 Ω, 15 °C"}, {Test: "millivolts + battery .. after splice", Reading: "690 mV, 7 A"}, {Test: "millivolts + before splice .. after splice", Reading: "60 mV, 7 A"}}
	a, b := begin(t, "power_loop"), begin(t, "power_loop")
	for i := range reads {
		require.NoError(t, a.Take(reads[i].Test, reads[i].Reading))
		require.NoError(t, b.Take(reads[2-i].Test, reads[2-i].Reading))
	}
	for i := range a.spots {
		assert.InDelta(t, a.spots[i].Probability, b.spots[i].Probability, 0.02, a.spots[i].Name)
	}
	s := begin(t, "power_loop")
	h := []float64{s.entropy()}
	for range 2 {
		require.NoError(t, s.Take("millivolts - battery .. after box", "1800 mV, 7 A"))
		h = append(h, s.entropy())
	}
	assert.Less(t, math.Abs(h[2]-h[1]), math.Abs(h[1]-h[0])/5)
}

// A decimal point astray does not end a search.
func TestSlipIsOutvoted(t *testing.T) {
	r := invented(t)
	s, err := Begin(r, finding(r, "power_loop", 0.25, 0.02), "", nil)
	require.NoError(t, err)
	for _, x := range []Taken{{Test: "millivolts + battery .. after slip ring", Reading: "130 mV, 7 A"}, {Test: "millivolts - battery .. after slip ring", Reading: "1900 mV, 7 A"},
		{Test: "millivolts - before plug .. before slip ring", Reading: "280 mV, 7 A"}, {Test: "millivolts - before slip ring .. after slip ring", Reading: "25 mV, 7 A"},
		{Test: "millivolts - before plug .. after slip ring", Reading: "120 mV, 7 A"}, {Test: "millivolts + before splice .. after splice", Reading: "1780 mV, 7 A"},
		{Test: "millivolts + after slip ring .. before box", Reading: "3100 mV, 7 A"}} {
		require.NoError(t, s.Take(x.Test, x.Reading))
	}
	assert.Equal(t, "splice, + leg", s.Spots()[0].Name)
}

// What is sealed is not asked for while anything else tells, and its cost is
// said.
func TestSealedPointsComeLast(t *testing.T) {
	r := invented(t)
	s, err := Begin(r, finding(r, "power_loop", 0.25, 0.01), "", nil)
	require.NoError(t, err)
	opened := false
	for next := s.State(); next.Next != nil; next = s.State() {
		x := s.named(t, next.Next.Test)
		assert.False(t, opened && len(x.Opens) == 0, "%s after one that opens", x.Name)
		opened = len(x.Opens) > 0
		if opened {
			assert.Equal(t, []string{"old splice"}, next.Next.Opens)
			assert.GreaterOrEqual(t, next.Next.Minutes, float64(openMinutes))
		}
		reading := "0.46 Ω, 15 °C"
		ohm, hit := 0.0, false
		for i, sp := range s.spots {
			if x.covers[i] {
				ohm += sp.copper*(1-5*vehicle.CopperPerK) + sp.contact
				hit = hit || sp.Name == "old splice, + leg"
			}
		}
		if hit {
			ohm += 0.25
		}
		if x.method == &millivolts {
			reading = number(7000*ohm) + " mV, 7 A"
		} else {
			reading = number(ohm) + " Ω, 15 °C"
		}
		require.NoError(t, s.Take(x.Name, reading))
	}
	assert.True(t, opened, "nothing else tells the sleeve from its cables")
	res := s.State().Result
	assert.Equal(t, []string{"old splice, + leg"}, res.Spots)
	assert.Contains(t, res.Repair, "opened for that, it has to be sealed again")
}

func number(x float64) string { return vehicle.Short(x) }

// A search goes on another day; a service or a repair ends it.
func TestResume(t *testing.T) {
	log, err := session.Open("../../examples/joint") // joint serviced before dive 21
	require.NoError(t, err)
	line := func(after, test, reading string) session.LocateLine {
		return session.LocateLine{Search: "power_loop", AfterDive: after, Test: test, Reading: reading, Line: 2}
	}
	const test, reading = "millivolts + before splice .. after splice", "1780 mV, 7 A"
	for _, c := range []struct {
		what  string
		lines []session.LocateLine
		taken int
	}{
		{"goes on", []session.LocateLine{line("30", test, reading)}, 1},
		{"before any dive", []session.LocateLine{line("", test, reading)}, 0},
		{"serviced since", []session.LocateLine{line("20", test, reading), line("21", test, reading)}, 1},
		{"repaired since", []session.LocateLine{line("30", test, reading), line("30", session.Repaired, "splice")}, 0},
		{"of another search", []session.LocateLine{{Search: "insulation", AfterDive: "30", Test: "bridge", Reading: "0.3"}}, 0},
	} {
		s := begin(t, "power_loop")
		assert.Empty(t, s.Resume(c.lines, log), c.what)
		assert.Len(t, s.taken, c.taken, c.what)
	}
	s := begin(t, "power_loop")
	err = s.Resume([]session.LocateLine{line("30", "millivolts + before gone .. after gone", reading)}, log).Err()
	assert.ErrorContains(t, err, "locate.csv:2: found the test")
	assert.ErrorContains(t, err, "the line does not count")
}

// Who has no ohmmeter is not asked for ohms, and a skipped test is not asked for
// again.
func TestInstrumentsAtHand(t *testing.T) {
	s := begin(t, "power_loop", "ohmmeter")
	assert.False(t, slices.ContainsFunc(s.tests, func(x *Test) bool { return x.method == &ohmmeter }))
	first := s.Next()
	s.Skip(first.Name)
	assert.NotEqual(t, first.Name, s.Next().Name)
	for _, m := range []*method{&millivolts, &ohmmeter, &insulation, &murray, &wiggle, &oneThruster, &hold} {
		for _, n := range m.needs {
			assert.Contains(t, Instruments, n, m.name)
		}
		assert.NotEmpty(t, m.safety, m.name)
	}
}

// Whatever is said before a reading under power or by ohms minds the danger.
func TestSafety(t *testing.T) {
	for _, m := range []*method{&millivolts, &wiggle, &oneThruster} {
		assert.Contains(t, m.safety, "hands clear of the blades")
	}
	for _, m := range []*method{&ohmmeter, &insulation, &murray} {
		assert.Contains(t, m.safety, "battery unplugged")
	}
}

// What trend calls less likely than not is not said to be found.
func TestSuspected(t *testing.T) {
	r := pond(t, nil, nil)
	for p, want := range map[float64]bool{0.37: true, 0.97: false} {
		rep := finding(r, "power_loop", 0.2, 0.05)
		rep.Findings[0].Probability = p
		s, err := Begin(r, rep, "", nil)
		require.NoError(t, err)
		assert.Equal(t, "9", s.State().Since)
		assert.Equal(t, want, s.State().Suspected)
	}
}

// A current is asked for only where there is a clamp meter to read it.
func TestNoClampNoCurrent(t *testing.T) {
	for current, without := range map[bool][]string{true: nil, false: {"clamp"}} {
		s := begin(t, "power_loop", without...)
		for _, x := range s.tests {
			if x.method.name == "millivolts" {
				assert.Equal(t, current, strings.Contains(x.method.do(s, x), "the current"), x.Name)
			}
		}
	}
}

// Wiring that is worse in reverse alone is searched with the thruster in reverse, whose current the excess lowers.
func TestSearchInReverse(t *testing.T) {
	r := pond(t, nil, nil)
	for way, load := range []string{"port", "port astern", "port"} {
		rep := finding(r, "branch:port", 0.5, 0.05)
		rep.Trends[0].Way = way
		s, err := Begin(r, rep, "branch:port", nil)
		require.NoError(t, err)
		assert.Equal(t, load, s.load)
		assert.Less(t, s.amps(2), s.amps(0)-0.1, load)
	}
}

// A reading that no spot explains is called a slip.
func TestSlipsAreSaid(t *testing.T) {
	for reading, slip := range map[string]bool{"690 mV, 7 A": false, "90 V, 7 A": true} {
		s := begin(t, "power_loop")
		require.NoError(t, s.Take("millivolts + battery .. after splice", reading))
		assert.Equal(t, slip, s.State().Taken[0].Slip, reading)
	}
}
