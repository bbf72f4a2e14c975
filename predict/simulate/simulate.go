// Package simulate makes logbooks with known truth: a vehicle that differs from its file,
// instruments that scatter, and faults that begin at given dives. The design's world has
// the same model as the fit, so it tests the arithmetic and the alarms, not the model; the
// measured world has other physics.
package simulate

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"time"

	"sagline/predict"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// A Season is what happens to a vehicle over some dives.
type Season struct {
	Dives     int
	Start     time.Time
	Seed      uint64
	World     World                            // nil: the design's
	Drift     func(dive int, p predict.Params) // changes the parameters of dive (from 1)
	LineDrift func(dive int, rng *rand.Rand, p predict.Params)
	Noise     func(dive int) float64 // factor on the instruments' noise in a dive; nil: 1
	Jam       func(dive int) int     // 1 + the thruster that is jammed in a dive, 0 for none
	Service   map[int][]string       // parts serviced, by dive, entered on its first line
	Battery   map[int]string         // labels of batteries, by the dive from which they are used
	Without   []quantity.Quantity    // readings that are not taken
	Ohms      bool                   // the loop's ohms and the megohms to the water are read on each dive's first line
	Sparse    bool                   // pull on one dive in four, the vehicle's voltage on one line in three
	Sites     bool                   // fresh and salt water by turns, ballast to match
	Slips     float64                // share of cells written with a misplaced decimal point
	Rough     bool                   // effects that the model leaves out
	Scatter   float64                // factor on the scatter from dive to dive; 0: 1
	AsFile    bool                   // the vehicle is exactly as its file

	Winter      bool                // water from 21 to 4 °C over the season, the battery colder with it
	HeatK       float64             // K that windings warm by under long load
	StreamMS    float64             // standard deviation of a stream along timed runs of 10 m, most of them one way
	Blanks      float64             // share of cells of depth, tether, minute and water temperature that are left empty
	NoDepthFrom int                 // dive from which no depth is written down, 0 for none
	Timed       func(dive int) bool // whether the heave thrusters' climb is timed in a dive; nil: never
	Lights      bool                // the last run ahead is made with lights on, which draw predict.LightsA
	Meters      bool                // every instrument has a gain of its own, the stopwatch a reaction time
}

// departures are standard deviations of how the real vehicle differs from its file, by index of
// predict.Params.
var departures = map[int]float64{predict.LogTorque: 0.06, predict.LogThrust: 0.06, predict.LogPitch: 0.04, predict.LogDrag: 0.12,
	predict.LogClimbDrag: 0.12, predict.TrimG: 12, predict.LoopOhm: 0.006}

// scatter is the standard deviation from dive to dive, by index of predict.Params.
var scatter = map[int]float64{predict.LoopOhm: 0.006, predict.LogThrust: 0.012, predict.TrimG: 4, predict.BatteryOhm: 0.0012}

// varied returns the parameters for which random numbers are drawn, in that order.
func varied(v *vehicle.Vehicle) []int {
	out := []int{predict.LogTorque, predict.LogThrust, predict.LogPitch, predict.LogDrag, predict.LogClimbDrag, predict.TrimG, predict.LoopOhm,
		predict.FrictionA, predict.BatteryOhm, predict.OpenCircuitV, predict.SagVPerMinute}
	for i := range v.Thrusters {
		out = append(out, predict.OfThruster(i, predict.BranchOhm))
	}
	return out
}

// run is one line of the plan that every simulated dive follows.
type run struct {
	drives []session.Drive
	held   bool
	read   []quantity.Quantity
	depth  bool
	lit    bool // of a vehicle that has lights
}

// Log makes a season's log.
func Log(v *vehicle.Vehicle, s Season) *session.Log {
	log, _ := LogTruth(v, s)
	return log
}

// LogTruth makes a season's log and the true parameters of each dive, without what varies from line
// to line.
func LogTruth(v *vehicle.Vehicle, s Season) (*session.Log, []predict.Params) {
	g := newGenerator(v, s)
	real := g.m.NewParams()
	for _, k := range varied(v) {
		if e := g.rng.NormFloat64(); !s.AsFile {
			real[k] += departures[k] * e
		}
	}
	spread := cmp.Or(s.Scatter, 1)
	log := &session.Log{File: session.FileName}
	var truth []predict.Params
	day, battery := s.Start, ""
	for d := 1; d <= s.Dives; d++ {
		p := append(predict.Params(nil), real...)
		for _, k := range varied(v) {
			p[k] += spread * scatter[k] * g.rng.NormFloat64()
		}
		p[predict.OpenCircuitV] += 0.1 * g.rng.NormFloat64()
		p[predict.SagVPerMinute] = 0.004
		if s.Winter {
			p[predict.BatteryPerK] = 0.008
		}
		if s.StreamMS > 0 {
			p[predict.StreamMS] = s.StreamMS * g.more.NormFloat64()
		}
		if s.Drift != nil {
			s.Drift(d, p)
		}
		truth = append(truth, p)
		dive := g.dive(d, day, p)
		if label, ok := s.Battery[d]; ok {
			battery = label
		}
		dive.Battery = battery
		log.Dives = append(log.Dives, dive)
		day = day.AddDate(0, 0, 4+g.rng.IntN(7))
	}
	return log, truth
}

// A generator makes one season.
type generator struct {
	m       *predict.Model
	s       Season
	world   World
	rng     *rand.Rand // for what every season draws
	more    *rand.Rand // for what only some seasons draw
	ballast float64
	rest    float64 // min of the dive so far in which no thruster ran
	gains   [quantity.Count]float64
}

func newGenerator(v *vehicle.Vehicle, s Season) *generator {
	g := &generator{m: predict.NewModel(v), s: s, world: s.World, rng: rand.New(rand.NewPCG(s.Seed, 20)), more: rand.New(rand.NewPCG(s.Seed, 21))}
	if g.world == nil {
		g.world = &design{m: predict.NewModel(v), heat: s.HeatK}
	}
	for q := range g.gains {
		g.gains[q] = 1
		if s.Meters {
			g.gains[q] += meterGain[q] * g.more.NormFloat64()
		}
	}
	return g
}

// plan returns the lines that every simulated dive follows: at rest, pulling against a scale, each
// thruster alone, running ahead, climbing, astern.
func plan(v *vehicle.Vehicle) []run {
	bv, ca, vv := quantity.BatteryV, quantity.CurrentA, quantity.VehicleV
	var ahead, astern []session.Drive
	var surge, heave []run
	for _, t := range v.Thrusters {
		one := []session.Drive{{Name: t.Name}}
		if !t.Surge() {
			heave = append(heave, run{drives: one, depth: true, read: []quantity.Quantity{bv, ca}})
			continue
		}
		r := run{drives: one, depth: true, read: []quantity.Quantity{bv, ca}}
		if len(surge) > 0 {
			r.read = append(r.read, vv)
		}
		surge = append(surge, r)
		ahead = append(ahead, one[0])
		astern = append(astern, session.Drive{Name: t.Name, Reversed: true})
	}
	out := []run{{read: []quantity.Quantity{bv}}, {read: []quantity.Quantity{bv, quantity.Trim}}}
	if len(ahead) > 0 {
		out = append(out, run{drives: ahead, held: true, read: []quantity.Quantity{bv, ca, vv, quantity.Pull}})
		out = append(out, surge...)
		out = append(out, run{drives: ahead, depth: true, read: []quantity.Quantity{bv, ca, vv, quantity.Speed}})
		for _, lit := range []bool{false, true} {
			out = append(out, run{drives: ahead, depth: true, read: []quantity.Quantity{bv, ca, quantity.Speed}, lit: lit})
		}
	}
	out = append(out, heave...)
	out = append(out, run{depth: true, read: []quantity.Quantity{bv, quantity.Climb}})
	if len(astern) > 0 {
		out = append(out, run{drives: astern, depth: true, read: []quantity.Quantity{bv, ca, quantity.Speed}})
	}
	return append(out, run{read: []quantity.Quantity{bv}})
}

func (g *generator) dive(d int, day time.Time, p predict.Params) session.Dive {
	s, rng := g.s, g.rng
	out := session.Dive{Label: strconv.Itoa(d), Date: day}
	water := written("water_c", g.waterC(d, day), 1)
	minute, depth := 2.0, 2+4*rng.Float64()
	salt := 0.0
	if s.Sites {
		salt = float64(rng.IntN(4)) * 11
		c := predict.Condition{Sign: make([]int8, len(g.m.Vehicle.Thrusters)), WaterC: water.X, Salinity: salt, BallastG: g.ballast}
		wanted := g.m.NetBuoyancyG(&c, g.m.NewParams()) - g.m.Vehicle.Hull.TrimG
		g.ballast += 10 * math.Round(wanted/9)
	}
	g.world.Dive(p)
	pulls := !s.Sparse || g.more.IntN(4) == 0
	g.rest = minute
	last, worn := 0.0, 0.0 // V by which recent load has lowered a battery that recovers slowly
	for i, r := range plan(g.m.Vehicle) {
		if s.Timed != nil && s.Timed(d) && g.heaves(r) {
			r.read = append(slices.Clone(r.read), quantity.Climb)
		}
		if s.Ohms && i == 0 {
			r.read = append(r.read, quantity.LoopOhm, quantity.Insulation)
		}
		l := session.Line{Electrical: true, Drives: r.drives, Held: r.held, Salinity: salt, BallastG: g.ballast, Lights: s.Lights && r.lit}
		l.Put(water)
		l.Put(written("minute", minute, 0))
		at := 0.0
		if r.depth {
			at = depth + 0.3*rng.NormFloat64()
		}
		l.Put(written("depth_m", max(at, 0), 1))
		l.Put(written("tether_out_m", math.Min(max(at, 0)+4+10*rng.Float64(), g.m.Vehicle.Tether.LengthM), 0))
		if i == 0 {
			l.Serviced = s.Service[d]
		}
		line := append(predict.Params(nil), p...)
		if s.LineDrift != nil && len(r.drives) > 0 {
			s.LineDrift(d, rng, line)
		}
		if s.Rough {
			worn = roughen(g.m, r, line, minute, worn)
		}
		if !r.held || pulls {
			g.read(d, &l, r, line, minute-last)
			g.blank(d, &l)
			out.Lines = append(out.Lines, l)
		}
		last = minute
		minute += float64(2 + rng.IntN(3))
		if len(r.drives) == 0 {
			g.rest += minute - last
		}
	}
	return out
}

// heaves reports whether only heave thrusters run.
func (g *generator) heaves(r run) bool {
	return len(r.drives) > 0 && !slices.ContainsFunc(r.drives, func(d session.Drive) bool {
		t := g.m.Vehicle.Thrusters[slices.Index(g.m.Vehicle.ThrusterNames(), d.Name)]
		return t.Surge()
	})
}

// waterC returns the water's temperature on a dive, °C.
func (g *generator) waterC(d int, day time.Time) float64 {
	season := 2 * math.Pi * float64(day.YearDay()-110) / 365
	c := 13 + 6*math.Sin(season) + g.rng.NormFloat64()
	if g.s.Winter {
		c = 21 - 17*float64(d-1)/float64(max(g.s.Dives-1, 1)) + g.more.NormFloat64()
	}
	return c
}

// blank leaves cells of a line's circumstances empty.
func (g *generator) blank(d int, l *session.Line) {
	if g.s.NoDepthFrom > 0 && d >= g.s.NoDepthFrom {
		l.Depth = session.Value{}
	}
	if g.s.Blanks == 0 {
		return
	}
	for _, v := range []*session.Value{&l.Depth, &l.TetherOut, &l.Minute, &l.WaterC} {
		if g.more.Float64() < g.s.Blanks {
			*v = session.Value{}
		}
	}
}

// condition returns what a line is read under.
func (g *generator) condition(d int, l *session.Line, r run) *predict.Condition {
	v := g.m.Vehicle
	signs, _ := l.Signs(v.ThrusterNames())
	c := &predict.Condition{Sign: signs, Electrical: true, Held: r.held, Lights: l.Lights, Minute: l.Minute.X, RestMin: g.rest,
		DepthM: l.Depth.X, TetherOutM: l.TetherOut.X, WaterC: l.WaterC.X, Salinity: l.Salinity, BallastG: l.BallastG}
	if g.s.NoDepthFrom == 1 && !r.held {
		c.DepthAssumed = 1
	}
	if g.s.Jam != nil {
		c.Jammed = g.s.Jam(d)
	}
	for _, q := range r.read {
		c.Climbing = c.Climbing || q == quantity.Climb
	}
	return c
}

// roughen adds what the model leaves out: windings that warm up over a dive, drag that falls with
// speed, a battery that polarises under load. It returns the voltage that is still lost at the next
// line.
func roughen(m *predict.Model, r run, p predict.Params, minute, worn float64) float64 {
	for i := range m.Vehicle.Thrusters {
		p[predict.OfThruster(i, predict.BranchOhm)] += m.Vehicle.Thrusters[i].ArmatureOhm * 0.0039 * min(minute, 30) * 0.8
	}
	p[predict.LogDrag] += 0.1 * (1 - float64(len(r.drives))) // the faster, the less drag
	p[predict.OpenCircuitV] -= worn
	return 0.6*worn + 0.012*float64(len(r.drives))
}
