package predict

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"sort"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"sagline/session/problem"
)

// FileName is the vehicle's name in its folder.
const FileName = "vehicle.toml"

const maxBytes = 1 << 20

// deepest is how far down keys are followed; no known one lies so deep.
const deepest = 8

// OpenVehicle reads a logbook folder's vehicle.toml.
func OpenVehicle(folder string) (*Vehicle, error) {
	path := filepath.Join(folder, FileName)
	if st, err := os.Stat(folder); err != nil || !st.IsDir() {
		return nil, &problem.Problem{File: folder, Text: "no such folder; want a logbook folder with vehicle.toml and dives.csv"}
	}
	if st, err := os.Stat(path); err == nil && !st.Mode().IsRegular() {
		return nil, &problem.Problem{File: path, Text: "not a file"}
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
// Where there is an error there is no vehicle.
func ReadVehicle(r io.Reader, file string) (*Vehicle, error) {
	text, err := io.ReadAll(io.LimitReader(r, maxBytes+1))
	if err != nil {
		return nil, &problem.Problem{File: file, Text: err.Error()}
	}
	if len(text) > maxBytes {
		return nil, &problem.Problem{File: file, Text: fmt.Sprintf("more than %d bytes", maxBytes)}
	}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	var all problem.List
	v, in := defaults(), scan(text)
	if err := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields().Decode(v); err != nil {
		decodeProblem(err, in, file, &all)
		return nil, all.Err()
	}
	// The library takes a single [table] for a list of one.
	for _, list := range []string{"thruster", "tube", "tether.floats"} {
		if e, ok := in.at[list]; ok && e.kind != unstable.Array {
			all.Add(file, in.line(list), list, "found a table, want %s", wanted(list))
		}
	}
	if err := all.Err(); err != nil {
		return nil, err
	}
	v.fill(in)
	c := checker{v: v, in: in, file: file, all: &all}
	c.vehicle()
	if err := all.Err(); err != nil {
		return nil, err
	}
	return v, nil
}

// decodeProblem words an error of the TOML library with its line.
func decodeProblem(err error, in *keys, file string, all *problem.List) {
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
		if path, is := in.mistyped(line); path != "" {
			all.Add(file, line, path, "found %s, want %s", is, wanted(path))
			return
		}
		all.Add(file, line, strings.Join(decode.Key(), "."), "%s", strings.TrimPrefix(decode.Error(), "toml: "))
	default:
		all.Add(file, 0, "", "%s", strings.TrimPrefix(err.Error(), "toml: "))
	}
}

// typeAt is the Go type of a key path; numbers in it (elements of lists) are
// passed over. nil: no such key.
func typeAt(path []string) reflect.Type {
	t := reflect.TypeFor[Vehicle]()
next:
	for _, k := range path {
		if _, err := strconv.Atoi(k); err == nil {
			continue
		}
		for t.Kind() == reflect.Slice {
			t = t.Elem()
		}
		if t.Kind() != reflect.Struct {
			return nil
		}
		for i := range t.NumField() {
			if t.Field(i).Tag.Get("toml") == k {
				t = t.Field(i).Type
				continue next
			}
		}
		return nil
	}
	return t
}

// keysBeside are the known keys of the table that an unknown key stands in.
func keysBeside(key []string) []string {
	t := typeAt(key[:len(key)-1])
	for t != nil && t.Kind() == reflect.Slice {
		t = t.Elem()
	}
	if t == nil || t.Kind() != reflect.Struct {
		return nil
	}
	var out []string
	for i := range t.NumField() {
		out = append(out, t.Field(i).Tag.Get("toml"))
	}
	return out
}

// wanted says in words what may stand at a key.
func wanted(path string) string {
	t := typeAt(strings.Split(path, "."))
	if t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch t.Kind() {
	case reflect.Int:
		return "a whole number"
	case reflect.Float64:
		return "a number"
	case reflect.Bool:
		return "true or false"
	case reflect.String:
		return "a text in quotes"
	case reflect.Struct:
		return "a table"
	}
	if t.Elem().Kind() == reflect.Struct {
		return "tables, each under [[…]]"
	}
	return "a list of numbers"
}

// keys are the key paths of a file, as "thruster.0.test_a".
type keys struct {
	at     map[string]entry
	order  []string
	breaks []int // offsets of line breaks
}

type entry struct {
	offset int
	kind   unstable.Kind
	raw    string
}

func join(parts ...any) string {
	words := make([]string, len(parts))
	for i, p := range parts {
		words[i] = fmt.Sprint(p)
	}
	return strings.Join(words, ".")
}

// scan notes where each key of a file stands, as far as its syntax is sound.
func scan(text []byte) *keys {
	in := &keys{at: map[string]entry{}}
	for i, c := range text {
		if c == '\n' {
			in.breaks = append(in.breaks, i)
		}
	}
	var p unstable.Parser
	p.Reset(text)
	lists := map[string]int{} // elements so far of each [[list]]
	table := ""
	for p.NextExpression() {
		switch e := p.Expression(); e.Kind {
		case unstable.Table, unstable.ArrayTable:
			path, offset := in.path(e.Key(), "", lists)
			if e.Kind == unstable.ArrayTable {
				in.note(path, entry{offset: offset, kind: unstable.Array})
				lists[path]++
				path = join(path, lists[path]-1)
			}
			in.note(path, entry{offset: offset, kind: unstable.Table})
			table = path
		case unstable.KeyValue:
			in.value(&p, e, table, lists)
		}
	}
	return in
}

func (in *keys) note(path string, e entry) {
	if _, ok := in.at[path]; !ok {
		in.at[path] = e
		in.order = append(in.order, path)
	}
}

// path spells a key below a table; a list on the way means its last element.
func (in *keys) path(key unstable.Iterator, table string, lists map[string]int) (path string, offset int) {
	path = table
	for n := 0; key.Next() && n < deepest; n++ {
		if last := lists[path] - 1; last >= 0 && path != table {
			path = join(path, last)
		}
		if path != "" {
			path += "."
		}
		path += string(key.Node().Data)
		offset = int(key.Node().Raw.Offset)
	}
	return path, offset
}

func (in *keys) value(p *unstable.Parser, e *unstable.Node, table string, lists map[string]int) {
	path, offset := in.path(e.Key(), table, lists)
	v := e.Value()
	in.note(path, entry{offset, v.Kind, string(p.Raw(v.Raw))})
	in.inside(p, v, path, lists)
}

// inside notes the keys of inline tables and of lists of them.
func (in *keys) inside(p *unstable.Parser, v *unstable.Node, path string, lists map[string]int) {
	if v.Kind != unstable.InlineTable && v.Kind != unstable.Array || strings.Count(path, ".") >= deepest {
		return
	}
	for i, c := 0, v.Children(); c.Next(); {
		switch n := c.Node(); n.Kind {
		case unstable.KeyValue:
			in.value(p, n, path, lists)
		case unstable.Comment:
		default:
			at := join(path, i)
			i++
			in.note(at, entry{int(n.Raw.Offset), n.Kind, string(p.Raw(n.Raw))})
			in.inside(p, n, at, lists)
		}
	}
}

func (in *keys) has(path string) bool {
	_, ok := in.at[path]
	return ok
}

// line is a key's line, or 0.
func (in *keys) line(path string) int {
	e, ok := in.at[path]
	if !ok {
		return 0
	}
	return 1 + sort.SearchInts(in.breaks, e.offset)
}

// mistyped finds the key of a line whose value is of the wrong kind.
func (in *keys) mistyped(line int) (path, is string) {
	for _, path := range in.order {
		if in.line(path) != line {
			continue
		}
		parts := strings.Split(path, ".")
		t := typeAt(parts)
		if t == nil {
			continue
		}
		if _, err := strconv.Atoi(parts[len(parts)-1]); err == nil && t.Kind() == reflect.Slice {
			t = t.Elem()
		}
		if t.Kind() == reflect.Pointer {
			t = t.Elem()
		}
		e, fits := in.at[path], false
		switch e.kind {
		case unstable.Float:
			fits = t.Kind() == reflect.Float64
		case unstable.Integer:
			fits = t.Kind() == reflect.Float64 || t.Kind() == reflect.Int
		case unstable.Bool:
			fits = t.Kind() == reflect.Bool
		case unstable.String:
			fits = t.Kind() == reflect.String
		case unstable.Array:
			fits, e.raw = t.Kind() == reflect.Slice, "a list"
		case unstable.Table, unstable.InlineTable:
			fits, e.raw = t.Kind() == reflect.Struct, "a table"
		}
		if !fits {
			if len(e.raw) > 40 {
				e.raw = e.kind.String()
			}
			return path, e.raw
		}
	}
	return "", ""
}

// Check says what of a vehicle is impossible, after a key was changed.
func (v *Vehicle) Check() error {
	var all problem.List
	c := checker{v: v, file: FileName, all: &all}
	c.vehicle()
	return all.Err()
}

// A checker gathers what is missing or impossible; in is nil for a vehicle
// that comes from no file.
type checker struct {
	v    *Vehicle
	in   *keys
	file string
	all  *problem.List
}

// A place is a table: its path in the file and its name for a reader.
type place struct{ path, shown string }

func table(path string) place { return place{path, path} }

// named is an element of a list, shown by its name where it has one.
func named(list string, i int, name string) place {
	if name == "" {
		return place{join(list, i), fmt.Sprintf("%s %d", list, i+1)}
	}
	return place{join(list, i), list + " " + problem.Quote(name)}
}

func (c *checker) bad(at place, key, format string, args ...any) {
	line := 0
	if c.in != nil {
		line = c.in.line(at.path + "." + key)
	}
	c.all.Add(c.file, line, at.shown+"."+key, format, args...)
}

// missing tells a required key that the file lacks.
func (c *checker) missing(at place, key string) bool {
	if c.in == nil || c.in.has(at.path+"."+key) {
		return false
	}
	c.bad(at, key, "missing")
	return true
}

// within wants lo <= x <= hi, which no NaN satisfies.
func (c *checker) within(at place, key string, x, lo, hi float64) bool {
	ok := x >= lo && x <= hi
	if !ok {
		c.bad(at, key, "found %g, want %g to %g", x, lo, hi)
	}
	return ok
}

// need is within for a required key.
func (c *checker) need(at place, key string, x, lo, hi float64) bool {
	return !c.missing(at, key) && c.within(at, key, x, lo, hi)
}

func (c *checker) oneOf(at place, key, word string, words ...string) bool {
	ok := slices.Contains(words, word)
	if !ok {
		c.bad(at, key, "found %s, want %s%s", problem.Quote(word), strings.Join(words, " or "), problem.Suggest(word, words))
	}
	return ok
}

// least is the smallest of what must be above 0.
const least = 1e-6

func (c *checker) vehicle() {
	v := c.v
	switch {
	case c.in != nil && !c.in.has("name"):
		c.all.Add(c.file, 0, "name", "missing")
	case c.in != nil && strings.TrimSpace(v.Name) == "":
		c.all.Add(c.file, c.in.line("name"), "name", "found %s, want a name", problem.Quote(v.Name))
	}
	at := table("battery")
	c.need(at, "nominal_v", v.Battery.NominalV, 1, 60)
	c.within(at, "capacity_ah", v.Battery.CapacityAh, 0, 1e4)
	c.within(at, "resistance_ohm", v.Battery.ResistanceOhm, 0, 10)
	c.within(at, "fuse_a", v.Battery.FuseA, 0, 1000)
	c.within(at, "minimum_v", v.Battery.MinimumV, 0, 60)
	c.tether()
	at = table("relay")
	c.within(at, "coil_ohm", v.Relay.CoilOhm, 0, 1e5)
	c.within(at, "coil_v", v.Relay.CoilV, 0, 60)
	c.within(at, "pull_in_v", v.Relay.PullInV, 0, 60)
	c.consumers()
	for i := range v.Tubes {
		c.tube(named("tube", i, v.Tubes[i].Name), &v.Tubes[i])
	}
	if len(v.Thrusters) == 0 {
		c.all.Add(c.file, 0, "thruster", "missing, want at least one [[thruster]]")
	}
	seen := map[string]bool{}
	for i := range v.Thrusters {
		t := &v.Thrusters[i]
		c.thruster(named("thruster", i, t.Name), t, seen[t.Name])
		seen[t.Name] = true
	}
	at = table("hull")
	c.need(at, "drag_area_m2", v.Hull.DragAreaM2, 1e-5, 100)
	c.need(at, "climb_drag_area_m2", v.Hull.ClimbDragAreaM2, 1e-5, 100)
	c.need(at, "displaced_kg", v.Hull.DisplacedKG, 0.01, 1e4)
	c.within(at, "wake", v.Hull.Wake, 0, 0.9)
	c.need(at, "trim_g", v.Hull.TrimG, -1e6, 1e6)
	c.within(at, "foam_loss_g_m", v.Hull.FoamLossGM, 0, 1e4)
	c.within(at, "ballast_density_kg_m3", v.Hull.BallastDensityKGM3, 1001, 25000)
	c.readings()
	c.within(table("baseline"), "dives", float64(v.Baseline.Dives), 2, 50)
}

func (c *checker) tether() {
	at, t := table("tether"), &c.v.Tether
	c.need(at, "length_m", t.LengthM, 0.1, 2000)
	c.need(at, "diameter_mm", t.DiameterMM, 0.1, 200)
	c.within(at, "weight_g_m", t.WeightGM, -5000, 5000)
	c.within(at, "normal_drag", t.NormalDrag, 0, 10)
	c.within(at, "skin_drag", t.SkinDrag, 0, 1)
	c.conductor(table("tether.power"), &t.Power, true)
	c.conductor(table("tether.signal"), &t.Signal, false)
	for i := range t.Floats {
		f, at := &t.Floats[i], named("tether.floats", i, "")
		c.within(at, "from_m", f.FromM, 0, 2000)
		if c.within(at, "to_m", f.ToM, 0, 2000) && f.ToM <= f.FromM {
			c.bad(at, "to_m", "found %g, want more than from_m %g", f.ToM, f.FromM)
		}
		c.within(at, "lift_g_m", f.LiftGM, -5000, 5000)
	}
}

func (c *checker) conductor(at place, w *Conductor, needed bool) {
	given := 0
	size := func(key string, set bool, x, lo, hi float64) {
		if set || c.in != nil && c.in.has(at.path+"."+key) {
			given++
			c.within(at, key, x, lo, hi)
		}
	}
	awg := 0.0
	if w.AWG != nil {
		awg = *w.AWG
	}
	size("awg", w.AWG != nil, awg, -3, 40)
	size("area_mm2", w.AreaMM2 != 0, w.AreaMM2, 0.005, 500)
	size("ohm_km", w.OhmKM != 0, w.OhmKM, 0.01, 1e5)
	if given > 1 || needed && given == 0 {
		line := 0
		if c.in != nil {
			line = c.in.line(at.path)
		}
		c.all.Add(c.file, line, at.shown, "found %d of awg, area_mm2 and ohm_km, want exactly one", given)
	}
	c.within(at, "parallel", float64(w.Parallel), 1, 100)
	c.within(at, "joints_ohm", w.JointsOhm, 0, 100)
	c.within(at, "shared_return", float64(w.SharedReturn), 0, 100)
}

func (c *checker) consumers() {
	at, l := table("lights"), &c.v.Lights
	c.within(at, "current_a", l.CurrentA, 0, 1000)
	c.within(at, "led_v", l.LEDV, 0, 60)
	for _, r := range l.ResistorOhm {
		if !c.within(at, "resistor_ohm", r, 1e-3, 1e7) {
			break
		}
	}
	c.oneOf(at, "supply", l.Supply, "power", "signal")
	at = table("camera")
	c.within(at, "current_a", c.v.Camera.CurrentA, 0, 1000)
	c.within(at, "minimum_v", c.v.Camera.MinimumV, 0, 60)
	c.oneOf(at, "supply", c.v.Camera.Supply, "own", "shared")
}

func (c *checker) tube(at place, t *Tube) {
	outer := c.within(at, "outer_mm", t.OuterMM, 0, 2000)
	if c.within(at, "wall_mm", t.WallMM, 0, 200) && outer && t.OuterMM > 0 && 2*t.WallMM >= t.OuterMM {
		c.bad(at, "wall_mm", "found %g, want less than half of outer_mm %g", t.WallMM, t.OuterMM)
	}
	c.within(at, "length_mm", t.LengthMM, 0, 1e4)
	if t.Material != "" {
		c.oneOf(at, "material", t.Material, "pvc", "abs", "acrylic", "aluminium")
	}
}

func (c *checker) thruster(at place, t *Thruster, twice bool) {
	switch {
	case c.missing(at, "name"):
	case twice:
		c.bad(at, "name", "found twice, want a name of its own")
	case strings.TrimSpace(t.Name) == "" || strings.EqualFold(t.Name, "off") || strings.ContainsAny(t.Name, "+,\n"):
		c.bad(at, "name", "found %s, want a name without + or comma, not off", problem.Quote(t.Name))
	}
	if !c.missing(at, "axis") {
		c.oneOf(at, "axis", t.Axis, "surge", "heave")
	}
	testV := c.need(at, "test_v", t.TestV, 0.1, 60)
	testA := c.need(at, "test_a", t.TestA, least, 1000)
	c.need(at, "test_n", t.TestN, least, 1e5)
	ohm := c.need(at, "armature_ohm", t.ArmatureOhm, least, 1000)
	idle := c.need(at, "no_load_a", t.NoLoadA, 0, 1000)
	c.need(at, "no_load_rpm", t.NoLoadRPM, 1, 1e6)
	c.need(at, "prop_pitch_mm", t.PropPitchMM, 0.1, 1e4)
	c.within(at, "prop_diameter_mm", t.PropDiameterMM, 0, 1e4)
	c.within(at, "arm_mm", t.ArmMM, -1e5, 1e5)
	c.within(at, "branch_ohm", t.BranchOhm, 0, 100)
	c.within(at, "astern", t.Astern, 0, 1.5)
	// A test that contradicts itself is a matter of several keys: no line.
	impossible := func(key, format string, args ...any) {
		c.all.Add(c.file, 0, at.shown+"."+key, "impossible test: "+format, args...)
	}
	if testA && idle && t.TestA <= t.NoLoadA {
		impossible("test_a", "%g A is not above no_load_a, %g A", t.TestA, t.NoLoadA)
	}
	for _, r := range []struct {
		known bool
		key   string
		a     float64
	}{{testA, "test_a", t.TestA}, {idle, "no_load_a", t.NoLoadA}} {
		if r.known && testV && ohm && t.TestV-r.a*t.ArmatureOhm <= 0 {
			impossible("armature_ohm", "%s %g A through %g Ω takes all of test_v, %g V", r.key, r.a, t.ArmatureOhm, t.TestV)
		}
	}
}

func (c *checker) readings() {
	at, in := table("instruments"), &c.v.Instruments
	c.within(at, "battery_v", in.BatteryV, least, 100)
	c.within(at, "current_a", in.CurrentA, least, 1000)
	c.within(at, "vehicle_v", in.VehicleV, least, 100)
	c.within(at, "speed_percent", in.SpeedPercent, least, 100)
	c.within(at, "climb_percent", in.ClimbPercent, least, 100)
	c.within(at, "trim_g", in.TrimG, least, 1e4)
	c.within(at, "pull_n", in.PullN, least, 1e4)
	c.within(at, "loop_ohm", in.LoopOhm, least, 100)
	at = table("limits")
	l := &c.v.Limits
	c.within(at, "excess_resistance_ohm", l.ExcessResistanceOhm, least, 100)
	c.within(at, "thrust_factor", l.ThrustFactor, 0, 1)
	c.within(at, "friction_a", l.FrictionA, least, 1000)
	c.within(at, "ingress_g", l.IngressG, least, 1e6)
	c.within(at, "battery_resistance_ohm", l.BatteryResistanceOhm, 0, 100)
	c.within(at, "branch_excess_ohm", l.BranchExcessOhm, least, 100)
}
