package drift

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/normal"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// propellers are a cause with two cases, a fault of the hull, and a jam.
var propellers = []causes.Cause{{Name: "thrust", Quantity: "thrust_factor"}, {Name: "thrust:port", Of: "thrust", Quantity: "thrust_factor:port"},
	{Name: "thrust:starboard", Of: "thrust", Quantity: "thrust_factor:starboard"}, {Name: "drag", Quantity: "drag_factor"}, {Name: "stall:port", Quantity: "stall:port", Fails: causes.Failure{Thruster: 1}}}

const all, ofPort, ofStarboard, drag, jam = 0, 1, 2, 3, 4

// since is a part that began at a dive and stays, with the probabilities of the
// causes that it may be, and what is left that nothing happened.
func since(onset, cause int, stays ...float64) component {
	e := component{hypothesis: hypothesis{cause: cause, pattern: findings.Step, onset: onset}, stays: append(stays, make([]float64, len(propellers)-len(stays))...), none: 1}
	for _, p := range stays {
		e.none -= p
	}
	return e
}

// A case is named by itself where it is plainly which; else what it is a case of, and
// either with the probability of the whole family.
func TestNamed(t *testing.T) {
	a := &analysis{causes: propellers}
	for _, c := range []struct {
		part component
		want int
		p    float64
	}{
		{since(0, ofPort, 0.02, 0.85, 0.03, 0.05), ofPort, 0.9},
		{since(0, ofPort, 0.02, 0.60, 0.28, 0.05), all, 0.9},
		{since(0, ofPort, 0.20, 0.30, 0.40, 0.05), all, 0.9},
		{since(0, drag, 0.02, 0.40, 0.03, 0.45), drag, 0.45},
	} {
		got, p := a.named(&c.part)
		assert.Equal(t, c.want, got, "%v", c.part.stays)
		assert.InDelta(t, c.p, p, 1e-9)
	}
}

// What was not written down has one name, however plain it is which case it is.
func TestNamedNotLogged(t *testing.T) {
	for kind, want := range map[causes.Kind]string{causes.NotLogged: "propeller", causes.Vehicle: "propeller:surge"} {
		a := &analysis{causes: []causes.Cause{{Name: "propeller", Quantity: "pitch", Kind: kind}, {Name: "propeller:surge", Of: "propeller", Quantity: "pitch", Kind: kind}}}
		e := component{hypothesis: hypothesis{cause: 1}, stays: []float64{0.03, 0.95}}
		cause, p := a.named(&e)
		assert.Equal(t, want, a.causes[cause].Name)
		assert.InDelta(t, 0.98, p, 1e-12)
	}
}

// judged is what alarms a book raises at the newest of three dives, whose readings all
// fit, with some open already.
func judged(open []string, parts ...component) (raised []string) {
	a := &analysis{causes: propellers, n: 2, r: &fit.Result{Dives: make([]fit.DiveFit, 3)}}
	for d := range a.r.Dives {
		a.r.Dives[d] = fit.DiveFit{Log: &session.Dive{}, Summary: &fit.Summary{Intermittent: &normal.Quadratic{}}}
	}
	b := alarmBook{a: a, rep: &findings.Report{}, open: map[string]int{}, raised: map[string]int{}, missing: map[string]int{}, shared: map[string]bool{}}
	for i, quantity := range open {
		b.open[quantity] = i
		b.rep.Alarms = append(b.rep.Alarms, findings.Alarm{Quantity: quantity})
	}
	b.judge(2, &explanation{components: parts})
	for _, alarm := range b.rep.Alarms[len(open):] {
		raised = append(raised, alarm.Quantity)
	}
	return raised
}

// An alarm wants to be sure that something happened and what; surer of what, when an
// open alarm has just lost its explanation to it. Beside a jam nothing else is believed.
func TestAlarmsWant(t *testing.T) {
	sure, likely := since(1, drag, 0, 0, 0.02, 0.97), since(1, drag, 0, 0, 0.25, 0.73)
	assert.Equal(t, []string{"drag_factor"}, judged(nil, sure))
	assert.Equal(t, []string{"drag_factor"}, judged(nil, likely))
	assert.Empty(t, judged(nil, since(1, drag, 0, 0, 0.45, 0.53)), "not sure of what")
	assert.Empty(t, judged(nil, since(1, drag, 0, 0, 0, 0.89)), "not sure of anything")
	assert.Equal(t, []string{"drag_factor"}, judged(nil, since(1, drag, 0, 0, 0.01, 0.93)))
	assert.Empty(t, judged(nil, since(2, drag, 0, 0, 0.01, 0.95)), "not sure enough of one dive alone")
	assert.Equal(t, []string{"drag_factor"}, judged(nil, since(2, drag, 0, 0, 0.01, 0.97)))
	assert.Empty(t, judged([]string{"drag_factor"}, sure), "raised already")

	lost := []string{"excess_resistance_ohm"}
	assert.Empty(t, judged(lost, likely))
	assert.Equal(t, []string{"drag_factor"}, judged(lost, sure))
	held := since(1, ofPort, 0, 0.97)
	assert.Equal(t, []string{"drag_factor"}, judged([]string{"thrust_factor"}, held, likely), "the open one still has its explanation")

	stalled := since(2, jam, 0, 0, 0, 0, 0.99)
	assert.Equal(t, []string{"stall:port"}, judged(nil, stalled, sure))
	assert.Equal(t, []string{"stall:port"}, judged(nil, sure, stalled))
}

// All that began lately and stays must be sure enough for an alarm; what is older, gone
// or one dive's alone need not.
func TestDecided(t *testing.T) {
	a := &analysis{causes: propellers, n: 100}
	const lately, longAgo = 100 - exact + 1, 100 - exact
	once, gone := since(lately, drag, 0, 0, 0, 0.5), since(lately, drag, 0, 0, 0, 0.5)
	once.pattern, gone.until = findings.Once, 100
	for _, c := range []struct {
		part component
		want bool
	}{
		{since(lately, drag, 0, 0, 0, 0.97), true}, {since(longAgo, drag, 0, 0, 0, 0.97), true},
		{since(lately, drag, 0, 0, 0, 0.89), false}, {since(longAgo, drag, 0, 0, 0, 0.89), true},
		{since(lately, drag, 0, 0, 0.45, 0.53), false}, {since(longAgo, drag, 0, 0, 0.45, 0.53), true},
		{since(lately, ofPort, 0.45, 0.53), true}, // one family
		{once, true}, {gone, true},
	} {
		assert.Equal(t, c.want, a.decided(&explanation{components: []component{since(longAgo, ofPort, 0, 0.99), c.part}}), "%+v", c.part)
	}
}

// What has no limit has a trend where it may have begun to act: without a sure pattern that is open, not sound.
func TestNoLimitIsNotSound(t *testing.T) {
	a := &analysis{r: &fit.Result{Baseline: 1, Dives: make([]fit.DiveFit, 2)}, causes: []causes.Cause{{}}}
	assert.Equal(t, findings.CannotTell, a.stateOf(0, &findings.Trend{Pattern: findings.Steady, Cause: &a.causes[0]}))
	assert.Equal(t, findings.Drifting, a.stateOf(0, &findings.Trend{Pattern: findings.Step, Cause: &a.causes[0]}))
}

// Insulation that was last read below its limit is past it, whatever the dives before and their level say: after a change of the
// tether five readings from 8 down to 0.7 MΩ were "2.1 ± 2.3 MΩ, near its limit 1".
func TestInsulationAsLastRead(t *testing.T) {
	read := func(megohm float64, slip bool) fit.DiveFit {
		return fit.DiveFit{Cells: []fit.Cell{{Quantity: quantity.BatteryV, Value: 0.1}, {Quantity: quantity.Insulation, Value: math.Log(megohm), Outlier: slip}, {Quantity: quantity.Trim, Value: 0.1}}}
	}
	limit := 1.0
	for _, c := range []struct {
		dives []fit.DiveFit
		from  int
		want  string
	}{
		{[]fit.DiveFit{read(9, false), read(0.7, false), {}}, 0, findings.PastLimit},
		{[]fit.DiveFit{read(9, false), read(1.1, false), {}}, 0, findings.NearLimit},
		{[]fit.DiveFit{read(0.7, false), read(9, false)}, 0, findings.NearLimit},
		{[]fit.DiveFit{read(9, false), read(0.7, true), {}}, 0, findings.NearLimit}, // a slip
		{[]fit.DiveFit{read(0.7, false), {}, {}}, 1, findings.NearLimit},            // dried since
	} {
		a := &analysis{r: &fit.Result{Dives: c.dives}, causes: causes.Table(vehicle.Example())}
		a.r.Model = predict.NewModel(vehicle.Example())
		a.r.Base = a.r.Model.NewParams()
		a.r.Base[predict.LogInsulation] = math.Log(20)
		trend := findings.Trend{Pattern: findings.Steady, From: c.from, Limit: &limit, Baseline: 20, Level: findings.Estimate{Value: 2.1, Low: 0.2, High: 4}, Cause: &a.causes[a.insulation()]}
		assert.Equal(t, c.want, a.stateOf(a.insulation(), &trend), "%+v", c)
	}
}

// A level that no vehicle can have is told so, and not called sound: where that
// begins follows from what the vehicle has by its file and its first dives.
func TestCannotBe(t *testing.T) {
	v := vehicle.Example()
	v.Tether.Power.JointsOhm, v.Thrusters[0].BranchOhm, v.Thrusters[0].NoLoadA, v.Thrusters[1].NoLoadA = 0.1, 0.1, 0.4, 0.6
	m := predict.NewModel(v)
	r := &fit.Result{Model: m, Base: m.NewParams(), Baseline: 1, Dives: make([]fit.DiveFit, 2)}
	r.Base[predict.LoopOhm], r.Base[predict.OfThruster(0, predict.BranchOhm)], r.Base[predict.FrictionA] = 0.05, 0.02, 0.1
	a := &analysis{r: r, causes: causes.Table(v)}
	loop := v.Tether.CableOhm(20) + 0.15
	for name, least := range map[string]float64{"battery": 0, "power_loop": -loop, "branch:" + v.Thrusters[0].Name: -0.12, "friction": -0.7, "thrust": math.Inf(-1), "ingress": math.Inf(-1)} {
		c := slices.IndexFunc(a.causes, func(c causes.Cause) bool { return c.Name == name })
		require.GreaterOrEqual(t, c, 0, name)
		state := func(level, sd float64) string {
			limit := 1e3 // far from all of these
			if a.causes[c].Worse < 0 && a.causes[c].Scale.Factor {
				limit = 1e-9
			}
			return a.stateOf(c, &findings.Trend{Pattern: findings.Steady, Limit: &limit, Level: findings.Estimate{Value: level, Low: level - z95*sd, High: level + z95*sd}, Cause: &a.causes[c]})
		}
		if math.IsInf(least, -1) {
			assert.Equal(t, findings.Sound, state(-100, 0.01), name)
			continue
		}
		better := findings.Sound
		if name == "power_loop" {
			better = findings.NotAsBuilt
		}
		assert.Equal(t, better, state(least+0.01, 0.001), name)
		sure, open := 0.0032, 0.0035 // three standard deviations
		if name == "battery" {
			sure, open = 0.005, 0.0052 // its range
		}
		assert.Equal(t, findings.CannotBe, state(least-0.01, sure), name)
		assert.Equal(t, better, state(least-0.01, open), "%s: the readings leave open that it can", name)
	}
}

// A loop is another than the file's once it has surely lost more than its joints had, by the file and by the first dives, and than
// the file may be off by.
func TestNotAsBuiltWithinTolerance(t *testing.T) {
	v := vehicle.Example()
	v.Tether.Power.JointsOhm = 0.1
	m := predict.NewModel(v)
	a := &analysis{r: &fit.Result{Model: m, Base: m.NewParams()}, causes: causes.Table(v)}
	a.r.Base[predict.LoopOhm] = 0.05
	limit, least := 1.0, -0.15-z95*priors.Parameters(m)[predict.LoopOhm].Prior
	c := slices.IndexFunc(a.causes, func(c causes.Cause) bool { return c.Name == "power_loop" })
	is := func(c int, level, sd float64) bool {
		return a.notAsBuilt(c, &findings.Trend{Limit: &limit, Level: findings.Estimate{Value: level, High: level + z95*sd}})
	}
	assert.False(t, is(c, least+0.01, 0.001))
	assert.True(t, is(c, least-0.01, 0.0032))
	assert.False(t, is(c, least-0.01, 0.0035), "not surely")
	assert.False(t, is(c+1, least-0.01, 0.001), "of something else")
}

// A loop that is another than the file's is told since the dive at which it lost resistance, or since its trend begins where no dive
// shows that; other trends are not.
func TestOtherBuildsAreTold(t *testing.T) {
	r := &fit.Result{}
	for _, label := range []string{"1", "2", "3", "4"} {
		r.Dives = append(r.Dives, fit.DiveFit{Log: &session.Dive{Label: label}})
	}
	a := &analysis{r: r}
	loop, mends := &causes.Cause{Name: "power_loop"}, &causes.Cause{Name: "mended", Mends: "power_loop"}
	of := func(c *causes.Cause, state string) findings.Trend {
		return findings.Trend{Cause: c, State: state, From: 1, OnsetDive: "4"}
	}
	assert.Empty(t, a.otherBuilds([]findings.Trend{of(loop, findings.Sound), of(mends, findings.Drifting)}))
	for dive, trends := range map[string][]findings.Trend{
		"2": {of(&causes.Cause{Name: "drag"}, findings.Drifting), of(loop, findings.NotAsBuilt)},
		"4": {of(&causes.Cause{Name: "drag"}, findings.Drifting), of(loop, findings.NotAsBuilt), of(mends, findings.Drifting)},
	} {
		said := a.otherBuilds(trends)
		require.Len(t, said, 1)
		assert.Contains(t, said[0], "since dive "+dive+" the power loop")
		assert.Contains(t, said[0], `sagline change --from "`+dive+`"`)
	}
}

// A lost propeller is told as its thruster's thrust, a case of all propellers', in its own words where it is likelier than the
// other ways in which that may fall.
func TestAsTold(t *testing.T) {
	rows := append(slices.Clone(propellers), causes.Cause{Name: "lost:port", Of: "thrust:port", Quantity: "thrust_factor:port", Fails: causes.Failure{Thruster: 1, How: causes.Lost},
		Words: "lost propeller", What: "it is lost", Check: "look"})
	const lost = jam + 1
	a := &analysis{causes: rows}
	assert.Equal(t, all, a.root(lost))
	assert.True(t, a.related(lost, ofStarboard))
	for cause, told := range map[int]int{lost: ofPort, ofPort: ofPort, jam: jam, all: all} {
		assert.Equal(t, told, a.reportedAs(cause), rows[cause].Name)
	}
	for name, c := range map[string]struct {
		port, lost float64
		likelier   int
		words      string
	}{"lost": {0.2, 0.7, lost, "lost propeller"}, "pushes less": {0.7, 0.2, ofPort, ""}} {
		e := component{hypothesis: hypothesis{cause: c.likelier}, stays: []float64{0, c.port, 0, 0.1, 0, c.lost}, best: make([]hypothesis, len(rows))}
		for i := range e.best {
			e.best[i] = hypothesis{cause: i}
		}
		(&scanner{a: a}).byReportedCause(&e, make([]evidenceOf, len(rows)))
		assert.InDeltaSlice(t, []float64{0, 0.9, 0, 0.1, 0, 0}, e.stays, 1e-12, name)
		assert.Equal(t, c.likelier, e.best[ofPort].cause, name)
		cause, p := a.named(&e)
		assert.Equal(t, ofPort, cause, name)
		assert.InDelta(t, 0.9, p, 1e-12, name)
		row := a.worded(&e, cause)
		assert.Equal(t, "thrust:port", row.Name)
		assert.Equal(t, c.words, row.Words, name)
		assert.Equal(t, c.words != "", row.Check == "look", name)
	}
	assert.Empty(t, rows[ofPort].Words, "the table stays as it is")
}

// What a thruster that failed read counts as such after its service too, of all else what a service ended is forgotten where its level is set anew.
func TestAFailureIsNotForgotten(t *testing.T) {
	a := &analysis{causes: propellers}
	assert.False(t, a.levelUnknown(hypothesis{cause: jam}))
	a.causes = []causes.Cause{{Contact: predict.LoopOhm}}
	assert.True(t, a.levelUnknown(hypothesis{}))
}

// A thruster that does nothing has one alarm, which stays while the readings have it either way: its circuit open or its propeller
// lost.
func TestOneAlarmOfAThrusterThatDoesNothing(t *testing.T) {
	const branch, open, thrust, lost = 0, 1, 2, 3
	rows := []causes.Cause{{Name: "branch:port", Quantity: "ohm"}, {Name: "open:port", Of: "branch:port", Quantity: "ohm", Fails: causes.Failure{Thruster: 1, How: causes.Open}},
		{Name: "thrust:port", Quantity: "factor"}, {Name: "lost:port", Of: "thrust:port", Quantity: "factor", Fails: causes.Failure{Thruster: 1, How: causes.Lost}}}
	rep := &findings.Report{}
	b := &alarmBook{a: &analysis{causes: rows, r: labelled(9)}, rep: rep, open: map[string]int{}, raised: map[string]int{}, missing: map[string]int{}, shared: map[string]bool{}}
	part := func(cause int, ofBranch, ofThrust float64) *explanation {
		e := component{hypothesis: hypothesis{cause: cause, pattern: findings.Step, onset: 1}, stays: []float64{branch: ofBranch, thrust: ofThrust, lost: 0}, best: make([]hypothesis, len(rows)), none: 1 - ofBranch - ofThrust}
		e.best[branch].cause, e.best[thrust].cause = open, lost
		return &explanation{components: []component{e}}
	}
	for n, now := range []*explanation{part(open, 0.55, 0.43), part(lost, 0.02, 0.97), part(lost, 0.1, 0.89), part(lost, 0.3, 0.69), part(open, 0.8, 0.19)} {
		b.a.n = n + 1
		b.judge(b.a.n, now)
		require.Len(t, rep.Alarms, 1, "dive %d", n+2)
		assert.Nil(t, rep.Alarms[0].ClearedDive, "dive %d", n+2)
	}
	assert.Equal(t, "ohm", rep.Alarms[0].Quantity)
}

// What one of several thrusters has, which the readings do not tell apart, is worded as of any of them, with the quantity of the
// likeliest, under the name of what all have; beside what may be of all it is that's.
func TestAnyOf(t *testing.T) {
	a := plain(predict.LoopOhm, 0.1, 0, 0)
	of := func(names ...string) *causes.Cause {
		var which []findings.Alternative
		for _, name := range names {
			which = append(which, findings.Alternative{Fault: name})
		}
		return a.anyOf(&a.causes[a.index("friction")], which)
	}
	got := of("friction:starboard", "friction:port")
	assert.Equal(t, []string{"friction", "friction_a:starboard", "friction of starboard or port"}, []string{got.Name, got.Quantity, got.Words})
	assert.Nil(t, of("friction:starboard", "friction"))
	assert.Nil(t, of("friction:starboard"))
	assert.Nil(t, of("friction:starboard", "thrust:port"))
	assert.Equal(t, "friction", a.causes[a.index("friction")].Name)
	assert.Equal(t, "friction:starboard", a.causes[a.index("friction:starboard")].Name)
}

// It is said that it may be either where the other one is likely too, and no other that is hardly likely is named.
func TestEitherIsNamedWhereLikely(t *testing.T) {
	a := plain(predict.LoopOhm, 0.1)
	for name, c := range map[string]struct {
		stays map[string]float64
		words string
		alike int
	}{
		"a jam of either":          {map[string]float64{"stall:port": 0.5, "stall:starboard": 0.4, "stall:vertical": 0.05}, "jam of port or starboard", 2},
		"a jam, hardly of another": {map[string]float64{"stall:port": 0.6, "stall:starboard": 0.1, "stall:vertical": 0.1}, "jam of port", 0},
		"open or lost":             {map[string]float64{"branch:port": 0.9, "thrust:port": 0.06}, "open circuit of port or lost propeller of port", 2},
		"open, hardly lost":        {map[string]float64{"branch:port": 0.9, "thrust:port": 0.04}, "open circuit of port", 0},
	} {
		e := component{stays: make([]float64, len(a.causes)), best: make([]hypothesis, len(a.causes))}
		for of, p := range c.stays {
			e.stays[a.index(of)] = p
		}
		for i := range e.best {
			e.best[i].cause = i
		}
		first := a.index("stall:port")
		if c.stays["branch:port"] > 0 {
			first = a.index("branch:port")
			e.cause = a.index("open:port")
			e.best[first].cause, e.best[a.index("thrust:port")].cause = e.cause, a.index("lost:port")
		} else {
			e.cause = first
		}
		row, alike := a.either(&e, first)
		assert.Equal(t, c.words, row.Words, name)
		assert.Len(t, alike, c.alike, name)
		assert.Len(t, a.candidates(&e), max(c.alike, 1), name)
	}
}

// Where no one thruster's thrust is plain, each of those that may have lost it has a trend besides that of all.
func TestCandidatesOfTheRoot(t *testing.T) {
	a := &analysis{causes: causes.Table(vehicle.Example())}
	e := component{stays: make([]float64, len(a.causes)), best: make([]hypothesis, len(a.causes))}
	for i := range e.best {
		e.best[i].cause = i
	}
	e.cause = a.index("thrust:port")
	e.stays[e.cause], e.stays[a.index("thrust:starboard")] = 0.5, 0.45
	assert.Equal(t, []int{e.cause, a.index("thrust:starboard")}, a.candidates(&e))
	e.stays[e.cause], e.stays[a.index("thrust:starboard")] = 0.9, 0.05
	assert.Equal(t, []int{e.cause}, a.candidates(&e))
}

// A service clears the alarms of what it ends, as cleared and not withdrawn, and no others.
func TestAServiceClearsItsAlarms(t *testing.T) {
	rows := []causes.Cause{{Name: "joint", Quantity: "ohm", Cleared: []string{"tether"}}, {Name: "thrust", Quantity: "factor", Cleared: []string{"propeller"}},
		{Name: "contact", Quantity: "ohm", Cleared: []string{"joint"}}, {Name: "drag", Quantity: "drag", Cleared: []string{"hull", "propeller"}}}
	for service, cleared := range map[string][]bool{"tether": {true, false, false}, "joint": {true, false, false}, "propeller": {false, true, true}, "hull": {false, false, true}, "seal": {false, false, false}} {
		rep := &findings.Report{Alarms: []findings.Alarm{{Quantity: "ohm"}, {Quantity: "factor"}, {Quantity: "drag"}}}
		b := &alarmBook{a: &analysis{causes: rows, r: labelled(4)}, rep: rep, open: map[string]int{"ohm": 0, "factor": 1, "drag": 2}, missing: map[string]int{"ohm": 1, "factor": 1, "drag": 1}}
		b.service(2, []string{service})
		for i, want := range cleared {
			alarm := rep.Alarms[i]
			_, open := b.open[alarm.Quantity]
			assert.Equal(t, want, !open, "%s, %s", service, alarm.Quantity)
			if assert.Equal(t, want, alarm.ClearedDive != nil, "%s, %s", service, alarm.Quantity) && want {
				assert.Equal(t, "3", *alarm.ClearedDive)
				assert.NotContains(t, b.missing, alarm.Quantity)
			}
			assert.False(t, alarm.Withdrawn)
		}
	}
}

// A jam is the less likely the more dives it lasts, up to six, whether in a row or by turns; a lost propeller may stay lost.
func TestJamsDoNotLast(t *testing.T) {
	a := &analysis{n: 9, causes: []causes.Cause{{Fails: causes.Failure{Thruster: 1}}, {Fails: causes.Failure{Thruster: 1, How: causes.Lost}}, {}}}
	for _, c := range []struct {
		h     hypothesis
		dives float64 // more than one
	}{{hypothesis{pattern: findings.Step, onset: 9}, 0}, {hypothesis{pattern: findings.Step, onset: 5}, 4}, {hypothesis{pattern: findings.Step, onset: 4}, 5}, {hypothesis{pattern: findings.Step, onset: 0}, 5}, {hypothesis{pattern: findings.Once, onset: 3}, 0},
		{hypothesis{pattern: findings.Turns, onset: 4, on: "101001"}, 2}, {hypothesis{pattern: findings.Step, onset: 2, until: 6}, 3},
		{hypothesis{cause: 1, pattern: findings.Step, onset: 2}, 0}, {hypothesis{cause: 2, pattern: findings.Step, onset: 2}, 0}} {
		assert.InDelta(t, math.Pow(0.85, c.dives), a.lasting(c.h), 1e-12, "%+v", c.h)
	}
}

// A level is past its limit where its range keeps clear of sound by half of the way; else the readings leave it open: friction of
// 0.45 ± 0.34 A, 0.2 A in truth, was "past its limit of 0.3".
func TestPastItsLimit(t *testing.T) {
	v := vehicle.Example()
	m := predict.NewModel(v)
	a := &analysis{r: &fit.Result{Model: m, Base: m.NewParams(), Baseline: 1, Dives: make([]fit.DiveFit, 2)}, causes: causes.Table(v)}
	c := slices.IndexFunc(a.causes, func(c causes.Cause) bool { return c.Name == "friction" })
	limit := 0.3
	for _, x := range []struct {
		low, value float64
		want       string
	}{{0.11, 0.45, findings.CannotTell}, {0.149, 0.31, findings.CannotTell}, {0.151, 0.31, findings.PastLimit}, {0.151, 0.29, findings.NearLimit}, {0.149, 0.29, findings.CannotTell}} {
		level := findings.Estimate{Low: x.low, Value: x.value, High: 2*x.value - x.low}
		assert.Equal(t, x.want, a.stateOf(c, &findings.Trend{Pattern: findings.Steady, Limit: &limit, Level: level, Cause: &a.causes[c]}), "%+v", x)
	}
}
