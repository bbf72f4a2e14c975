package drift

import (
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/normal"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// What only the newest dive shows asks for a repeat in one note: the likeliest in
// full, the next after "or", and no more.
func TestRepeats(t *testing.T) {
	a := &analysis{r: &fit.Result{Dives: []fit.DiveFit{{Log: &session.Dive{Label: "6"}}, {Log: &session.Dive{Label: "7"}}}},
		causes: []causes.Cause{{Words: "drag", What: "the vehicle drags more"}, {Words: "thrust", What: "the propellers push less"}, {Words: "scale", What: "the scale is off"},
			{Words: "jam of port", What: "port is jammed", Fails: causes.Failure{Thruster: 1}},
			{Words: "leak", What: "it leaks", Amplitudes: []causes.Amplitude{{Terms: []causes.Term{{Param: predict.TrimG, Per: 1}}}}}}}
	once := func(cause, dive int, none float64) component {
		return component{hypothesis: hypothesis{cause: cause, pattern: findings.Once, onset: dive}, none: none}
	}
	assert.Empty(t, a.repeats(&explanation{components: []component{once(0, 0, 0.1), {hypothesis: hypothesis{pattern: findings.Step, onset: 1}}}}), "an older dive, and what stays")
	const ask = ": take these readings again before anything is believed"
	assert.Equal(t, []string{"dive 7 alone reads as if the vehicle drags more (70 % sure)" + ask}, a.repeats(&explanation{components: []component{once(0, 1, 0.3)}}))
	stays := component{hypothesis: hypothesis{pattern: findings.Step, onset: 1}, none: 0.1, once: 0.04}
	assert.Empty(t, a.repeats(&explanation{components: []component{stays}}), "it surely stays")
	stays.once = 0.06
	assert.Equal(t, []string{"dive 7 alone reads as if the vehicle drags more (90 % sure)" + ask}, a.repeats(&explanation{components: []component{stays}}), "it may have passed")
	assert.Equal(t, []string{"dive 7 alone reads as if the propellers push less (80 % sure), or drag" + ask},
		a.repeats(&explanation{components: []component{once(0, 1, 0.3), once(1, 1, 0.2), once(2, 1, 0.5)}}))
	assert.Equal(t, []string{"dive 7 alone reads as if the vehicle drags more (70 % sure), or jam of port: with the battery unplugged, see that each propeller turns freely before it runs again"},
		a.repeats(&explanation{components: []component{once(0, 1, 0.3), once(3, 1, 0.4)}}), "a motor that stands is not read again")
	assert.Equal(t, []string{"dive 7 alone reads as if it leaks (90 % sure): look for water in tubes and foam before the next dive, and weigh it again"},
		a.repeats(&explanation{components: []component{once(4, 1, 0.1)}}))
}

// What is sound again without a word is asked about in one note, each cause once
// with its last end; not what has come back.
func TestMended(t *testing.T) {
	r := &fit.Result{}
	for _, label := range []string{"1", "2", "3", "4", "5"} {
		r.Dives = append(r.Dives, fit.DiveFit{Log: &session.Dive{Label: label}})
	}
	table := []causes.Cause{{Name: "joint", Quantity: "loop", Words: "excess loop resistance"}, {Name: "drag", Quantity: "drag", Words: "drag"}, {Name: "leak", Quantity: "g", Words: "water taken in"},
		{Name: "jam", Fails: causes.Failure{Thruster: 1}, Words: "jam of port"}}
	for i := range table[:3] {
		table[i].Amplitudes = make([]causes.Amplitude, 1)
	}
	a := &analysis{r: r, causes: table, renewed: make([]bool, 4), epoch: make([]int, 4)}
	part := func(cause, onset, until int) component {
		return component{hypothesis: hypothesis{cause: cause, pattern: findings.Step, onset: onset, until: until}}
	}
	const ask = ", and no line says why: write under serviced what was done, or look whether it comes back"
	assert.Empty(t, a.mended(&explanation{components: []component{part(0, 1, 0)}}))
	assert.Equal(t, []string{"excess loop resistance is back at its earlier level since dive 5; drag is back at its earlier level since dive 3" + ask},
		a.mended(&explanation{components: []component{part(0, 0, 2), part(1, 1, 2), part(0, 3, 4)}}))
	assert.Equal(t, []string{"drag is back at its earlier level since dive 3" + ask}, a.mended(&explanation{components: []component{part(0, 0, 2), part(1, 1, 2), part(0, 3, 0)}}), "what came back")
	assert.Equal(t, []string{"jam of port ended before dive 4" + ask}, a.mended(&explanation{components: []component{part(3, 0, 3)}}))
	r.Dives[3].Log.Lines = []session.Line{{Note: "calm"}, {Note: "soldered the joint"}}
	assert.Equal(t, []string{`jam of port ended before dive 4, and no serviced cell says why; the note "soldered the joint" may: if that was done, write serviced joint there`},
		a.mended(&explanation{components: []component{part(3, 0, 3)}}))
	r.Dives[3].Log.Lines[0].Serviced = []string{"propeller", "hull"}
	assert.Equal(t, []string{`jam of port ended before dive 4, where serviced says propeller + hull: what that mended may have been taken for it`}, a.mended(&explanation{components: []component{part(3, 0, 3)}}))
	a.renewed[1], a.epoch[1] = true, 2
	assert.Empty(t, a.mended(&explanation{components: []component{part(1, 1, 2)}}), "a service has made an end of it")
}

// One cause is one finding.
func TestMerge(t *testing.T) {
	at := func(fault, since string, onset int, p float64) findings.Finding {
		return findings.Finding{Fault: fault, SinceDive: since, Onset: onset, Probability: p, Alternatives: []findings.Alternative{{Fault: findings.Other, Probability: 1 - p}}}
	}
	got := merge(merge(merge(nil, at("thrust", "45", 44, 0.9)), at("drag", "3", 2, 0.9)), at("thrust", "17", 16, 0.8))
	assert.Len(t, got, 2)
	assert.Equal(t, "17", got[0].SinceDive)
	assert.Equal(t, []string{"45"}, got[0].Again)
	assert.Equal(t, at("thrust", "45", 44, 0.9).Alternatives, got[0].Alternatives)
	assert.Equal(t, 0.9, got[0].Probability, "as sure as its surest part")
	f := got[0]
	f.Cause = &causes.Cause{What: "the propellers push less"}
	assert.Equal(t, "the propellers push less, since dive 17 and again since 45", f.Lines()[0])
	for _, alarmed := range [][]bool{{true, false}, {false, true}} {
		first, later := at("thrust", "17", 16, 0.8), at("thrust", "45", 44, 0.9)
		first.Alarm, later.Alarm = alarmed[0], alarmed[1]
		assert.True(t, merge([]findings.Finding{first}, later)[0].Alarm, "an alarm of either is one of both")
	}
	got = merge(merge(nil, at("thrust", "45", 44, 0.9)), at("thrust", "17", 16, 0.3))
	assert.Equal(t, "45", got[0].SinceDive, "one that is not told begins nothing")
	assert.Empty(t, got[0].Again)
}

// A streak of slips goes back from the newest dive as long as all readings of a column were set aside the same way, and
// makes a part doubtful from whose onset on, or the dive after, it has all dives that read the column.
func TestStreak(t *testing.T) {
	high, low := fit.Outlier{Column: "current_a", Entered: 9, Expected: 4}, fit.Outlier{Column: "current_a", Entered: 1, Expected: 4}
	type dive struct {
		times int
		aside []fit.Outlier
	}
	same := dive{1, []fit.Outlier{high}}
	for name, c := range map[string]struct {
		dives   []dive // times 0: not read
		streak  []int
		through []bool // by dive
	}{
		"the same way":      {[]dive{same, {2, []fit.Outlier{high, high}}, same}, []int{0, 1, 2}, []bool{true, false, false}},
		"two":               {[]dive{same, same}, []int{0, 1}, []bool{false, false}},
		"one counts":        {[]dive{same, {2, []fit.Outlier{high}}, same, {}, same, same}, []int{2, 4, 5}, []bool{false, false, true, false, false, false}},
		"the other way":     {[]dive{{1, []fit.Outlier{low}}, same, same, same}, []int{1, 2, 3}, []bool{false, true, false, false}},
		"either in one":     {[]dive{same, same, same, {2, []fit.Outlier{low, high}}}, nil, []bool{false, false, false, false}},
		"none in the last":  {[]dive{same, same, same, {1, nil}}, nil, []bool{false, false, false, false}},
		"none in the first": {[]dive{{1, nil}, same, same, same, same}, []int{1, 2, 3, 4}, []bool{false, true, true, false, false}},
	} {
		s := &streak{broken: -1, of: quantity.CurrentA}
		a := &analysis{n: len(c.dives) - 1, streaks: map[string]*streak{"current_a": s}, r: &fit.Result{}, causes: []causes.Cause{{Amplitudes: []causes.Amplitude{{Terms: []causes.Term{{Param: predict.ClampZeroA}}}}}, {Fails: causes.Failure{Thruster: 1}},
			{Amplitudes: []causes.Amplitude{{Terms: []causes.Term{{Param: predict.TrimG}}}}}}}
		for n, d := range c.dives {
			a.r.Dives = append(a.r.Dives, fit.DiveFit{Log: &session.Dive{Label: strconv.Itoa(n + 7)}, Summary: &fit.Summary{Intermittent: &normal.Quadratic{}}}) // which fit
			if d.times > 0 {
				s.extend(n, d.times, d.aside)
			}
		}
		assert.Equal(t, c.streak, s.dives, name)
		for from, want := range c.through {
			assert.Equal(t, want, a.setAsideSince(from), "%s: from %d", name, from)
			doubtful := want || from+1 < len(c.through) && c.through[from+1]
			for cause, of := range []bool{doubtful, false, false} { // not a jam, which the streak may be, nor what no motor tells
				assert.Equal(t, of, a.unfit(&explanation{}, &component{hypothesis: hypothesis{cause: cause, onset: from}}), "%s: cause %d from %d", name, cause, from)
			}
		}
		if name == "the other way" {
			assert.Equal(t, []string{"current_a"}, a.longStreaks())
			assert.Equal(t, "current_a was set aside as far too high in each of the dives from 8 to 10 that have it: no slips", a.streakWords("current_a"))
			assert.InDelta(t, 2*0.02*0.02*0.02, s.chance(), 1e-12)
			f, ok := a.unexplained(&explanation{})
			assert.True(t, ok)
			assert.Equal(t, "8", f.SinceDive)
			assert.InDelta(t, 1-s.chance(), f.Probability, 1e-12)
			_, ok = a.unexplained(&explanation{components: []component{{hypothesis: hypothesis{cause: 1, pattern: findings.Step, onset: 1}}}})
			assert.False(t, ok, "a jam explains it")
			assert.Contains(t, f.CheckNext, "each propeller sits fast on its shaft")
			s.of = quantity.Trim
			assert.False(t, a.setAsideSince(1), "hover weights tell nothing of a motor")
			f, _ = a.unexplained(&explanation{})
			assert.True(t, f.Hovers)
			assert.Regexp(t, "^look at ballast_g since then", f.CheckNext)
		}
	}
}

// Levels that a service or a rebuild set anew and these readings cannot tell are named with the dive, those of the
// baseline and those that are told not.
func TestOpenAnew(t *testing.T) {
	r := &fit.Result{Baseline: 1}
	for _, label := range []string{"1", "2", "3 b", "4"} {
		r.Dives = append(r.Dives, fit.DiveFit{Log: &session.Dive{Label: label}})
	}
	trend := func(words, state string, from int) findings.Trend {
		return findings.Trend{State: state, From: from, Cause: &causes.Cause{Words: words}}
	}
	a := &analysis{r: r}
	assert.Equal(t, []string{"what was done before dive 3 b may have changed these levels, by how much its readings and those since leave open: friction, drag; what changes from there on is told all the same",
		"what was done before dive 4 may have changed these levels, by how much its readings and those since leave open: insulation; what changes from there on is told all the same"},
		a.unknownSinceWork([]findings.Trend{trend("insulation", findings.CannotTell, 3), trend("friction", findings.CannotTell, 2), trend("thrust", findings.Sound, 2), trend("loop", findings.CannotTell, 1), trend("drag", findings.CannotTell, 2)}))
	assert.Empty(t, a.unknownSinceWork(nil))
}

// Where one dive's readings leave a quantity open it is said whether all dives together tell it: all states but those that
// judge nothing do.
func TestWhatAllDivesTellIsSaid(t *testing.T) {
	v, err := vehicle.Open("../../examples/sound")
	require.NoError(t, err)
	log, err := session.Open("../../examples/sound")
	require.NoError(t, err)
	log.Dives = log.Dives[:6]
	for d := range log.Dives {
		for i := range log.Dives[d].Lines {
			read := &log.Dives[d].Lines[i].Readings
			read[quantity.CurrentA], read[quantity.VehicleV] = session.Value{}, session.Value{}
		}
	}
	r, err := fit.Fit(v, log)
	require.NoError(t, err)
	a := newAnalysis(r)
	for state, told := range map[string]bool{findings.Sound: true, findings.Drifting: true, findings.PastLimit: true, findings.NotAsBuilt: true, findings.NearLimit: true,
		findings.CannotTell: false, findings.CannotBe: false, findings.NotJudged: false} {
		want := "one dive's readings leave excess loop resistance open: "
		if told {
			want = "only all dives together tell excess loop resistance: "
		}
		loop := &a.causes[a.index("power_loop")]
		got := a.remarks([]findings.Trend{{Quantity: loop.Quantity, State: state, Cause: loop}})
		if assert.NotEmpty(t, got, state) {
			assert.Contains(t, got[0], want, state)
		}
	}
}

// All readings of a column three dives long are no slips; those with some thrusters on, four dives long, where the column's others
// fit and their first dive fitted too: else the model has that thruster wrong.
func TestLongStreaks(t *testing.T) {
	dives := func(n int) []int { return make([]int, n) }
	for name, c := range map[string]struct {
		column, port streak
		want         []string
	}{
		"a column":             {streak{dives: dives(3)}, streak{some: true, dives: dives(3)}, []string{"current_a"}},
		"two dives":            {streak{dives: dives(2)}, streak{some: true, dives: dives(2)}, nil},
		"one thruster's":       {streak{dives: dives(1)}, streak{some: true, dives: dives(4)}, []string{"current_a with port"}},
		"hardly":               {streak{dives: dives(1)}, streak{some: true, dives: dives(3)}, nil},
		"so from the start":    {streak{dives: dives(1)}, streak{some: true, dives: dives(4), always: true}, nil},
		"the column's already": {streak{dives: dives(5)}, streak{some: true, dives: dives(5)}, []string{"current_a"}},
	} {
		a := &analysis{streaks: map[string]*streak{"current_a": &c.column, "current_a with port": &c.port}}
		assert.Equal(t, c.want, a.longStreaks(), name)
	}
}

// A hover weight that has changed with water whose temperature nobody read is remarked on, with which way it must have gone, where it is
// much of the limit; not where the temperature is read or the weight is not.
func TestUnreadWarming(t *testing.T) {
	v := vehicle.Example()
	of := func(water bool) *analysis {
		log, err := session.Open("../../examples/sound")
		require.NoError(t, err)
		for d := range log.Dives {
			log.Dives[d].Date = time.Date(2031, 3, 1+9*d, 0, 0, 0, 0, time.UTC)
			for i := range log.Dives[d].Lines {
				if l := &log.Dives[d].Lines[i]; !water {
					l.WaterC = session.Value{}
				}
			}
		}
		r, err := fit.Fit(v, log)
		require.NoError(t, err)
		return newAnalysis(r)
	}
	a := of(false)
	s := fit.Statics{Mean: make([]float64, len(a.r.Space.Static))}
	assert.Empty(t, a.unreadWarming(s))
	a.r.Model.Vehicle.Limits.IngressG = 8
	at := a.r.Space.InStatic[a.r.Space.Place[predict.YearSinK]]
	require.GreaterOrEqual(t, at, 0)
	for k, want := range map[float64]string{-8: "warmer", 8: "colder"} { // from spring to autumn the sine falls
		s.Mean[at] = k
		got := a.unreadWarming(s)
		require.Len(t, got, 1)
		assert.Contains(t, got[0], "K "+want+" than then")
		assert.Equal(t, want == "warmer", strings.HasPrefix(got[0], "-"), got[0]) // warmer water is thinner
	}
	read := of(true)
	assert.Empty(t, read.unreadWarming(fit.Statics{Mean: make([]float64, len(read.r.Space.Static))}))
}
