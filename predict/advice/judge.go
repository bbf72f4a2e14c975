package advice

import (
	"math"
	"slices"

	"sagline/predict"
	"sagline/predict/vehicle"
)

// A Question is what margins are judged on.
type Question struct {
	Cases     []Case            // as built first, by the log after them
	built     int               // number of those as built
	Condition predict.Condition // its drives and lights do not matter
	Drives    [][]int8          // the heaviest counts, with lights on if there are any
	Rest      Range             // rest voltage of the battery, V
	BegunV    float64           // the rest voltage that dives began with, V; 0: not known
	ExcessOhm float64           // by which the loop exceeded the file's resistance from the start; it may be thinner copper
	Guessed   *Range            // the battery's resistance, Ω, if neither file nor log tells it; else nil
	DepthM    float64           // the greatest that was logged or is planned
	SaltPSU   float64           // the greatest salinity that was logged or is planned
	Megohm    *float64          // the least insulation of the power pair; nil: never read
}

// Ask returns the question of a vehicle as built, with a battery charged as usual before a dive.
// depth is the greatest that was logged or is planned, m.
func Ask(v *vehicle.Vehicle, c predict.Condition, depth float64) Question {
	m, all := predict.NewModel(v), slices.Repeat([]int8{1}, len(v.Thrusters))
	q := Question{Cases: []Case{asBuilt(m, &c)}, built: 1, Condition: c, Drives: append(m.Combinations(), all),
		Rest: Range{v.RestBelief().Low, v.Battery.RestV(), v.Battery.RestV()}, DepthM: depth}
	if v.Belief("battery.resistance_ohm").Origin == vehicle.Prior {
		q.Guessed = new(q.Cases[0].Battery)
	}
	return q
}

// Logged adds the vehicle as its log shows it. What the file leaves out about the thrusters is then
// no longer a doubt of the vehicle as built, since the dives tell it.
func (q *Question) Logged(c Case) {
	q.Cases[0].Doubts = slices.DeleteFunc(q.Cases[0].Doubts, func(d Doubt) bool { return !d.Stated })
	q.Cases = append(q.Cases, c)
}

// learntShare is the share of a guess's width to which the log must narrow the battery's resistance
// for it to count as known: common practice, no source.
const learntShare = 0.5

// LearnBattery takes the battery's resistance from the cases by the log if the file does not state
// it and each of these cases narrows it enough. Of several batteries each makes a case as built.
func (q *Question) LearnBattery() {
	if q.Guessed == nil || len(q.Cases) == q.built {
		return
	}
	var built []Case
	for _, c := range q.Cases[q.built:] {
		if c.Battery.High-c.Battery.Low > learntShare*(q.Guessed.High-q.Guessed.Low) {
			return
		}
		built = append(built, q.Cases[0].withBattery(c.Battery))
	}
	q.Cases, q.built, q.Guessed = append(built, q.Cases[q.built:]...), len(built), nil
}

// Judge works out the margins, and what would meet those that are not met.
func (q Question) Judge() Margins {
	m := q.judge()
	m.Motors, m.guessed = q.motors(), q.Guessed
	q.remedy(&m)
	return m
}

// motors compares the highest voltage that a thruster may get with the lowest test voltage. It is
// nil if the file states no test.
func (q Question) motors() *Motors {
	v, tested := q.Cases[0].Model.Vehicle, math.Inf(1)
	for i := range v.Thrusters {
		if b := v.Belief("thruster." + v.Thrusters[i].Name + ".test_v"); b.Origin != vehicle.Prior {
			tested = min(tested, b.Value)
		}
	}
	if math.IsInf(tested, 1) {
		return nil
	}
	return &Motors{V: q.motorV(), TestedV: tested}
}

func (q Question) judge() Margins {
	cases, c, drives, rest, depth := q.Cases, q.Condition, q.Drives, q.Rest, q.DepthM
	v := cases[0].Model.Vehicle
	c.Electrical, c.Climbing, c.Lights = true, false, v.Lights.Any()
	out := Margins{Jammed: jams(cases, &c, rest, v.Battery.FuseA), Tubes: Tubes(v, predict.WaterDensity(c.WaterC, max(c.Salinity, q.SaltPSU)), depth)}
	out.power, out.signal = v.Tether.Power, v.Tether.Signal
	full := rest.High
	if q.BegunV > 0 {
		rest.Low, full = min(rest.Low, q.BegunV), min(full, q.BegunV)
	}
	heavy := heaviest(cases, &c, drives, rest, full)
	copper := overKeys(v, func(v *vehicle.Vehicle) float64 { return v.Tether.Power.Copper() }, "tether.power.")
	if q.ExcessOhm > 0 {
		cable := v.Tether.CableOhm(c.WaterC)
		copper.Low = min(copper.Low, copper.Value*cable/(cable+q.ExcessOhm))
		out.Heating.ThinMM2 = copper.Low
	}
	out.Heating.Density = heavy.pair.over(copper)
	out.Fuse = Fuse{RatingA: v.Battery.FuseA, ShortA: weakestShort(cases, rest), HeavyA: heavy.amps.High, LikelyA: heavy.amps.Value}
	out.Fuse.Density, out.Fuse.BearsA = out.Fuse.ShortA.over(copper).High, bearsA(copper.Low, v.Tether.Power.Parallel)
	out.Fuse.CableS = math.Pow(adiabaticK(c.WaterC, meltingC)*copper.Low/out.Fuse.ShortA.Low, 2)
	out.Fuse.FuseS = math.Inf(1)
	if out.Fuse.RatingA > 0 {
		out.Fuse.FuseS = fuseSeconds(out.Fuse.ShortA.Low, out.Fuse.RatingA)
	}
	out.Fuse.BetterA = largestFuse(out.Fuse.does)
	if v.Battery.MinimumV > 0 {
		out.Battery = &Least{V: heavy.fullV, MinimumV: v.Battery.MinimumV}
		if full < rest.High {
			out.Battery.BegunV, out.Battery.Spent = full, !Charged(v, full)
		}
	}
	if v.Relay.CoilV > 0 && v.Relay.CoilOhm > 0 && cases[0].Model.SignalOhm(c.WaterC, 1) > 0 {
		coil := func(on int, volts float64) Range {
			return overKeys(v, func(v *vehicle.Vehicle) float64 { return coilV(predict.NewModel(v), &c, on, volts) }, "relay.coil_ohm", signalKeys, lengthKey)
		}
		out.Relay = &Relay{CoilV: coil(len(v.Thrusters), heavy.batteryV).Low, MostV: coil(1, rest.High).High, RatedV: v.Relay.CoilV, PullInV: v.Belief("relay.pull_in_v").High}
		out.Relay.HotV = out.Relay.PullInV * hotter(20, hotCoilC)
	}
	if v.Camera.OnVehicle() && v.Camera.MinimumV > 0 {
		out.Camera = &Least{V: heavy.vehicleV, MinimumV: v.Camera.MinimumV}
	}
	if _, ok := signalLightsV(cases[0].Model, &c, heavy.batteryV); ok {
		lit := overKeys(v, func(v *vehicle.Vehicle) float64 {
			volts, _ := signalLightsV(predict.NewModel(v), &c, heavy.batteryV)
			return volts
		}, "lights.current_a", signalKeys, lengthKey)
		out.Lights = &Least{V: lit.Low, MinimumV: v.Belief("lights.led_v").High}
	}
	if q.Megohm != nil {
		line := Insulation(v, *q.Megohm)
		line.Text = "as little as " + line.Text
		out.Megohm, out.insulation = q.Megohm, &line
	}
	most := cases[0].Battery.High
	for _, s := range cases {
		most = max(most, s.Battery.High)
	}
	out.Signal = signal(v, &c, rest, most)
	out.Endurance = endurance(&v.Battery, heavy)
	return out
}

// weakestShort returns the dead short of the case in which it may be smallest.
func weakestShort(cases []Case, rest Range) Range {
	least := cases[0].short(rest)
	for s := range cases[1:] {
		if x := cases[s+1].short(rest); x.Low < least.Low {
			least = x
		}
	}
	return least
}
