package vehicle_test

import (
	"math"
	"os"
	"reflect"
	"runtime"
	"strings"
	"testing"
	"unicode/utf8"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/vehicle"
	"sagline/session/problem"
)

// Whatever the text: no panic, little memory, and either a vehicle of finite
// numbers that passes its own check and can be solved, or problems that can be
// printed, a line each. The text is tried as a file and as what follows a sound
// vehicle.
func FuzzReadVehicle(f *testing.F) {
	every, err := os.ReadFile("testdata/every_key.toml")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(string(every))
	f.Add(vehicle.Sound)
	for _, seed := range []string{
		"\ufeffname = 'x'\r\n[battery]\r\nnominal_v = 1_2.0e0\r\n", "[[tube]]\nouter_mm = 20\nwall_mm = 2\nlength_mm = 300\nmaterial = \"pvc\"\n",
		"[lights]\nresistor_ohm = [1, 2.5]\nled_v = 3\nsupply = \"signal\"\n[tether.signal]\nawg = 24\n", "[[tether.floats]]\nfrom_m = 0\nto_m = 3\nlift_g_m = 5\n",
		"[camera]\nsupply = \"shared\"\nminimum_v = inf\n", "x = [[{a.b = nan}]]\n", "\"a\\u0000\" = 0x1F\n", "[baseline]\ndives = 9223372036854775807\n",
		"[[thruster]]\nname = \"a\\nb\"\n", "[relay]\npull_in_v = -0.0\n", "[battery]\nminimum_v = 1e308\n",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		readsSoundly(t, text)
		readsSoundly(t, vehicle.Sound+text)
	})
}

func readsSoundly(t *testing.T, text string) {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	v, err := vehicle.Read(strings.NewReader(text), vehicle.FileName)
	runtime.ReadMemStats(&after)
	if got, most := after.TotalAlloc-before.TotalAlloc, uint64(8*len(text)+64<<20); got > most {
		t.Fatalf("%d bytes took %d bytes of memory", len(text), got)
	}
	if err != nil {
		if v != nil {
			t.Fatalf("a vehicle beside %v", err)
		}
		for line := range strings.SplitSeq(err.Error(), "\n") {
			if !strings.HasPrefix(line, vehicle.FileName+":") || len(line) > 1000 || !problem.Plain(line) || !utf8.ValidString(line) {
				t.Fatalf("told %q", line)
			}
		}
		return
	}
	if path := notFinite(reflect.ValueOf(v), ""); path != "" {
		t.Fatalf("%s is no finite number", path)
	}
	if err := v.Check(); err != nil {
		t.Fatalf("read, but then %v", err)
	}
	m := predict.NewModel(v)
	o := advice.AllAhead(m, predict.Condition{TetherOutM: v.Tether.LengthM, WaterC: 15}, m.NewParams())
	if path := notFinite(reflect.ValueOf(o), "outcome"); path != "" {
		t.Fatalf("%s is no finite number", path)
	}
}

// notFinite is the path of a number that is none, "" where all are.
func notFinite(v reflect.Value, path string) string {
	switch v.Kind() {
	case reflect.Float64:
		if x := v.Float(); math.IsNaN(x) || math.IsInf(x, 0) {
			return path
		}
	case reflect.Pointer:
		if !v.IsNil() {
			return notFinite(v.Elem(), path)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if p := notFinite(v.Field(i), path+"."+v.Type().Field(i).Name); p != "" {
				return p
			}
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			if p := notFinite(v.Index(i), path); p != "" {
				return p
			}
		}
	}
	return ""
}
