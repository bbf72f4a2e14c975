package simulate

import (
	"math"
	"slices"

	"sagline/predict"
	"sagline/predict/instrument"
	"sagline/session"
	"sagline/session/quantity"
)

// meterGain is the standard deviation of an instrument's constant gain: a cheap multimeter's and
// clamp's accuracy, a marked line's length; common practice, no source.
var meterGain = [quantity.Count]float64{quantity.BatteryV: 0.004, quantity.CurrentA: 0.015, quantity.VehicleV: 0.004, quantity.Speed: 0.02,
	quantity.Climb: 0.02, quantity.Trim: 0.02, quantity.Pull: 0.03}

// read fills in what the instruments show on a line, minutes after the line before.
func (g *generator) read(d int, l *session.Line, r run, p predict.Params, minutes float64) {
	c := g.condition(d, l, r)
	in, rng, o := g.m.Vehicle.Instruments, g.rng, g.world.Line(c, p, minutes).Out
	for _, q := range r.read {
		if slices.Contains(g.s.Without, q) || g.s.Sparse && q == quantity.VehicleV && g.more.IntN(3) > 0 {
			continue
		}
		e, x := rng.NormFloat64(), o[q]*g.gains[q]
		if g.s.Noise != nil {
			e *= g.s.Noise(d)
		}
		switch q {
		case quantity.BatteryV:
			l.Put(written("battery_v", x+in.BatteryV*e, 2))
		case quantity.CurrentA:
			l.Put(written("current_a", max(x+in.CurrentA*e, 0), 1))
		case quantity.VehicleV:
			l.Put(written("vehicle_v", x+in.VehicleV*e, 2))
		case quantity.Speed:
			g.run(l, p, x, e)
		case quantity.Climb:
			l.Put(written("climb_m_s", x*(1+in.ClimbPercent/100*e), 3))
		case quantity.Trim:
			l.Put(written("trim_g", x+in.TrimG*e, 0))
		case quantity.Pull:
			l.Put(written("pull_n", max(x+in.PullN*e, 0), 2))
		case quantity.LoopOhm:
			l.Put(written("loop_ohm", x+in.LoopOhm*e, 2))
		case quantity.Insulation:
			l.Put(written("insulation_megohm", math.Exp(x+instrument.InsulationSD*e), 2))
		}
		if v := l.Readings[q]; g.s.Slips > 0 && rng.Float64() < g.s.Slips && math.Abs(v.X) > 0 {
			v.Entered *= []float64{0.1, 10}[rng.IntN(2)] // its decimal point one place off
			v.X = v.Column.ToBase(v.Entered)
			l.Put(v)
		}
	}
}

// runM is the length of a timed run, m, and reactionS the standard deviation of pressing a
// stopwatch twice, s: common practice, no source.
const (
	runM      = 10.0
	reactionS = 0.25
)

// run fills in a speed through the water x: as it is, or timed over ground if there is a stream.
func (g *generator) run(l *session.Line, p predict.Params, x, e float64) {
	noise := g.m.Vehicle.Instruments.SpeedPercent / 100
	if g.s.StreamMS == 0 && !g.s.Meters {
		l.Put(written("speed_m_s", x*(1+noise*e), 3))
		return
	}
	length, out := written("run_m", runM, 0), g.seconds(x+p[predict.StreamMS], noise, e)
	back := session.Value{}
	if g.more.IntN(5) == 0 {
		back = written("run_back_s", g.seconds(x-p[predict.StreamMS], noise, g.more.NormFloat64()), 1)
	}
	l.PutRun(quantity.Speed, length, written("run_s", out, 1), back)
}

// seconds returns the time of a run at a speed over ground.
func (g *generator) seconds(speed, noise, e float64) float64 {
	s := runM / max(speed, 0.02) * (1 + noise*e)
	if g.s.Meters {
		s += reactionS * g.more.NormFloat64()
	}
	return max(s, 1)
}

// written returns a value as a person writes it, rounded to a number of decimals.
func written(column string, x float64, decimals int) session.Value {
	c := session.Named(column)
	k := math.Pow(10, float64(decimals))
	x = min(max(math.Round(x*k)/k, c.Lowest), c.Highest) // a meter shows no less and no more
	return session.Value{X: c.ToBase(x), Entered: x, Column: c}
}
