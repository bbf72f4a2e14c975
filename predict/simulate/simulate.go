// Package simulate makes logbooks whose truth is known: a vehicle that
// differs from its file, instruments that scatter, and faults that begin when
// they are told to. It believes in the same model as the fit, so it proves
// the arithmetic and the alarms, not the model.
package simulate

import (
	"math"
	"math/rand/v2"
	"slices"
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
	Drift     func(dive int, p predict.Params) // changes the parameters of dive (from 1)
	LineDrift func(dive int, rng *rand.Rand, p predict.Params)
	Service   map[int][]string    // parts, by dive, done on its first line
	Without   []quantity.Quantity // readings that are not taken
	Sites     bool                // fresh and salt water by turns, ballast to match
	Slips     float64             // share of cells written with the decimal point astray
	Rough     bool                // effects that the model leaves out
	Scatter   float64             // dive-to-dive scatter, 0: as usual (1)
}

// departures is one standard deviation of how the real vehicle differs from
// its file, by index of predict.Params.
var departures = map[int]float64{predict.LogTorque: 0.06, predict.LogThrust: 0.06, predict.LogPitch: 0.04, predict.LogDrag: 0.12,
	predict.LogClimbDrag: 0.12, predict.TrimG: 12, predict.LoopOhm: 0.006}

// scatter is one standard deviation from dive to dive.
var scatter = map[int]float64{predict.LoopOhm: 0.006, predict.LogThrust: 0.012, predict.TrimG: 4, predict.BatteryOhm: 0.0012}

// varied are the parameters that random numbers are drawn for, in that order.
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
}

// Log makes a season's log.
func Log(v *vehicle.Vehicle, s Season) *session.Log {
	log, _ := LogTruth(v, s)
	return log
}

// LogTruth makes a season's log and the parameters that each dive was made
// under, what varies from line to line left out.
func LogTruth(v *vehicle.Vehicle, s Season) (*session.Log, []predict.Params) {
	rng := rand.New(rand.NewPCG(s.Seed, 20))
	m := predict.NewModel(v)
	spread := s.Scatter
	if spread == 0 {
		spread = 1
	}
	real := m.NewParams()
	for _, k := range varied(v) {
		real[k] += departures[k] * rng.NormFloat64()
	}
	log := &session.Log{File: session.FileName}
	var truth []predict.Params
	day := s.Start
	ballast := 0.0
	for d := 1; d <= s.Dives; d++ {
		p := append(predict.Params(nil), real...)
		for _, k := range varied(v) {
			p[k] += spread * scatter[k] * rng.NormFloat64()
		}
		p[predict.OpenCircuitV] += 0.1 * rng.NormFloat64()
		p[predict.SagVPerMinute] = 0.004
		if s.Drift != nil {
			s.Drift(d, p)
		}
		truth = append(truth, p)
		log.Dives = append(log.Dives, dive(m, s, d, day, p, &ballast, rng))
		day = day.AddDate(0, 0, 4+rng.IntN(7))
	}
	return log, truth
}

// plan is the lines that every simulated dive follows: at rest, pulling
// against a scale, each thruster alone, running ahead, climbing, astern.
func plan(v *vehicle.Vehicle) []run {
	bv, ca, vv := quantity.BatteryV, quantity.CurrentA, quantity.VehicleV
	var ahead, astern []session.Drive
	var surge, heave []run
	for i := range v.Thrusters {
		t := &v.Thrusters[i]
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
		for range 2 {
			out = append(out, run{drives: ahead, depth: true, read: []quantity.Quantity{bv, ca, quantity.Speed}})
		}
	}
	out = append(out, heave...)
	out = append(out, run{depth: true, read: []quantity.Quantity{bv, quantity.Climb}})
	if len(astern) > 0 {
		out = append(out, run{drives: astern, depth: true, read: []quantity.Quantity{bv, ca, quantity.Speed}})
	}
	return append(out, run{read: []quantity.Quantity{bv}})
}

func dive(m *predict.Model, s Season, d int, day time.Time, p predict.Params, ballast *float64, rng *rand.Rand) session.Dive {
	season := 2 * math.Pi * float64(day.YearDay()-110) / 365
	water := written("water_c", 13+6*math.Sin(season)+rng.NormFloat64(), 1)
	out := session.Dive{Label: itoa(d), Date: day}
	minute, depth := 2.0, 2+4*rng.Float64()
	salt := 0.0
	if s.Sites {
		salt = float64(rng.IntN(4)) * 11
		c := predict.Condition{Sign: make([]int8, len(m.Vehicle.Thrusters)), WaterC: water.X, Salinity: salt, BallastG: *ballast}
		wanted := m.NetBuoyancyG(&c) - m.Vehicle.Hull.TrimG
		*ballast += 10 * math.Round(wanted/9)
	}
	worn := 0.0 // V that recent load has taken from a battery that recovers slowly
	for i, r := range plan(m.Vehicle) {
		l := session.Line{Electrical: true, Drives: r.drives, Held: r.held, Salinity: salt, BallastG: *ballast}
		l.Put(water)
		l.Put(written("minute", minute, 0))
		at := 0.0
		if r.depth {
			at = depth + 0.3*rng.NormFloat64()
		}
		l.Put(written("depth_m", max(at, 0), 1))
		l.Put(written("tether_out_m", math.Min(max(at, 0)+4+10*rng.Float64(), m.Vehicle.Tether.LengthM), 0))
		if i == 0 {
			l.Serviced = s.Service[d]
		}
		line := append(predict.Params(nil), p...)
		if s.LineDrift != nil && len(r.drives) > 0 {
			s.LineDrift(d, rng, line)
		}
		if s.Rough {
			worn = roughen(m, r, line, minute, worn)
		}
		read(m, s, &l, r, line, rng)
		out.Lines = append(out.Lines, l)
		minute += float64(2 + rng.IntN(3))
	}
	return out
}

// read fills in what the instruments would show.
func read(m *predict.Model, s Season, l *session.Line, r run, p predict.Params, rng *rand.Rand) {
	c := predict.Condition{Sign: make([]int8, len(m.Vehicle.Thrusters)), Electrical: true, Held: r.held, Minute: l.Minute.X,
		DepthM: l.Depth.X, TetherOutM: l.TetherOut.X, WaterC: l.WaterC.X, Salinity: l.Salinity, BallastG: l.BallastG}
	for _, d := range r.drives {
		for i := range m.Vehicle.Thrusters {
			if m.Vehicle.Thrusters[i].Name == d.Name {
				c.Sign[i] = 1
				if d.Reversed {
					c.Sign[i] = -1
				}
			}
		}
	}
	in := m.Vehicle.Instruments
	for _, q := range r.read {
		c.Climbing = c.Climbing || q == quantity.Climb
	}
	var pt predict.Point
	m.Solve(&c, p, &pt, nil)
	for _, q := range r.read {
		if slices.Contains(s.Without, q) {
			continue
		}
		e := rng.NormFloat64()
		o := pt.Out
		switch q {
		case quantity.BatteryV:
			l.Put(written("battery_v", o[quantity.BatteryV]+in.BatteryV*e, 2))
		case quantity.CurrentA:
			l.Put(written("current_a", max(o[quantity.CurrentA]+in.CurrentA*e, 0), 1))
		case quantity.VehicleV:
			l.Put(written("vehicle_v", o[quantity.VehicleV]+in.VehicleV*e, 2))
		case quantity.Speed:
			l.Put(written("speed_m_s", o[quantity.Speed]*(1+in.SpeedPercent/100*e), 3))
		case quantity.Climb:
			l.Put(written("climb_m_s", o[quantity.Climb]*(1+in.ClimbPercent/100*e), 3))
		case quantity.Trim:
			l.Put(written("trim_g", o[quantity.Trim]+in.TrimG*e, 0))
		case quantity.Pull:
			l.Put(written("pull_n", max(o[quantity.Pull]+in.PullN*e, 0), 2))
		}
		if v := l.Readings[q]; s.Slips > 0 && rng.Float64() < s.Slips && math.Abs(v.X) > 0 {
			l.Put(slip(v, rng))
		}
	}
}

// slip is a value with its decimal point one place off.
func slip(v session.Value, rng *rand.Rand) session.Value {
	k := 10.0
	if rng.IntN(2) == 0 {
		k = 0.1
	}
	v.Entered *= k
	v.X = v.Column.ToBase(v.Entered)
	return v
}

// roughen adds what the model leaves out: windings that warm up over a dive,
// drag that falls with speed, a battery that polarises under load. It returns
// the voltage that is still lost at the next line.
func roughen(m *predict.Model, r run, p predict.Params, minute, worn float64) float64 {
	for i := range m.Vehicle.Thrusters {
		p[predict.OfThruster(i, predict.BranchOhm)] += m.Vehicle.Thrusters[i].ArmatureOhm * 0.0039 * min(minute, 30) * 0.8
	}
	p[predict.LogDrag] += 0.1 * (1 - float64(len(r.drives))) // the faster, the less
	p[predict.OpenCircuitV] -= worn
	return 0.6*worn + 0.012*float64(len(r.drives))
}

// written is a value as a person writes it, to a number of decimals.
func written(column string, x float64, decimals int) session.Value {
	c, _ := session.Find(column)
	k := math.Pow(10, float64(decimals))
	x = min(max(math.Round(x*k)/k, c.Lowest), c.Highest) // a meter shows no less and no more
	return session.Value{X: c.ToBase(x), Entered: x, Column: c}
}
