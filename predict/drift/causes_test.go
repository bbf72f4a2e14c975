package drift_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
)

// at adds x to a parameter from the onset on, ramp x more with each dive.
func at(k int, x float64) func(predict.Params, float64) {
	return func(p predict.Params, _ float64) { p[k] += x }
}

func ramp(k int, x float64) func(predict.Params, float64) {
	return func(p predict.Params, n float64) { p[k] += x * n }
}

// port and starboard are the surge thrusters of a simulated vehicle.
const port, starboard, vertical = 0, 1, 2

// A case of a cause: how it goes on, and within how many dives of its onset it
// must raise its alarm.
type caseOf struct {
	cause   string
	pattern string
	scenario
	delay int
	right []string // what else is a right name for it
	// besides are what else its dives look like, on some of them
	besides []string
	open    bool // these readings hardly tell which of them it is: there need be no alarm
}

// loose is a contact that opens on some lines.
func loose(s *simulate.Season) {
	s.LineDrift = func(d int, rng *rand.Rand, p predict.Params) {
		if x := rng.Float64(); d >= onset && x < 0.4 {
			p[predict.LoopOhm] += 0.3
		}
	}
}

// comesAndGoes is a thruster's contact that is worse in most dives, unlike from dive to dive.
func comesAndGoes(thruster int) func(predict.Params, float64) {
	ohm := [...]float64{0.8, 0.5, 0, 1.1, 0.4, 0, 0.9, 0.6}
	return func(p predict.Params, n float64) {
		p[predict.OfThruster(thruster, predict.BranchOhm)] += ohm[(int(n)-1)%len(ohm)]
	}
}

func jammed(thruster int) func(*simulate.Season) {
	return func(s *simulate.Season) {
		s.Jam = func(d int) int {
			if d < onset {
				return 0
			}
			return thruster + 1
		}
	}
}

// lost is what a propeller that comes off does.
func lost(thruster int) func(predict.Params, float64) {
	return func(p predict.Params, _ float64) {
		p[predict.OfThruster(thruster, predict.LogOneThrust)] -= 3
		p[predict.OfThruster(thruster, predict.LogOneTorque)] -= 3
	}
}

// pitch is what finer or coarser propellers do.
func pitch(x float64) func(predict.Params, float64) {
	return func(p predict.Params, _ float64) {
		p[predict.LogPitch] += x
		p[predict.LogThrust] += x
		p[predict.LogTorque] += 1.5 * x
	}
}

// onePitch is what a coarser propeller on one thruster does.
func onePitch(thruster int) func(predict.Params, float64) {
	return func(p predict.Params, _ float64) {
		p[predict.OfThruster(thruster, predict.LogOnePitch)] += 0.2
		p[predict.OfThruster(thruster, predict.LogOneThrust)] += 0.2
		p[predict.OfThruster(thruster, predict.LogOneTorque)] += 0.3
	}
}

// weaker is what magnets that weaken do.
func weaker(x float64, thrusters ...int) func(predict.Params, float64) {
	return func(p predict.Params, _ float64) {
		for _, i := range thrusters {
			p[predict.OfThruster(i, predict.LogWeakness)] += x
		}
	}
}

// batteryMeter is a voltmeter at the battery that reads wrong by itself.
func batteryMeter(x float64) func(predict.Params, float64) {
	return func(p predict.Params, _ float64) {
		p[predict.LogVolts] += x
		p[predict.LogVehicleV] -= x
	}
}

func battery(ohm, volts float64) func(predict.Params, float64) {
	return func(p predict.Params, _ float64) {
		p[predict.BatteryOhm] += ohm
		p[predict.OpenCircuitV] += volts
	}
}

// mended is a change that the first dives have, until the onset.
func mended(change func(predict.Params, float64)) scenario {
	return scenario{season: between(1, onset, change)}
}

// lit is a vehicle with lights on in one of its runs, which draw more from the onset on.
func lit(amps float64) scenario {
	const were = 1.6
	return scenario{change: at(predict.LightsA, amps), season: func(s *simulate.Season) {
		s.Lights = true
		always(predict.LightsA, were)(s)
	}, file: func(v *vehicle.Vehicle) *vehicle.Vehicle {
		with := *v
		with.Lights.CurrentA = were
		return &with
	}}
}

// camera is a vehicle with a camera that is off from the onset on.
func camera(amps float64) scenario {
	return scenario{change: at(predict.UnloggedA, -amps), season: always(predict.UnloggedA, amps), file: func(v *vehicle.Vehicle) *vehicle.Vehicle {
		with := *v
		with.Camera.CurrentA = amps
		return &with
	}}
}

// cases are at least one of every row of the table of causes.
var cases = []caseOf{
	{cause: "power_loop", pattern: findings.Ramp, scenario: scenario{change: ramp(predict.LoopOhm, 0.02)}, delay: 3},
	{cause: "power_loop", pattern: findings.Step, scenario: scenario{change: at(predict.LoopOhm, 0.15)}, delay: 1},
	{cause: "intermittent_contact", pattern: findings.Intermittent, scenario: scenario{season: loose}, delay: 3, besides: []string{"power_loop", "branch"}},
	{cause: "thrust", pattern: findings.Ramp, scenario: scenario{change: ramp(predict.LogThrust, -0.03)}, delay: 5},
	{cause: "thrust", pattern: findings.Step, scenario: scenario{change: at(predict.LogThrust, -0.2)}, delay: 2},
	{cause: "friction", pattern: findings.Ramp, scenario: scenario{change: ramp(predict.FrictionA, 0.06)}, delay: 7},
	{cause: "friction", pattern: findings.Step, scenario: scenario{change: at(predict.FrictionA, 0.4)}, delay: 3},
	{cause: "drag", pattern: findings.Ramp, scenario: scenario{change: ramp(predict.LogDrag, 0.06)}, delay: 4},
	{cause: "drag", pattern: findings.Step, scenario: scenario{change: at(predict.LogDrag, 0.37)}, delay: 4},
	{cause: "ingress", pattern: findings.Ramp, scenario: scenario{change: ramp(predict.TrimG, -5)}, delay: 6},
	{cause: "ingress", pattern: findings.Step, scenario: scenario{change: at(predict.TrimG, -50)}, delay: 2},
	{cause: "battery", pattern: findings.Ramp, scenario: scenario{change: ramp(predict.BatteryOhm, 0.002)}, delay: 5},
	{cause: "battery", pattern: findings.Step, scenario: scenario{change: at(predict.BatteryOhm, 0.02)}, delay: 5, right: []string{"not_logged:battery"}},
	{cause: "insulation", pattern: findings.Ramp, scenario: scenario{change: ramp(predict.LogInsulation, -0.6), meters: true}, delay: 5},
	{cause: "insulation", pattern: findings.Step, scenario: scenario{change: at(predict.LogInsulation, -4), meters: true}, delay: 1},
	{cause: "branch:port", pattern: findings.Ramp, scenario: scenario{change: ramp(predict.OfThruster(port, predict.BranchOhm), 0.04)}, delay: 3},
	{cause: "branch:starboard", pattern: findings.Step, scenario: scenario{change: at(predict.OfThruster(starboard, predict.BranchOhm), 0.25)}, delay: 1},
	{cause: "branch:port", pattern: findings.Step, scenario: scenario{change: at(predict.OfThruster(port, predict.BranchOhm), 1.7)}, delay: 1},
	{cause: "branch:vertical", pattern: findings.Step, scenario: scenario{change: at(predict.OfThruster(vertical, predict.BranchOhm), 0.45)}, delay: 5},
	{cause: "thrust:port", pattern: findings.Step, scenario: scenario{change: at(predict.OfThruster(port, predict.LogOneThrust), -0.35)}, delay: 2, right: []string{"thrust"}},
	{cause: "thrust:starboard", pattern: findings.Step, scenario: scenario{change: at(predict.OfThruster(starboard, predict.LogOneThrust), -0.35)}, delay: 2, right: []string{"thrust"}},
	{cause: "friction:port", pattern: findings.Step, scenario: scenario{change: at(predict.OfThruster(port, predict.OneFrictionA), 0.5)}, delay: 7},
	{cause: "friction:starboard", pattern: findings.Ramp, scenario: scenario{change: ramp(predict.OfThruster(starboard, predict.OneFrictionA), 0.08)}, delay: 7},
	{cause: "motor:port", pattern: findings.Step, scenario: scenario{change: at(predict.OfThruster(port, predict.LogWeakness), 0.15)}, delay: 2},
	{cause: "motor:starboard", pattern: findings.Step, scenario: scenario{change: at(predict.OfThruster(starboard, predict.LogWeakness), 0.15)}, delay: 2},
	{cause: "stall:port", pattern: findings.Step, scenario: scenario{season: jammed(port)}, delay: 0},
	{cause: "stall:starboard", pattern: findings.Step, scenario: scenario{season: jammed(starboard)}, delay: 0},
	{cause: "open:port", pattern: findings.Step, scenario: scenario{change: at(predict.OfThruster(port, predict.BranchOhm), 1000)}, right: []string{"branch:port"}},
	{cause: "open:starboard", pattern: findings.Step, scenario: scenario{change: at(predict.OfThruster(starboard, predict.BranchOhm), 1e4)}, right: []string{"branch:starboard"}},
	{cause: "lost:port", pattern: findings.Step, scenario: scenario{change: lost(port)}, right: []string{"thrust:port", "branch:port"}},
	{cause: "lost:starboard", pattern: findings.Step, scenario: scenario{change: lost(starboard)}, right: []string{"thrust:starboard", "branch:starboard"}},
	{cause: "instrument:current_a", pattern: findings.Step, scenario: scenario{change: at(predict.LogClamp, 0.08)}, delay: 2},
	{cause: "instrument:current_a", pattern: findings.Step, scenario: scenario{change: at(predict.LogClamp, -0.08)}, delay: 2},
	{cause: "instrument:current_a:zero", pattern: findings.Step, scenario: scenario{change: at(predict.ClampZeroA, 0.5)}, delay: 2},
	{cause: "instrument:voltage", pattern: findings.Step, scenario: scenario{change: at(predict.LogVolts, -0.03)}, delay: 3},
	{cause: "instrument:vehicle_v", pattern: findings.Step, scenario: scenario{change: at(predict.LogVehicleV, -0.04)}, delay: 2},
	{cause: "instrument:vehicle_v", pattern: findings.Step, scenario: scenario{change: at(predict.LogVehicleV, 0.04)}, delay: 2},
	{cause: "instrument:vehicle_v", pattern: findings.Step, scenario: scenario{change: batteryMeter(0.045)}, delay: 2},
	{cause: "instrument:loop_ohm", pattern: findings.Ramp, scenario: scenario{change: ramp(predict.LoopMeterOhm, 0.03), meters: true}, delay: 3},
	{cause: "instrument:loop_ohm", pattern: findings.Step, scenario: scenario{change: at(predict.LoopMeterOhm, 0.2), meters: true}, delay: 1},
	{cause: "instrument:speed", pattern: findings.Step, scenario: scenario{change: at(predict.LogSpeed, 0.15)}, delay: 2},
	{cause: "instrument:pull", pattern: findings.Step, scenario: scenario{change: at(predict.LogPull, -0.15)}, delay: 3},
	{cause: "instrument:trim", pattern: findings.Step, scenario: scenario{change: at(predict.TrimZeroG, 60)}, delay: 3, right: []string{"ballast"}},
	{cause: "ballast", pattern: findings.Step, scenario: scenario{change: at(predict.TrimG, 70)}, delay: 1},
	{cause: "not_logged:salinity", pattern: findings.Step, scenario: scenario{change: at(predict.SalinityPSU, 12)}, delay: 2, right: []string{"ballast"}},
	{cause: "not_logged:battery", pattern: findings.Step, scenario: scenario{change: battery(-0.012, 0.5)}, delay: 3},
	{cause: "not_logged:lights", pattern: findings.Step, scenario: scenario{change: at(predict.UnloggedA, 0.8)}, delay: 1},
	{cause: "not_logged:depth", pattern: findings.Step, scenario: scenario{change: at(predict.AssumedDepthM, 3), season: func(s *simulate.Season) { s.NoDepthFrom = 1 }}, open: true, right: []string{"drag", "instrument:speed"}},
	{cause: "not_logged:reel", pattern: findings.Step, scenario: scenario{change: at(predict.ReelK, 40), meters: true}, delay: 7, besides: []string{"power_loop"}},
	{cause: "not_logged:propeller", pattern: findings.Step, scenario: scenario{change: pitch(0.2)}, delay: 2},
	{cause: "not_logged:propeller:surge", pattern: findings.Step, scenario: scenario{change: func(p predict.Params, _ float64) {
		for _, i := range []int{port, starboard} {
			p[predict.OfThruster(i, predict.LogOnePitch)] += 0.2
			p[predict.OfThruster(i, predict.LogOneThrust)] += 0.2
			p[predict.OfThruster(i, predict.LogOneTorque)] += 0.3
		}
	}}, delay: 2, right: []string{"not_logged:propeller"}},
	{cause: "not_logged:repair:power_loop", pattern: findings.Step, scenario: mended(at(predict.LoopOhm, 0.2)), delay: 1},
	{cause: "not_logged:repair:thrust", pattern: findings.Step, scenario: mended(at(predict.LogThrust, -0.2)), delay: 2},
	{cause: "not_logged:repair:friction", pattern: findings.Step, scenario: mended(at(predict.FrictionA, 0.4)), delay: 3},
	{cause: "not_logged:repair:drag", pattern: findings.Step, scenario: mended(at(predict.LogDrag, 0.4)), delay: 6, besides: []string{"instrument:speed"}},
	{cause: "not_logged:repair:branch:port", pattern: findings.Step, scenario: mended(at(predict.OfThruster(port, predict.BranchOhm), 0.3)), delay: 2},
	{cause: "not_logged:repair:branch:starboard", pattern: findings.Step, scenario: mended(at(predict.OfThruster(starboard, predict.BranchOhm), 0.3)), delay: 2},
	{cause: "not_logged:lights:lit", pattern: findings.Step, scenario: lit(-1), delay: 3, right: []string{"not_logged:lights"}},
	{cause: "not_logged:lights:camera", pattern: findings.Step, scenario: camera(0.5), delay: 3, right: []string{"not_logged:lights"}},
	{cause: "not_logged:lights:gone", pattern: findings.Step, scenario: scenario{change: at(predict.UnloggedA, -0.8), season: always(predict.UnloggedA, 0.8)}, delay: 3, right: []string{"not_logged:lights"}},
	{cause: "thrust", pattern: findings.Step, scenario: scenario{change: func(p predict.Params, _ float64) {
		p[predict.LogThrust] -= 0.35
		p[predict.LogTorque] -= 0.09
	}}, delay: 1},
	{cause: "branch:port", pattern: findings.Step, scenario: scenario{change: func(p predict.Params, _ float64) {
		p[predict.OfThruster(port, predict.BranchOhm)] += 0.5
		p[predict.OfThruster(port, predict.ReverseOhm)] -= 0.5
	}}, delay: 1},
	{cause: "branch:port", pattern: findings.Step, scenario: scenario{change: at(predict.OfThruster(port, predict.ReverseOhm), 0.8)}, open: true, right: []string{"branch:starboard"}},
	{cause: "not_logged:lights:lit", pattern: findings.Step, scenario: lit(0.8), delay: 2, right: []string{"not_logged:lights"}},
	{cause: "battery", pattern: findings.Step, scenario: scenario{change: func(p predict.Params, _ float64) { // the fuse holder, before voltmeter and ohmmeter
		p[predict.BatteryOhm] += 0.15
		p[predict.LoopMeterOhm] += 0.15
	}, meters: true}, delay: 1},
	{cause: "contact:port", pattern: findings.Intermittent, scenario: scenario{change: comesAndGoes(port)}, delay: 2, right: []string{"branch:port"}},
	{cause: "contact:starboard", pattern: findings.Intermittent, scenario: scenario{change: comesAndGoes(starboard)}, delay: 2, right: []string{"branch:starboard"}},
	{cause: "instrument:voltage:place", pattern: findings.Step, scenario: scenario{change: func(p predict.Params, _ float64) {
		p[predict.BatteryOhm] += 0.08
		p[predict.LoopOhm] -= 0.08
	}}, delay: 2},
	{cause: "motor", pattern: findings.Ramp, scenario: scenario{change: func(p predict.Params, n float64) { weaker(0.02*n, port, starboard, vertical)(p, n) }}, delay: 6},
	{cause: "floats", pattern: findings.Step, scenario: scenario{change: at(predict.TrimPerM, 6)}, open: true, right: []string{"ingress", "instrument:trim"}},
	{cause: "not_logged:one_propeller:port", pattern: findings.Step, scenario: scenario{change: onePitch(port)}, delay: 2, right: []string{"not_logged:propeller", "motor"}},
	{cause: "not_logged:one_propeller:starboard", pattern: findings.Step, scenario: scenario{change: onePitch(starboard)}, delay: 2, right: []string{"not_logged:propeller", "motor"}},
	{cause: "not_logged:climb", pattern: findings.Step, scenario: scenario{brisk: true, season: between(1, onset, at(predict.ClimbShare, 0.9))}, open: true, right: []string{"not_logged:repair:branch:vertical", "friction:vertical"}},
}

// unseen are the causes that simulated logs leave open: of the heave thruster
// they read the current alone; a battery that comes ever less full takes more dives.
var unseen = []string{"not_logged:battery:charge", "not_logged:repair:branch:vertical", "thrust:vertical", "friction:vertical", "motor:vertical", "stall:vertical", "open:vertical", "lost:vertical", "contact:vertical"}

func TestEveryCauseHasACase(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range cases {
		seen[c.cause] = true
	}
	for _, c := range unseen {
		seen[c] = true
	}
	for _, c := range causes.Table(simulate.Fleet(1)) {
		assert.True(t, seen[c.Name], c.Name)
	}
}

// Every cause is found within some dives, named, and nothing else is blamed; a step of each, one for thrusters that are
// alike, outlasts the service of another part and ends with that of its own. The benchmark tries more vehicles.
func TestOperatingCharacteristics(t *testing.T) {
	unhurried(t)
	results, after, by := make([]*result, len(cases)), make([]*result, len(cases)), services()
	all(len(results), func(i int) {
		c, seed := &cases[i], uint64(1+i%2)
		if by, ok := by[i]; ok {
			r := c.serviced(t, seed, by)
			before := *r
			before.fit = r.fit.Upto(served - 1)
			before.Report = drift.Analyse(before.fit)
			results[i], after[i] = &before, r
			return
		}
		results[i] = c.try(t, seed)
	})
	var levels, onsets, left share
	for i, r := range results {
		c, seed := &cases[i], 1+i%2
		t.Run(fmt.Sprintf("%s %s %d", c.cause, c.pattern, seed), func(t *testing.T) {
			consistent(t, r.Report, len(r.fit.Dives))
			c.found(t, r)
			c.measure(t, r, &levels, &onsets, &left)
		})
		if r := after[i]; r != nil {
			t.Run(fmt.Sprintf("%s by %s, not by %s", c.cause, by[i].part, by[i].other), func(t *testing.T) {
				consistent(t, r.Report, someDives)
				c.ended(t, r, by[i])
			})
		}
	}
	levels.atLeast(t, 0.93, "levels")
	onsets.atLeast(t, 0.9, "onsets")
	left.atLeast(t, 0.85, "dives to the limit")
}

// found checks alarm and finding.
func (c *caseOf) found(t *testing.T, r *result) {
	table := causes.Table(r.vehicle)
	var row *causes.Cause
	for i := range table {
		if table[i].Name == c.cause {
			row = &table[i]
		}
	}
	names := append([]string{c.cause}, c.right...)
	if assert.NotEmpty(t, r.Findings) {
		f := r.Findings[0]
		assert.True(t, isCase(f.Fault, names), "named %s", named(r.Report))
		assert.True(t, c.open || f.Alarm)
		assert.True(t, c.open || f.Sure() > 0.5, "%.2f", f.Sure())
		for _, f := range r.Findings[1:] {
			assert.True(t, isCase(f.Fault, c.besides), "also named %s", f.Fault)
		}
	}
	names = append(names, row.Of) // until the readings say which case it is
	var first *findings.Alarm
	for i := range r.Alarms {
		a := &r.Alarms[i]
		if isCase(a.Cause.Name, c.besides) {
			continue
		}
		assert.GreaterOrEqual(t, number(t, a.RaisedDive), onset, "%s before anything was wrong", a.Quantity)
		assert.True(t, isCase(a.Cause.Name, names), "alarm for %s at %s", a.Cause.Name, a.RaisedDive)
		assert.Nil(t, a.ClearedDive)
		if first == nil {
			first = a
		}
	}
	if !c.open && assert.NotNil(t, first, "no alarm") {
		assert.LessOrEqual(t, number(t, first.RaisedDive)-onset, c.delay, "dives until %s", first.Quantity)
		assert.InDelta(t, onset, number(t, first.OnsetDive), 4, "onset of %s", first.Quantity)
	}
}

// A share counts how often something holds.
type share struct{ held, of int }

func (s *share) add(held bool) {
	if s.of++; held {
		s.held++
	}
}

func (s *share) atLeast(t *testing.T, least float64, of string) {
	t.Helper()
	assert.GreaterOrEqual(t, float64(s.held), least*float64(s.of), "%s: %d of %d", of, s.held, s.of)
	t.Logf("%s: %d of %d", of, s.held, s.of)
}

// Level, onset and dives to the limit of ramps lie in their ranges, whenever one
// looks and in a world of other physics too. VEHICLES=10 tries as many vehicles.
func TestRampsLieInTheirRanges(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	n, some := fromEnv("VEHICLES")
	var ramps []caseOf
	for _, c := range cases {
		if c.pattern == findings.Ramp && c.change != nil {
			ramps = append(ramps, c)
		}
	}
	var levels, onsets, left share
	var mu sync.Mutex
	all(2*n*len(ramps)/some, func(i int) {
		i = i*some + i%some
		c, seed := ramps[i%len(ramps)], uint64(70+i/len(ramps))
		if i%2 == 1 {
			c.world = "measured"
		}
		v, log, truth := c.simulated(seed, onset+4+int(seed*7+uint64(i))%12, onset)
		r := &result{vehicle: v, log: log, truth: truth}
		r.fit = fitOf(t, r, len(log.Dives))
		r.Report = drift.Analyse(r.fit)
		mu.Lock()
		defer mu.Unlock()
		c.measure(t, r, &levels, &onsets, &left)
	})
	levels.atLeast(t, 0.9, "levels")
	onsets.atLeast(t, 0.8, "onsets")
	left.atLeast(t, 0.85, "dives to the limit")
	assert.Greater(t, left.of, len(ramps)*n/some)
}

// So do the levels of faults that slow down, speed up or grow in steps of four dives.
func TestLevelsOfBentRampsLieInTheirRanges(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	bends := []func(float64) float64{
		func(x float64) float64 { return 10 * (1 - math.Exp(-x/5)) },
		func(x float64) float64 { return x * x / 10 },
		func(x float64) float64 { return 4 * math.Ceil(x/4) },
	}
	var ramps []caseOf
	for _, c := range cases {
		if c.pattern == findings.Ramp && c.change != nil && c.cause != "battery" { // whose sound level is not the file's
			ramps = append(ramps, c)
		}
	}
	var levels share
	var mu sync.Mutex
	n, some := fromEnv("VEHICLES")
	all(len(bends)*len(ramps)*n/some, func(i int) {
		i = i*some + i%some
		c, bend := ramps[i%len(ramps)], bends[i/len(ramps)%len(bends)]
		straight := c.change
		c.change = func(p predict.Params, x float64) { straight(p, bend(x)) }
		v, log, truth := c.simulated(uint64(270+i), onset+6+i%14, onset)
		r := &result{vehicle: v, log: log, truth: truth}
		r.fit = fitOf(t, r, len(log.Dives))
		r.Report = drift.Analyse(r.fit)
		change := make(predict.Params, r.fit.Model.Dim())
		c.change(change, float64(len(r.fit.Dives)-onset+1))
		mu.Lock()
		defer mu.Unlock()
		for i := range r.Trends {
			if tr := &r.Trends[i]; tr.Cause.Name == c.cause {
				levels.add(inside(tr.Level, tr.Cause.Scale.Show(change[tr.Cause.Param()], r.sound(tr.Cause.Param()))))
			}
		}
	})
	levels.atLeast(t, 0.65, "levels")
}

// measure counts which intervals hold what is true at the newest dive.
func (c *caseOf) measure(t testing.TB, r *result, levels, onsets, left *share) {
	for _, f := range r.Findings {
		onsets.add(number(t, f.OnsetFrom) <= onset && onset <= number(t, f.OnsetTo))
	}
	change, next := make(predict.Params, r.fit.Model.Dim()), make(predict.Params, r.fit.Model.Dim())
	if c.change != nil {
		n := len(r.fit.Dives)
		c.change(change, float64(n-onset+1))
		c.change(next, float64(n-onset+2))
	}
	for i := range r.Trends {
		tr := &r.Trends[i]
		k, scale := tr.Cause.Param(), tr.Cause.Scale
		if tr.Cause.Kind != causes.Vehicle || k < 0 || c.pattern == findings.Intermittent || change[k] != 0 && tr.Cause.Name != c.cause {
			continue
		}
		sound := r.sound(k)
		levels.add(inside(tr.Level, scale.Show(change[k], sound)))
		if tr.DivesToLimit != nil {
			dives := (scale.Amplitude(*tr.Limit, sound) - change[k]) / (next[k] - change[k])
			left.add(inside(*tr.DivesToLimit, max(dives, 0)))
		}
	}
}

// fromEnv is how many there shall be of what a variable of the environment names; 1, and of that one case in some
// alone, where it does not say.
func fromEnv(name string) (n, some int) {
	if x, err := strconv.Atoi(os.Getenv(name)); err == nil {
		return x, 1
	}
	return 1, 2
}

// sound is what the file has of an absolute quantity.
func (r *result) sound(k int) float64 {
	switch k {
	case predict.BatteryOhm:
		return r.vehicle.Battery.ResistanceOhm
	case predict.LogInsulation:
		return r.fit.Model.NewParams()[k]
	}
	return 0
}

func inside(e findings.Estimate, x float64) bool { return e.Low <= x && x <= e.High }

// Of what scatters from dive to dive, a step between two dives of the baseline and the next two is found too.
func TestAStepWithinTheBaseline(t *testing.T) {
	for cause, change := range map[string]func(predict.Params, float64){
		"power_loop": at(predict.LoopOhm, 0.2), "thrust": at(predict.LogThrust, -0.3), "ingress": at(predict.TrimG, -90),
	} {
		for _, from := range []int{3, 4} {
			_, log, truth := scenario{change: change}.simulated(901, 12, from)
			v := simulate.Fleet(901)
			rep := (&result{vehicle: v, log: log, truth: truth}).until(t, 12)
			require.NotEmpty(t, rep.Findings, cause)
			f := rep.Findings[0]
			assert.Equal(t, cause, f.Fault, "from %d", from)
			assert.Equal(t, from, number(t, f.SinceDive), cause)
		}
	}
}

// What has begun within the baseline and does so again, far more, is that twice and nothing else.
func TestAgainAfterTheBaseline(t *testing.T) {
	for cause, ohm := range map[string]struct{ first, then, last float64 }{"power_loop": {0, 0.15, 0.45}, "not_logged:repair:power_loop": {0.45, 0.3, 0}} {
		for seed := range uint64(3) {
			r := scenario{meters: true, season: func(x *simulate.Season) {
				x.Drift = func(d int, p predict.Params) {
					switch {
					case d < 4:
						p[predict.LoopOhm] += ohm.first
					case d < onset:
						p[predict.LoopOhm] += ohm.then
					default:
						p[predict.LoopOhm] += ohm.last
					}
				}
			}}.try(t, 40+seed)
			require.NotEmpty(t, r.Findings, cause)
			for _, f := range r.Findings {
				assert.Equal(t, cause, f.Fault, "seed %d", seed)
			}
		}
	}
}

// What begins within the baseline, after some sound dives, is found with the dives that follow, and when it began; it is
// alarmed at no dive that the calibration rests on. A sound baseline is so still.
func TestWithinTheBaseline(t *testing.T) {
	const from, dives = 3, 12
	for i := range cases {
		c := &cases[i]
		switch {
		case c.pattern != findings.Step:
			continue
		case !slices.Contains([]string{"instrument:current_a", "instrument:current_a:zero", "instrument:trim", "branch:vertical"}, c.cause):
			continue
		}
		v, log, truth := c.scenario.simulated(901, dives, from)
		rep := (&result{vehicle: v, log: log, truth: truth}).until(t, dives)
		if !assert.Len(t, rep.Findings, 1, c.cause) {
			continue
		}
		f := rep.Findings[0]
		assert.Equal(t, c.cause, f.Fault)
		assert.LessOrEqual(t, number(t, f.OnsetFrom), from, c.cause)
		assert.GreaterOrEqual(t, number(t, f.OnsetTo), from, c.cause)
		assert.LessOrEqual(t, number(t, f.OnsetTo), v.Baseline.Dives, "%s: not after the baseline", c.cause)
		for _, a := range rep.Alarms {
			assert.Greater(t, number(t, a.RaisedDive), v.Baseline.Dives, c.cause)
		}
	}
}
