// Package simulate makes logbooks whose truth is known: a vehicle that
// differs from its file, instruments that scatter, and faults that begin when
// they are told to. It believes in the same model as the fit, so it proves
// the arithmetic and the alarms, not the model.
package simulate

import (
	"math"
	"math/rand/v2"
	"time"

	"sagline/predict"
	"sagline/session"
)

// A Season is what happens to a vehicle over some dives.
type Season struct {
	Dives     int
	Start     time.Time
	Seed      uint64
	Drift     func(dive int, p predict.Params) // changes the parameters of dive (from 1)
	Service   map[int][]string                 // parts, by dive, done on its first line
	VoltsOnly bool                             // no ammeter, nothing read at the vehicle
}

// departures is one standard deviation of how the real vehicle differs from
// its file, by index of predict.Params.
var departures = map[int]float64{predict.LogTorque: 0.06, predict.LogThrust: 0.06, predict.LogPitch: 0.04, predict.LogDrag: 0.12,
	predict.LogClimbDrag: 0.12, predict.TrimG: 12, predict.LoopOhm: 0.006}

// scatter is one standard deviation from dive to dive.
var scatter = map[int]float64{predict.LoopOhm: 0.006, predict.LogThrust: 0.012, predict.TrimG: 4, predict.BatteryOhm: 0.0012}

// run is one line of the plan that every simulated dive follows.
type run struct {
	drives []session.Drive
	held   bool
	read   []session.Quantity
	depth  bool
}

// Log makes a season's log for a vehicle whose surge thrusters come first and
// are two, and whose third is a heave thruster.
func Log(v *predict.Vehicle, s Season) *session.Log {
	rng := rand.New(rand.NewPCG(s.Seed, 20))
	m := predict.NewModel(v)
	real := m.NewParams()
	for k := range m.Dim() {
		real[k] += departures[k] * rng.NormFloat64()
	}
	log := &session.Log{}
	day := s.Start
	for d := 1; d <= s.Dives; d++ {
		p := append(predict.Params(nil), real...)
		for k := range m.Dim() {
			p[k] += scatter[k] * rng.NormFloat64()
		}
		p[predict.OpenCircuitV] += 0.1 * rng.NormFloat64()
		p[predict.SagVPerMinute] = 0.004
		if s.Drift != nil {
			s.Drift(d, p)
		}
		log.Dives = append(log.Dives, dive(m, s, d, day, p, rng))
		day = day.AddDate(0, 0, 4+rng.IntN(7))
	}
	return log
}

func plan(v *predict.Vehicle) []run {
	port, star, vert := session.Drive{Name: v.Thrusters[0].Name}, session.Drive{Name: v.Thrusters[1].Name}, session.Drive{Name: v.Thrusters[2].Name}
	both := []session.Drive{port, star}
	astern := []session.Drive{{Name: port.Name, Reversed: true}, {Name: star.Name, Reversed: true}}
	bv, ca, vv := session.BatteryV, session.CurrentA, session.VehicleV
	return []run{
		{read: []session.Quantity{bv}},
		{read: []session.Quantity{bv, session.Trim}},
		{drives: both, held: true, read: []session.Quantity{bv, ca, vv, session.Pull}},
		{drives: both[:1], depth: true, read: []session.Quantity{bv, ca}},
		{drives: both[1:], depth: true, read: []session.Quantity{bv, ca, vv}},
		{drives: both, depth: true, read: []session.Quantity{bv, ca, vv, session.Speed}},
		{drives: both, depth: true, read: []session.Quantity{bv, ca, session.Speed}},
		{drives: both, depth: true, read: []session.Quantity{bv, ca, session.Speed}},
		{drives: []session.Drive{vert}, depth: true, read: []session.Quantity{bv, ca}},
		{depth: true, read: []session.Quantity{bv, session.Climb}},
		{drives: astern, depth: true, read: []session.Quantity{bv, ca, session.Speed}},
		{read: []session.Quantity{bv}},
	}
}

func dive(m *predict.Model, s Season, d int, day time.Time, p predict.Params, rng *rand.Rand) session.Dive {
	season := 2 * math.Pi * float64(day.YearDay()-110) / 365
	water := written("water_c", 13+6*math.Sin(season)+rng.NormFloat64(), 1)
	out := session.Dive{Label: itoa(d), Date: day}
	minute, depth := 2.0, 2+4*rng.Float64()
	for i, r := range plan(m.Vehicle) {
		l := session.Line{Electrical: true, Drives: r.drives, Held: r.held, WaterC: water, Minute: written("minute", minute, 0)}
		at := 0.0
		if r.depth {
			at = depth + 0.3*rng.NormFloat64()
		}
		l.Depth = written("depth_m", max(at, 0), 1)
		l.TetherOut = written("tether_out_m", math.Min(max(at, 0)+4+10*rng.Float64(), m.Vehicle.Tether.LengthM), 0)
		if i == 0 {
			l.Serviced = s.Service[d]
		}
		read(m, s, &l, r, p, rng)
		out.Lines = append(out.Lines, l)
		minute += float64(2 + rng.IntN(3))
	}
	return out
}

// read fills in what the instruments would show.
func read(m *predict.Model, s Season, l *session.Line, r run, p predict.Params, rng *rand.Rand) {
	c := predict.Condition{Sign: make([]int8, len(m.Vehicle.Thrusters)), Electrical: true, Held: r.held, Minute: l.Minute.X,
		DepthM: l.Depth.X, TetherOutM: l.TetherOut.X, WaterC: l.WaterC.X}
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
		c.Climbing = c.Climbing || q == session.Climb
	}
	var pt predict.Point
	m.Solve(&c, p, &pt, nil)
	for _, q := range r.read {
		if s.VoltsOnly && (q == session.CurrentA || q == session.VehicleV || q == session.Pull) {
			continue
		}
		e := rng.NormFloat64()
		o := pt.Out
		switch q {
		case session.BatteryV:
			l.Readings[q] = written("battery_v", o[predict.OutBatteryV]+in.BatteryV*e, 2)
		case session.CurrentA:
			l.Readings[q] = written("current_a", max(o[predict.OutCurrentA]+in.CurrentA*e, 0), 1)
		case session.VehicleV:
			l.Readings[q] = written("vehicle_v", o[predict.OutVehicleV]+in.VehicleV*e, 2)
		case session.Speed:
			l.Readings[q] = written("speed_m_s", o[predict.OutSpeed]*(1+in.SpeedPercent/100*e), 3)
		case session.Climb:
			l.Readings[q] = written("climb_m_s", o[predict.OutClimb]*(1+in.ClimbPercent/100*e), 3)
		case session.Trim:
			l.Readings[q] = written("trim_g", o[predict.OutTrim]+in.TrimG*e, 0)
		case session.Pull:
			l.Readings[q] = written("pull_n", max(o[predict.OutPull]+in.PullN*e, 0), 2)
		}
	}
}

// written is a value as a person writes it, to a number of decimals.
func written(column string, x float64, decimals int) session.Value {
	c, _ := session.Find(column)
	k := math.Pow(10, float64(decimals))
	x = math.Round(x*k) / k
	return session.Value{X: c.ToBase(x), Entered: x, Column: c}
}
