package advice

import (
	"math"

	"sagline/predict"
	"sagline/session/quantity"
)

// Margins are what must hold before a vehicle is switched on, each judged on
// the less favourable of its Standings and at the worse end of what is known of
// loop, battery and charge. What the file does not state is nil.
type Margins struct {
	Fuse      Fuse
	Heating   Heating
	Relay     *Relay
	Battery   *Least // at its terminals under the heaviest run, full
	Camera    *Least // on the shared supply, heaviest run
	Lights    *Least // fed through a signal conductor
	Endurance *Range // minutes at the heaviest run
	Jammed    []Jam
	Tubes     []TubeDepth
}

// Least is a voltage that may not fall below a minimum.
type Least struct {
	V        float64 // the least that it may have
	MinimumV float64
}

// Met says whether the voltage suffices.
func (l *Least) Met() bool { return l.V >= l.MinimumV }

// Heating is the current density in the power conductors, A/mm².
type Heating struct {
	Density  Range    // heaviest run
	BetterOf *float64 // mm²: the next conductor with which it is met, where it is not
}

// Met says whether a tether that is paid out stays cool.
func (h *Heating) Met() bool { return h.Density.High <= OpenDensity }

// OnReel says whether it does wound on its reel as well.
func (h *Heating) OnReel() bool { return h.Density.High <= ReelDensity }

// Relay is what the coils get with all of them on, V.
type Relay struct {
	CoilV   float64 // the least
	PullInV float64 // cold, as in the file
	HotV    float64 // with the winding at hotCoilC
}

// Met says whether a warm relay pulls in.
func (r *Relay) Met() bool { return r.CoilV >= r.HotV }

const (
	copperZeroC = 234.5 // K below 0 °C at which copper's resistance would vanish, IEC 60949
	hotCoilC    = 60.0  // °C of a relay winding that has been on for a while; common practice, no source
	// OpenDensity is the current density in A/mm² that a paid-out tether of a
	// few square millimetres bears for long: half of what flexible cords carry
	// in free air (16 A through 1.5 mm²); common practice, no source.
	OpenDensity = 5.0
	// ReelDensity is the same wound on a reel in four layers or more: the notes
	// on reeling drums to the current ratings of flexible cables in BS 7671
	// leave 35 % of 8 to 10 A/mm² in free air.
	ReelDensity = 3.0
	meltingC    = 160.0 // °C that PVC insulation may have after a short circuit, IEC 60364-4-43
)

// adiabaticK is k of S = √(I²t)/k for copper from one temperature to another,
// A·√s/mm²: 226·√ln((234.5+θ_f)/(234.5+θ_i)), IEC 60949.
func adiabaticK(from, to float64) float64 {
	return 226 * math.Sqrt(math.Log((copperZeroC+to)/(copperZeroC+from)))
}

// hotter scales a copper winding's resistance, and with it a relay's pull-in
// voltage, between temperatures in °C.
func hotter(from, to float64) float64 { return (copperZeroC + to) / (copperZeroC + from) }

// A Question is what margins are judged on: a vehicle's Standings, as built
// first; a Condition, whose drives and lights are passed over; the Drives of
// which the heaviest counts, with lights on where there are any; the battery's
// voltage at rest; and the greatest depth that was logged or is planned, m.
type Question struct {
	Standings []Standing
	Condition predict.Condition
	Drives    [][]int8
	Rest      Range
	DepthM    float64
}

// Judge works the margins out, and what would meet those that are not met.
func (q Question) Judge() Margins {
	m := q.judge()
	if m.Fuse.BetterA == nil {
		m.Fuse.BetterOf = q.conductor(func(m *Margins) bool { return m.Fuse.BetterA != nil })
	}
	if !m.Heating.Met() {
		m.Heating.BetterOf = q.conductor(func(m *Margins) bool { return m.Heating.Met() })
	}
	return m
}

// conductor is the next conductor size sold, mm², with which ok holds of the
// vehicle as built; nil where none up to the largest will do. The tether's
// thickness is left as it is.
func (q Question) conductor(ok func(*Margins) bool) *float64 {
	v := q.Standings[0].Model.Vehicle
	for _, area := range nominalAreas {
		if area <= v.Tether.Power.Area() {
			continue
		}
		w := v.Clone()
		w.Tether.Power.AreaMM2, w.Tether.Power.AWG, w.Tether.Power.OhmKM = area, nil, 0
		q.Standings = []Standing{AsBuilt(predict.NewModel(w), &q.Condition)}
		if m := q.judge(); ok(&m) {
			return &area
		}
	}
	return nil
}

func (q Question) judge() Margins {
	standings, c, drives, rest, depth := q.Standings, q.Condition, q.Drives, q.Rest, q.DepthM
	v := standings[0].Model.Vehicle
	c.Electrical, c.Climbing, c.Lights = true, false, v.Lights.CurrentA > 0 || len(v.Lights.ResistorOhm) > 0
	out := Margins{Jammed: jams(standings, &c, rest, v.Battery.FuseA), Tubes: Tubes(v, predict.WaterDensity(c.WaterC, c.Salinity), depth)}
	heavy := heaviest(standings, &c, drives, rest)
	copper := v.Tether.Power.Area() * float64(max(v.Tether.Power.Parallel, 1))
	out.Heating.Density = Range{heavy.pair.Low / copper, heavy.pair.Value / copper, heavy.pair.High / copper}
	out.Fuse = Fuse{RatingA: v.Battery.FuseA, ShortA: weakestShort(standings, rest), HeavyA: heavy.amps.High}
	out.Fuse.CableS = math.Pow(adiabaticK(c.WaterC, meltingC)*copper/out.Fuse.ShortA.Low, 2)
	out.Fuse.FuseS = math.Inf(1)
	if out.Fuse.RatingA > 0 {
		out.Fuse.FuseS = fuseSeconds(out.Fuse.ShortA.Low, out.Fuse.RatingA)
	}
	out.Fuse.BetterA = out.Fuse.suggest()
	if v.Battery.MinimumV > 0 {
		out.Battery = &Least{heavy.fullV, v.Battery.MinimumV}
	}
	if v.Relay.CoilV > 0 && v.Relay.CoilOhm > 0 {
		out.Relay = &Relay{coilV(standings[0].Model, &c, heavy.batteryV), v.Relay.PullInV, v.Relay.PullInV * hotter(20, hotCoilC)}
	}
	if v.Camera.Supply == "shared" && v.Camera.MinimumV > 0 {
		out.Camera = &Least{heavy.vehicleV, v.Camera.MinimumV}
	}
	if lit, ok := signalLightsV(standings[0].Model, &c, heavy.batteryV); ok {
		out.Lights = &Least{lit, v.Lights.LEDV}
	}
	out.Endurance = endurance(&v.Battery, heavy)
	return out
}

// heavy is the heaviest run: what it draws, and the voltages that are left.
type heavy struct {
	amps, pair         Range // A of the battery, and through the power pair
	ohm                Range // of the battery
	batteryV, vehicleV float64
	fullV              float64 // of the battery when it is full
}

// heaviest tries every drive on every standing. Middle values are those of the
// standing that draws most.
func heaviest(standings []Standing, c *predict.Condition, drives [][]int8, rest Range) heavy {
	h := heavy{batteryV: math.Inf(1), vehicleV: math.Inf(1), fullV: math.Inf(1)}
	h.amps.Low, h.pair.Low = math.Inf(1), math.Inf(1)
	var pt predict.Point
	for s := range standings {
		extremes := func(p predict.Params) []float64 {
			amps, pair, battery, vehicle := 0.0, 0.0, math.Inf(1), math.Inf(1)
			for _, c.Sign = range drives {
				for _, c.Held = range []bool{true, false} {
					standings[s].Model.Solve(c, p, &pt, nil)
					amps, pair = max(amps, pt.Out[quantity.CurrentA]), max(pair, pt.PairA)
					battery, vehicle = min(battery, pt.Out[quantity.BatteryV]), min(vehicle, pt.Volts)
				}
			}
			return []float64{amps, pair, battery, vehicle}
		}
		x := standings[s].over(rest, extremes)
		if x[0].Value > h.amps.Value {
			h.amps.Value, h.pair.Value, h.ohm = x[0].Value, x[1].Value, standings[s].Battery
		}
		h.amps.Low, h.amps.High = min(h.amps.Low, x[0].Low), max(h.amps.High, x[0].High)
		h.pair.Low, h.pair.High = min(h.pair.Low, x[1].Low), max(h.pair.High, x[1].High)
		h.batteryV, h.vehicleV = min(h.batteryV, x[2].Low), min(h.vehicleV, x[3].Low)
		h.fullV = min(h.fullV, standings[s].over(Range{rest.High, rest.High, rest.High}, extremes)[2].Low)
	}
	return h
}

// weakestShort is the dead short of the standing on which it may be least.
func weakestShort(standings []Standing, rest Range) Range {
	least := standings[0].short(rest)
	for s := range standings[1:] {
		if x := standings[s+1].short(rest); x.Low < least.Low {
			least = x
		}
	}
	return least
}

// coilV is a coil's voltage with every thruster's coil on.
func coilV(m *predict.Model, c *predict.Condition, loadedV float64) float64 {
	coil := m.Vehicle.Relay.CoilOhm
	return loadedV * coil / (coil + m.SignalOhm(c.WaterC, len(m.Vehicle.Thrusters)))
}

// signalLightsV is the voltage across lights that a signal conductor feeds
// from the battery: E − I·R with the LEDs' current I = Σ(V − led_v)/R_k, or the
// current stated.
func signalLightsV(m *predict.Model, c *predict.Condition, loadedV float64) (float64, bool) {
	l, wire := &m.Vehicle.Lights, m.SignalOhm(c.WaterC, 1)
	if l.Supply != "signal" || wire == 0 || l.CurrentA == 0 && len(l.ResistorOhm) == 0 {
		return 0, false
	}
	if len(l.ResistorOhm) == 0 {
		return max(loadedV-l.CurrentA*wire, 0), true
	}
	slope := 0.0
	for _, r := range l.ResistorOhm {
		slope += 1 / r
	}
	if loadedV <= l.LEDV {
		return loadedV, true
	}
	return (loadedV + wire*slope*l.LEDV) / (1 + wire*slope), true
}

// NotMet names the margins that are not met, in the order of Margins.
func (m *Margins) NotMet() []string {
	out := []string{}
	add := func(name string, met bool) {
		if !met {
			out = append(out, name)
		}
	}
	add("fuse", m.Fuse.Met())
	add("heating", m.Heating.Met())
	add("relays", m.Relay == nil || m.Relay.Met())
	add("battery", m.Battery == nil || m.Battery.Met())
	add("camera", m.Camera == nil || m.Camera.Met())
	add("lights", m.Lights == nil || m.Lights.Met())
	for i := range m.Tubes {
		add("tube "+m.Tubes[i].Name, m.Tubes[i].Met())
	}
	return out
}
