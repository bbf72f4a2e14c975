// Package vehicle reads and writes vehicle.toml: the vehicle, its tether, battery, instruments and
// limits as built. It assumes that an owner knows the labels and what a tape measures, and often
// nothing else. What is left out gets a prior from the one table of keys, which reading, checking,
// --set and the commented file share. It assumes brushed motors described by a static test on short
// leads and stranded copper. It knows nothing of the operating point, logs or screens.
package vehicle

import (
	"maps"
	"slices"
	"strings"

	"sagline/session/units"
)

// A Vehicle is vehicle.toml as built: the vehicle, its tether, battery, instruments and limits.
// Units are in the key's name, as in the file. Each number is the one to compute with: as given,
// the middle of a range, or the prior's median where the file leaves it out; 0 where the vehicle
// has no such thing. Belief says how well it is known.
type Vehicle struct {
	Name        string       `toml:"name"`
	Units       units.System `toml:"units"` // in which results are shown; the fields are in SI
	Battery     Battery      `toml:"battery"`
	Tether      Tether       `toml:"tether"`
	Relay       Relay        `toml:"relay"`
	Lights      Lights       `toml:"lights"`
	Camera      Camera       `toml:"camera"`
	Joints      []Joint      `toml:"joint"`
	Tubes       []Tube       `toml:"tube"`
	Thrusters   []Thruster   `toml:"thruster"`
	Hull        Hull         `toml:"hull"`
	Instruments Instruments  `toml:"instruments"`
	Limits      Limits       `toml:"limits"`
	Baseline    Baseline     `toml:"baseline"`
	Maintenance []Interval   `toml:"maintenance"`
	Changes     []Change     `toml:"-"` // in the file's order

	stated map[keyElement]stated // what the file or Set states; nil for a vehicle made in code, all of whose numbers count as given
}

// A Battery is the supply at the surface end.
type Battery struct {
	NominalV      float64 `toml:"nominal_v"`
	CapacityAh    float64 `toml:"capacity_ah"`
	ResistanceOhm float64 `toml:"resistance_ohm"`
	Chemistry     string  `toml:"chemistry"`
	FuseA         float64 `toml:"fuse_a"`
	MinimumV      float64 `toml:"minimum_v"`
}

// A Conductor is one wire, by size or by measured resistance (exactly one).
type Conductor struct {
	AWG          *float64 `toml:"awg"`
	AreaMM2      float64  `toml:"area_mm2"`
	OhmKM        float64  `toml:"ohm_km"` // at 20 °C
	Parallel     int      `toml:"parallel"`
	JointsOhm    float64  `toml:"joints_ohm"`    // whole loop
	SharedReturn int      `toml:"shared_return"` // conductors
}

// A Tether is the cable between the surface and the vehicle.
type Tether struct {
	LengthM    float64   `toml:"length_m"`
	DiameterMM float64   `toml:"diameter_mm"`
	WeightGM   float64   `toml:"weight_g_m"` // net in water, + sinks
	NormalDrag float64   `toml:"normal_drag"`
	SkinDrag   float64   `toml:"skin_drag"`
	Power      Conductor `toml:"power"`
	Signal     Conductor `toml:"signal"`
	Floats     []Float   `toml:"floats"`
}

// A Float is a stretch of tether with floats, measured from the vehicle end.
type Float struct {
	FromM  float64 `toml:"from_m"`
	ToM    float64 `toml:"to_m"`
	LiftGM float64 `toml:"lift_g_m"`
}

// A Relay switches a thruster.
type Relay struct {
	CoilOhm float64 `toml:"coil_ohm"`
	CoilV   float64 `toml:"coil_v"`
	PullInV float64 `toml:"pull_in_v"`
}

// Lights draw a stated current, or that of LEDs behind parallel resistors.
type Lights struct {
	CurrentA    float64   `toml:"current_a"`
	LEDV        float64   `toml:"led_v"`
	ResistorOhm []float64 `toml:"resistor_ohm"`
	Supply      string    `toml:"supply"`
}

// Any reports whether there are lights.
func (l *Lights) Any() bool { return l.CurrentA > 0 || len(l.ResistorOhm) > 0 }

// AmpsAt returns what the lights draw, A, at a voltage across them that lights them.
func (l *Lights) AmpsAt(volts float64) float64 {
	if len(l.ResistorOhm) == 0 {
		return l.CurrentA
	}
	return max(volts-l.LEDV, 0) * l.Siemens()
}

// Siemens returns the conductance of the resistors in parallel.
func (l *Lights) Siemens() (s float64) {
	for _, r := range l.ResistorOhm {
		s += 1 / r
	}
	return s
}

// Camera is the picture's supply.
type Camera struct {
	CurrentA float64 `toml:"current_a"`
	MinimumV float64 `toml:"minimum_v"`
	Supply   string  `toml:"supply"`
}

// OnVehicle reports whether the camera is fed by the vehicle's battery.
func (c *Camera) OnVehicle() bool { return c.Supply == "shared" || c.Supply == "pair" }

// HasCamera reports whether the file names a camera, by any of its keys.
func (v *Vehicle) HasCamera() bool {
	return v.has("camera.supply", 0) || v.Camera.CurrentA > 0 || v.Camera.MinimumV > 0 || v.Camera.OnVehicle()
}

// A Tube is an air-filled tube or housing.
type Tube struct {
	Name     string  `toml:"name"`
	OuterMM  float64 `toml:"outer_mm"`
	WallMM   float64 `toml:"wall_mm"`
	LengthMM float64 `toml:"length_mm"`
	Material string  `toml:"material"`
	Sealed   *bool   `toml:"sealed"`
}

// IsSealed reports whether a tube keeps the water out; one of which the file does not say so does.
func (t *Tube) IsSealed() bool { return t.Sealed == nil || *t.Sealed }

// A Thruster is a brushed motor with its propeller, described by a static test on short leads and a
// no-load run.
type Thruster struct {
	Name           string  `toml:"name"`
	Axis           string  `toml:"axis"` // "surge" or "heave"
	TestV          float64 `toml:"test_v"`
	TestA          float64 `toml:"test_a"`
	OtherTestW     float64 `toml:"-"` // W of the test with the propeller that the motor had before; 0: it has that
	TestN          float64 `toml:"test_n"`
	ArmatureOhm    float64 `toml:"armature_ohm"`
	NoLoadA        float64 `toml:"no_load_a"`
	NoLoadRPM      float64 `toml:"no_load_rpm"`
	PropPitchMM    float64 `toml:"prop_pitch_mm"`
	PropDiameterMM float64 `toml:"prop_diameter_mm"`
	ArmMM          float64 `toml:"arm_mm"` // + starboard
	BranchOhm      float64 `toml:"branch_ohm"`
	Astern         float64 `toml:"astern"`
}

// Surge reports whether the thruster pushes along the vehicle.
func (t *Thruster) Surge() bool { return t.Axis == "surge" }

// Hull is the vehicle in the water.
type Hull struct {
	DragAreaM2         float64 `toml:"drag_area_m2"`
	ClimbDragAreaM2    float64 `toml:"climb_drag_area_m2"`
	DisplacedKG        float64 `toml:"displaced_kg"`
	Wake               float64 `toml:"wake"`
	TrimG              float64 `toml:"trim_g"`
	FoamLossGM         float64 `toml:"foam_loss_g_m"`
	BallastDensityKGM3 float64 `toml:"ballast_density_kg_m3"`
}

// Instruments are one standard deviation of each reading.
type Instruments struct {
	BatteryV     float64 `toml:"battery_v"`
	CurrentA     float64 `toml:"current_a"`
	VehicleV     float64 `toml:"vehicle_v"`
	SpeedPercent float64 `toml:"speed_percent"`
	ClimbPercent float64 `toml:"climb_percent"`
	TrimG        float64 `toml:"trim_g"`
	PullN        float64 `toml:"pull_n"`
	LoopOhm      float64 `toml:"loop_ohm"`
}

// Limits are the levels at which a person would act.
type Limits struct {
	ExcessResistanceOhm  float64 `toml:"excess_resistance_ohm"`
	ThrustFactor         float64 `toml:"thrust_factor"`
	FrictionA            float64 `toml:"friction_a"`
	IngressG             float64 `toml:"ingress_g"`
	BatteryResistanceOhm float64 `toml:"battery_resistance_ohm"`
	BranchExcessOhm      float64 `toml:"branch_excess_ohm"`
	DragFactor           float64 `toml:"drag_factor"`
	InsulationMegohm     float64 `toml:"insulation_megohm"`
}

// BatteryLimitGuessed reports whether the file states neither the battery's resistance nor its
// limit, so that the limit is twice a guess.
func (v *Vehicle) BatteryLimitGuessed() bool {
	return v.stated != nil && !v.has("battery.resistance_ohm", 0) && !v.has("limits.battery_resistance_ohm", 0)
}

// IngressLimitGuessed reports whether the file does not state how much water the vehicle may take in.
func (v *Vehicle) IngressLimitGuessed() bool {
	return v.stated != nil && !v.has("limits.ingress_g", 0)
}

// A Baseline says how many of the first dives count as sound.
type Baseline struct {
	Dives int `toml:"dives"`
}

// Straight is the sum of arms in mm below which thrusters do not turn the vehicle.
const Straight = 1e-9

// Clone returns a copy that can be changed without touching v.
func (v *Vehicle) Clone() *Vehicle {
	c := *v
	c.Thrusters, c.Tubes, c.Changes = slices.Clone(v.Thrusters), slices.Clone(v.Tubes), slices.Clone(v.Changes)
	c.Joints, c.Maintenance = slices.Clone(v.Joints), slices.Clone(v.Maintenance)
	c.Tether.Floats, c.Lights.ResistorOhm = slices.Clone(v.Tether.Floats), slices.Clone(v.Lights.ResistorOhm)
	c.stated = maps.Clone(v.stated)
	return &c
}

// ThrusterNames returns the names that a log may use; none for a nil vehicle, one that could not be
// read.
func (v *Vehicle) ThrusterNames() (names []string) {
	if v == nil {
		return nil
	}
	for i := range v.Thrusters {
		names = append(names, v.Thrusters[i].Name)
	}
	return names
}

// Sides maps words for a place to thrusters: port and starboard to the only surge thruster of that
// side, vertical to the only heave thruster, both to two surge thrusters.
func (v *Vehicle) Sides() map[string]string {
	sides := map[string][]string{}
	for i := range v.ThrusterNames() {
		t := &v.Thrusters[i]
		switch add := func(side string) { sides[side] = append(sides[side], t.Name) }; {
		case !t.Surge():
			add("vertical")
		case t.ArmMM < 0:
			add("port")
		case t.ArmMM > 0:
			add("starboard")
		}
		if t.Surge() {
			sides["both"] = append(sides["both"], t.Name)
		}
	}
	out := map[string]string{}
	for side, names := range sides {
		if len(names) == 1 && side != "both" || len(names) == 2 && side == "both" {
			out[side] = strings.Join(names, " + ")
		}
	}
	return out
}

// Reversed returns the thruster's name in a log when it runs in reverse.
func (t *Thruster) Reversed() string {
	if t.Surge() {
		return t.Name + " astern"
	}
	return t.Name + " down"
}

// DrivesName words which thrusters run, as a log does. signs has one sign per thruster: 0 off, 1
// ahead or up, −1 astern or down.
func (v *Vehicle) DrivesName(signs []int8) string {
	var out []string
	for i, s := range signs {
		switch {
		case s > 0:
			out = append(out, v.Thrusters[i].Name)
		case s < 0:
			out = append(out, v.Thrusters[i].Reversed())
		}
	}
	if len(out) == 0 {
		return "off"
	}
	return strings.Join(out, " + ")
}
