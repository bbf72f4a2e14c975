package predict

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"sagline/session/problem"
)

// FileName is the vehicle's name in its folder.
const FileName = "vehicle.toml"

const maxBytes = 1 << 20

// OpenVehicle reads a logbook folder's vehicle.toml.
func OpenVehicle(folder string) (*Vehicle, error) {
	path := filepath.Join(folder, FileName)
	if st, err := os.Stat(folder); err != nil || !st.IsDir() {
		return nil, &problem.Problem{File: folder, Text: "no such folder; want a logbook folder with vehicle.toml and dives.csv"}
	}
	if st, err := os.Stat(path); err != nil || st.IsDir() {
		return nil, &problem.Problem{File: path, Text: "cannot be read; sagline new makes one"}
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, &problem.Problem{File: path, Text: "cannot be read; sagline new makes one"}
	}
	defer f.Close()
	return ReadVehicle(f, path)
}

// ReadVehicle reads one vehicle.toml strictly: an unknown key, a missing one
// or a number out of range is an error that names it, all of them at once.
func ReadVehicle(r io.Reader, file string) (*Vehicle, error) {
	text, err := io.ReadAll(io.LimitReader(r, maxBytes+1))
	if err != nil {
		return nil, &problem.Problem{File: file, Text: err.Error()}
	}
	var all problem.List
	if len(text) > maxBytes {
		all.Add(file, 0, "", "more than %d bytes", maxBytes)
		return nil, all.Err()
	}
	v := defaults()
	var present map[string]any
	if err := toml.Unmarshal(text, &present); err != nil {
		decodeProblem(err, file, &all)
		return nil, all.Err()
	}
	if err := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields().Decode(v); err != nil {
		decodeProblem(err, file, &all)
		return nil, all.Err()
	}
	v.fill(present)
	v.check(file, present, &all)
	return v, all.Err()
}

// decodeProblem words an error of the TOML library with its line.
func decodeProblem(err error, file string, all *problem.List) {
	var strict *toml.StrictMissingError
	var decode *toml.DecodeError
	switch {
	case errors.As(err, &strict):
		for i := range strict.Errors {
			e := &strict.Errors[i]
			line, _ := e.Position()
			key := e.Key()
			all.Add(file, line, strings.Join(key, "."), "unknown key%s", problem.Suggest(key[len(key)-1], keysBeside(key)))
		}
	case errors.As(err, &decode):
		line, _ := decode.Position()
		all.Add(file, line, strings.Join(decode.Key(), "."), "%s", strings.TrimPrefix(decode.Error(), "toml: "))
	default:
		all.Add(file, 0, "", "%s", strings.TrimPrefix(err.Error(), "toml: "))
	}
}

// keysBeside are the known keys of the table that an unknown key stands in.
func keysBeside(key []string) []string {
	t := reflect.TypeFor[Vehicle]()
	for _, k := range key[:len(key)-1] {
		for i := range t.NumField() {
			if t.Field(i).Tag.Get("toml") == k {
				t = t.Field(i).Type
				for t.Kind() == reflect.Slice {
					t = t.Elem()
				}
				break
			}
		}
		if t.Kind() != reflect.Struct {
			return nil
		}
	}
	var out []string
	for i := range t.NumField() {
		out = append(out, t.Field(i).Tag.Get("toml"))
	}
	return out
}

// defaults is a vehicle with every documented default.
func defaults() *Vehicle {
	return &Vehicle{
		Battery:     Battery{ResistanceOhm: 0.04},
		Tether:      Tether{NormalDrag: 1.2, SkinDrag: 0.012, Power: Conductor{Parallel: 1}, Signal: Conductor{Parallel: 1}},
		Lights:      Lights{Supply: "power"},
		Camera:      Camera{Supply: "own"},
		Hull:        Hull{Wake: 0.1, BallastDensityKGM3: 7850},
		Instruments: Instruments{0.02, 0.15, 0.03, 4, 6, 8, 0.25, 0.02},
		Limits:      Limits{ExcessResistanceOhm: 0.3, ThrustFactor: 0.8, FrictionA: 0.3, IngressG: 60, BranchExcessOhm: 0.3},
		Baseline:    Baseline{Dives: 5},
	}
}

// fill sets defaults that depend on other keys or stand in lists.
func (v *Vehicle) fill(present map[string]any) {
	for i := range v.Thrusters {
		if !has(present, "thruster", i, "astern") {
			v.Thrusters[i].Astern = 0.7
		}
	}
	if v.Relay.PullInV == 0 {
		v.Relay.PullInV = 0.75 * v.Relay.CoilV
	}
	if v.Limits.BatteryResistanceOhm == 0 {
		v.Limits.BatteryResistanceOhm = 2 * v.Battery.ResistanceOhm
	}
	sealed := true
	for i := range v.Tubes {
		if v.Tubes[i].Sealed == nil {
			v.Tubes[i].Sealed = &sealed
		}
	}
}

// Check says what of a vehicle is impossible, after a key was changed.
func (v *Vehicle) Check() error {
	var all problem.List
	v.check(FileName, nil, &all)
	return all.Err()
}

// has says whether a key path stands in the file.
func has(present any, path ...any) bool {
	for _, p := range path {
		switch at := p.(type) {
		case string:
			m, ok := present.(map[string]any)
			if !ok {
				return false
			}
			if present, ok = m[at]; !ok {
				return false
			}
		case int:
			l, ok := present.([]any)
			if !ok || at >= len(l) {
				return false
			}
			present = l[at]
		}
	}
	return true
}

// check tells every key that is missing or impossible.
func (v *Vehicle) check(file string, present map[string]any, all *problem.List) {
	bad := func(key, format string, args ...any) { all.Add(file, 0, key, format, args...) }
	within := func(key string, x, lo, hi float64) {
		if !(x >= lo && x <= hi) || math.IsInf(x, 0) {
			bad(key, "found %g, want %g to %g", x, lo, hi)
		}
	}
	need := func(prefix string, at []any, keys ...string) {
		for _, k := range keys {
			if present != nil && !has(present, append(append([]any{}, at...), k)...) {
				bad(prefix+k, "missing")
			}
		}
	}
	need("", nil, "name")
	need("battery.", []any{"battery"}, "nominal_v")
	need("tether.", []any{"tether"}, "length_m", "diameter_mm")
	need("hull.", []any{"hull"}, "drag_area_m2", "climb_drag_area_m2", "displaced_kg", "trim_g")
	b, t, h := &v.Battery, &v.Tether, &v.Hull
	within("battery.nominal_v", b.NominalV, 1, 60)
	within("battery.resistance_ohm", b.ResistanceOhm, 0, 10)
	within("battery.capacity_ah", b.CapacityAh, 0, 10000)
	within("battery.fuse_a", b.FuseA, 0, 1000)
	within("battery.minimum_v", b.MinimumV, 0, 60)
	within("tether.length_m", t.LengthM, 0.1, 2000)
	within("tether.diameter_mm", t.DiameterMM, 0.1, 200)
	within("tether.weight_g_m", t.WeightGM, -5000, 5000)
	within("tether.normal_drag", t.NormalDrag, 0, 10)
	within("tether.skin_drag", t.SkinDrag, 0, 1)
	v.Tether.Power.check("tether.power", true, bad, within)
	v.Tether.Signal.check("tether.signal", false, bad, within)
	within("hull.drag_area_m2", h.DragAreaM2, 1e-5, 100)
	within("hull.climb_drag_area_m2", h.ClimbDragAreaM2, 1e-5, 100)
	within("hull.displaced_kg", h.DisplacedKG, 0.01, 10000)
	within("hull.wake", h.Wake, 0, 0.9)
	within("hull.trim_g", h.TrimG, -1e6, 1e6)
	within("hull.foam_loss_g_m", h.FoamLossGM, 0, 1e4)
	within("hull.ballast_density_kg_m3", h.BallastDensityKGM3, 1001, 25000)
	within("baseline.dives", float64(v.Baseline.Dives), 1, 50)
	in := v.Instruments
	for key, x := range map[string]float64{"battery_v": in.BatteryV, "current_a": in.CurrentA, "vehicle_v": in.VehicleV, "speed_percent": in.SpeedPercent,
		"climb_percent": in.ClimbPercent, "trim_g": in.TrimG, "pull_n": in.PullN, "loop_ohm": in.LoopOhm} {
		within("instruments."+key, x, 1e-6, 1e4)
	}
	v.checkThrusters(need, bad, within)
}

func (c *Conductor) check(key string, needed bool, bad func(string, string, ...any), within func(string, float64, float64, float64)) {
	given := 0
	if c.AWG != nil {
		given++
		within(key+".awg", *c.AWG, -3, 40)
	}
	if c.AreaMM2 != 0 {
		given++
		within(key+".area_mm2", c.AreaMM2, 0.005, 500)
	}
	if c.OhmKM != 0 {
		given++
		within(key+".ohm_km", c.OhmKM, 0.01, 1e5)
	}
	if given > 1 || needed && given == 0 {
		bad(key, "found %d of awg, area_mm2 and ohm_km, want exactly one", given)
	}
	within(key+".joints_ohm", c.JointsOhm, 0, 100)
	within(key+".parallel", float64(c.Parallel), 1, 100)
}

func (v *Vehicle) checkThrusters(need func(string, []any, ...string), bad func(string, string, ...any), within func(string, float64, float64, float64)) {
	if len(v.Thrusters) == 0 {
		bad("thruster", "missing, want at least one [[thruster]]")
	}
	seen := map[string]bool{}
	for i := range v.Thrusters {
		t := &v.Thrusters[i]
		key := fmt.Sprintf("thruster %q.", t.Name)
		need(key, []any{"thruster", i}, "name", "axis", "test_v", "test_a", "test_n", "armature_ohm", "no_load_a", "no_load_rpm", "prop_pitch_mm")
		if seen[t.Name] || t.Name == "off" || strings.ContainsAny(t.Name, "+,\n") {
			bad(key+"name", "found %s, want a name of its own without + or comma, not off", problem.Quote(t.Name))
		}
		seen[t.Name] = true
		if t.Axis != "surge" && t.Axis != "heave" {
			bad(key+"axis", "found %s, want surge or heave", problem.Quote(t.Axis))
		}
		for k, x := range map[string]float64{"test_v": t.TestV, "test_a": t.TestA, "test_n": t.TestN, "armature_ohm": t.ArmatureOhm, "no_load_rpm": t.NoLoadRPM, "prop_pitch_mm": t.PropPitchMM} {
			within(key+k, x, 1e-4, 1e6)
		}
		within(key+"no_load_a", t.NoLoadA, 0, 1000)
		within(key+"branch_ohm", t.BranchOhm, 0, 100)
		within(key+"astern", t.Astern, 0, 1.5)
		if t.TestA <= t.NoLoadA {
			bad(key+"test_a", "impossible test: %g A is not above no_load_a, %g A", t.TestA, t.NoLoadA)
		}
		if t.TestV-t.TestA*t.ArmatureOhm <= 0 || t.TestV-t.NoLoadA*t.ArmatureOhm <= 0 {
			bad(key+"armature_ohm", "impossible test: %g A through %g Ω needs more than test_v, %g V", t.TestA, t.ArmatureOhm, t.TestV)
		}
	}
}
