package advice

import (
	"encoding/json"
	"math"

	"sagline/predict/vehicle"
	"sagline/session/units"
)

// Margins are what must hold before a vehicle is switched on. Each is judged on the less favourable
// of the Cases and at the worse end of the ranges of loop, battery and charge. What the file does
// not state is nil.
type Margins struct {
	Fuse      Fuse
	Heating   Heating
	Motors    *Motors
	Signal    *Signal // signal conductors
	Relay     *Relay
	Battery   *Least   // at its terminals under the heaviest run, full or as at the start of dives
	Camera    *Least   // on the shared supply, heaviest run
	Lights    *Least   // fed through a signal conductor
	Endurance *Range   // minutes at the heaviest run
	Megohm    *float64 // from the power pair to the water, if the log has it
	Jammed    []Jam
	Tubes     []TubeDepth

	insulation *Line
	guessed    *Range  // the battery's resistance, Ω; nil: it is known
	beyondOhm  float64 // excess of the loop's resistance by the log over the file's; 0: none that is sure

	power, signal vehicle.Conductor
}

// A Least is a voltage that may not fall below a minimum.
type Least struct {
	V        float64 // its lowest value
	MinimumV float64
	BegunV   float64  // the rest voltage that dives begin with, if that is not a full battery's; else 0
	Spent    bool     // whether it has under half of its charge then
	Better   *float64 // what would meet it if it is not met: mm² of conductors, Ω of the battery
}

// Met reports whether the voltage suffices.
func (l *Least) Met() bool { return l.V >= l.MinimumV }

// Motors holds the voltage that a thruster may get and that of its test.
type Motors struct{ V, TestedV float64 }

// overTest is how many times its test voltage a motor is taken to bear: parts sold for 12 V see 15
// V on a vehicle's charged battery. Common practice, no source.
const overTest = 1.25

// Met reports whether a motor gets about what it was tested at.
func (m *Motors) Met() bool { return m.V <= overTest*m.TestedV }

// Heating is the current density in the power conductors, A/mm².
type Heating struct {
	Density  Range    // heaviest run
	ThinMM2  float64  // copper of a leg if the loop's excess over the file were all thinner copper; 0: no excess
	BetterOf *float64 // mm²: the next conductor size that would meet it, if it is not met
}

// Met reports whether a tether that is paid out stays cool.
func (h *Heating) Met() bool { return h.Density.High <= openDensity }

// OnReel reports whether it stays cool wound on its reel.
func (h *Heating) OnReel() bool { return h.Density.High <= reelDensity }

// Relay holds the voltages of the coils, V.
type Relay struct {
	CoilV   float64 // lowest value, with all of them on
	PullInV float64 // cold, the highest that the file allows
	HotV    float64 // with the winding at hotCoilC
	MostV   float64 // highest value, with one on and the battery full
	RatedV  float64 // as the file states

	BetterOf *float64 // mm²: the next signal conductor that would meet it, if it is not met
}

// overCoil is how many times its rated voltage a relay's coil is taken to bear: coils of 12 V in
// vehicles are made for charging, up to 15 or 16 V. The operative range of IEC 61810-1 ends at 1.1.
// From memory.
const overCoil = 1.3

// PullsIn reports whether a warm relay pulls in.
func (r *Relay) PullsIn() bool { return r.CoilV >= r.HotV }

// Bears reports whether the coils bear the battery's voltage.
func (r *Relay) Bears() bool { return r.MostV <= overCoil*r.RatedV }

// Met reports whether a warm relay pulls in and its coil bears the battery.
func (r *Relay) Met() bool { return r.PullsIn() && r.Bears() }

const (
	copperZeroC = 234.5 // K below 0 °C at which copper's resistance would vanish, IEC 60949
	hotCoilC    = 60.0  // °C of a relay winding that has been on for a while; common practice, no source
	// openDensity is the current density in A/mm² that a paid-out tether of a few square
	// millimetres bears for long: half of what flexible cords carry in free air (16 A through 1.5
	// mm²); common practice, no source.
	openDensity = 5.0
	// reelDensity is the same for a tether wound on a reel in four layers or more: the notes on
	// reeling drums to the current ratings of flexible cables in BS 7671 leave 35 % of 8 to 10
	// A/mm² in free air.
	reelDensity = 3.0
	meltingC    = 160.0 // °C that PVC insulation may have after a short circuit, IEC 60364-4-43
)

// adiabaticK returns k of S = √(I²t)/k for copper from one temperature to another, A·√s/mm²:
// 226·√ln((234.5+θ_f)/(234.5+θ_i)), IEC 60949.
func adiabaticK(from, to float64) float64 {
	return 226 * math.Sqrt(math.Log((copperZeroC+to)/(copperZeroC+from)))
}

// hotter returns the ratio of a copper winding's resistance, and with it of a relay's pull-in
// voltage, between temperatures in °C.
func hotter(from, to float64) float64 { return (copperZeroC + to) / (copperZeroC + from) }

// NotMet names the margins that are not met, in the order of Lines.
func (m *Margins) NotMet() []string {
	out := []string{}
	for _, l := range m.Lines(units.Metric) {
		if l.Judged && !l.Met {
			out = append(out, l.Name)
		}
	}
	return out
}

// MarshalJSON writes the margins for predict --json. What the file does not state is null, and so
// is an infinite time.
func (m Margins) MarshalJSON() ([]byte, error) {
	type volts struct{ v, least *float64 }
	of := func(l *Least) volts {
		if l == nil {
			return volts{}
		}
		return volts{&l.V, &l.MinimumV}
	}
	battery, camera, lights := of(m.Battery), of(m.Camera), of(m.Lights)
	out := map[string]any{
		"far_end_short_a": m.Fuse.ShortA.Value, "far_end_short_low_a": m.Fuse.ShortA.Low, "far_end_short_high_a": m.Fuse.ShortA.High,
		"fuse_a": known(m.Fuse.RatingA), "fuse_opens_s": known(m.Fuse.FuseS), "fuse_suggested_a": m.Fuse.BetterA, "fuse_suggested_mm2": m.Fuse.BetterOf,
		"heaviest_a": m.Fuse.HeavyA, "short_to_160c_s": m.Fuse.CableS,
		"density_a_mm2": m.Heating.Density.Value, "density_high_a_mm2": m.Heating.Density.High, "density_suggested_mm2": m.Heating.BetterOf,
		"signal_short_a": nil, "signal_bears_a": nil, "signal_fuse_suggested_a": nil, "signal_lights_a_mm2": nil, "motor_v": nil, "motor_tested_v": nil, "relay_coil_v": nil, "relay_coil_high_v": nil, "relay_pull_in_v": nil, "relay_pull_in_hot_v": nil,
		"battery_v": battery.v, "battery_minimum_v": battery.least, "camera_v": camera.v, "camera_minimum_v": camera.least, "lights_v": lights.v,
		"endurance_min": nil, "insulation_megohm": m.Megohm, "jammed": m.Jammed, "tubes": append([]TubeDepth{}, m.Tubes...), "not_met": m.NotMet(),
	}
	if m.Motors != nil {
		out["motor_v"], out["motor_tested_v"] = m.Motors.V, m.Motors.TestedV
	}
	if s := m.Signal; s != nil {
		out["signal_short_a"], out["signal_bears_a"], out["signal_fuse_suggested_a"], out["signal_lights_a_mm2"] = s.ShortA, s.BearsA, s.OwnA, s.Density
	}
	if m.Relay != nil {
		out["relay_coil_v"], out["relay_coil_high_v"], out["relay_pull_in_v"], out["relay_pull_in_hot_v"] = m.Relay.CoilV, m.Relay.MostV, m.Relay.PullInV, m.Relay.HotV
	}
	if m.Endurance != nil {
		out["endurance_min"], out["endurance_low_min"], out["endurance_high_min"] = m.Endurance.Value, m.Endurance.Low, m.Endurance.High
	}
	return json.Marshal(out)
}

// known is nil for 0 or infinity.
func known(x float64) *float64 {
	if x == 0 || math.IsInf(x, 0) {
		return nil
	}
	return &x
}
