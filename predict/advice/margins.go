package advice

import (
	"math"

	"sagline/predict"
)

// Margins are what must hold before a vehicle is switched on. What the file
// does not state is nil.
type Margins struct {
	RelayCoilV    *float64 `json:"relay_coil_v"`        // at the loaded battery voltage, every coil on
	RelayPullInV  *float64 `json:"relay_pull_in_v"`     // cold, as in the file
	RelayHotV     *float64 `json:"relay_pull_in_hot_v"` // with the winding at hotCoilC
	FarEndShortA  float64  `json:"far_end_short_a"`
	FuseA         *float64 `json:"fuse_a"`
	ShortTo160S   float64  `json:"short_to_160c_s"` // until the power conductors reach 160 °C, no heat lost
	DensityAMM2   float64  `json:"density_a_mm2"`   // in the power conductors, heaviest combination
	EnduranceMins *float64 `json:"endurance_min"`
	CameraV       *float64 `json:"camera_v"` // on the shared supply, heaviest combination
	CameraLeastV  *float64 `json:"camera_minimum_v"`
	LightsV       *float64 `json:"lights_v"` // across lights fed through a signal conductor
}

const (
	copperZeroC = 234.5 // K below 0 °C at which copper's resistance would vanish, IEC 60949
	hotCoilC    = 60.0  // °C of a relay winding that has been on for a while; common practice, no source
	// WarmDensity is the current density in A/mm² above which a tether on its
	// reel, where it cannot shed heat, gets hot; common practice, no source.
	WarmDensity = 5.0
	// FuseBlows is how many times its rating a fuse wants to blow within
	// seconds; common practice, no source.
	FuseBlows = 2.0
)

// adiabaticK is k of S = √(I²t)/k for copper from one temperature to another,
// A·√s/mm²: 226·√ln((234.5+θ_f)/(234.5+θ_i)), IEC 60949.
func adiabaticK(from, to float64) float64 {
	return 226 * math.Sqrt(math.Log((copperZeroC+to)/(copperZeroC+from)))
}

// hotter scales a copper winding's resistance, and with it a relay's pull-in
// voltage, between temperatures in °C.
func hotter(from, to float64) float64 { return (copperZeroC + to) / (copperZeroC + from) }

// NewMargins weighs relays, fuse, tether and battery against the heaviest of the
// combinations: its battery voltage, current and vehicle voltage.
func NewMargins(m *predict.Model, c *predict.Condition, p predict.Params, loadedV, amps, vehicleV float64) Margins {
	v := m.Vehicle
	e := p[predict.OpenCircuitV] - p[predict.SagVPerMinute]*c.Minute
	loop := v.Tether.CableOhm(c.WaterC) + v.Tether.Power.JointsOhm + p[predict.LoopOhm]
	out := Margins{FarEndShortA: e / (v.Battery.ResistanceOhm + p[predict.BatteryOhm] + loop)}
	copper := v.Tether.Power.Area() * float64(max(v.Tether.Power.Parallel, 1))
	out.ShortTo160S = math.Pow(adiabaticK(c.WaterC, 160)*copper/out.FarEndShortA, 2)
	out.DensityAMM2 = amps / copper
	if v.Relay.CoilV > 0 && v.Relay.CoilOhm > 0 {
		coil, hot := relayCoilV(m, c, loadedV), v.Relay.PullInV*hotter(20, hotCoilC)
		out.RelayCoilV, out.RelayPullInV, out.RelayHotV = &coil, &v.Relay.PullInV, &hot
	}
	if v.Battery.FuseA > 0 {
		out.FuseA = &v.Battery.FuseA
	}
	if v.Battery.CapacityAh > 0 && amps > 0 {
		mins := minutes(&v.Battery, amps, v.Battery.ResistanceOhm+p[predict.BatteryOhm])
		out.EnduranceMins = &mins
	}
	if v.Camera.Supply == "shared" && v.Camera.MinimumV > 0 {
		out.CameraV, out.CameraLeastV = &vehicleV, &v.Camera.MinimumV
	}
	if lit, ok := signalLightsV(m, c, loadedV); ok {
		out.LightsV = &lit
	}
	return out
}

// signalLightsV is the voltage across lights that a signal conductor feeds
// from the battery, back through the shared return: E − I·R with the LEDs'
// current I = Σ(V − led_v)/R_k, or the current stated.
func signalLightsV(m *predict.Model, c *predict.Condition, loadedV float64) (float64, bool) {
	l, s := &m.Vehicle.Lights, &m.Vehicle.Tether.Signal
	if l.Supply != "signal" || s.AWG == nil && s.AreaMM2 == 0 && s.OhmKM == 0 || l.CurrentA == 0 && len(l.ResistorOhm) == 0 {
		return 0, false
	}
	wire := m.Vehicle.Tether.LengthM * s.OhmPerMetre(c.WaterC) * (1 + 1/float64(max(s.SharedReturn, 1)))
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

// relayCoilV is a coil's voltage with every thruster's coil on: each has its
// own signal conductor, and all share the return.
func relayCoilV(m *predict.Model, c *predict.Condition, loadedV float64) float64 {
	v := m.Vehicle
	s := &v.Tether.Signal
	if s.AWG == nil && s.AreaMM2 == 0 && s.OhmKM == 0 {
		return loadedV
	}
	wire := v.Tether.LengthM * s.OhmPerMetre(c.WaterC)
	back := wire / float64(max(s.SharedReturn, 1))
	if s.SharedReturn > 0 {
		back *= float64(len(v.Thrusters)) // all coils' current comes back through it
	}
	return loadedV * v.Relay.CoilOhm / (v.Relay.CoilOhm + wire + back)
}
