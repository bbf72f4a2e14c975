package main

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sagline/predict/vehicle"
	"sagline/session"
)

// Whatever check finds sound, with dives or without, every command that reads
// a logbook accepts, as text and as JSON.
func TestWhatCheckPassesEveryCommandAccepts(t *testing.T) {
	t.Chdir(t.TempDir())
	few(t, 20)
	passed := 0
	rapid.Check(t, func(rt *rapid.T) {
		text := aVehicleFile(rt)
		log := aLogFile(rt)
		require.NoError(rt, os.MkdirAll("pond", 0o755))
		require.NoError(rt, os.WriteFile(filepath.Join("pond", vehicle.FileName), []byte(text), 0o644))
		require.NoError(rt, os.WriteFile(filepath.Join("pond", session.FileName), []byte(log), 0o644))
		var out bytes.Buffer
		if Run([]string{"check", "pond"}, strings.NewReader(""), &out, &out) != exitDone {
			return
		}
		passed++
		slow := rapid.IntRange(0, 7).Draw(rt, "slow") == 0 // it takes a second or more
		for _, args := range calls(newRoot()) {
			if !slow && args[0] == "rehearse" {
				continue
			}
			out.Reset()
			if code := Run(args, strings.NewReader(""), &out, &out); code != exitDone {
				rt.Fatalf("%q exits with %d:\n%s\n%s\n%s", args, code, out.String(), text, log)
			}
			if s := out.String(); strings.Contains(s, "NaN") || strings.Contains(s, "Inf") {
				rt.Fatalf("%q prints no number:\n%s\n%s\n%s", args, s, text, log)
			}
		}
	})
	t.Logf("check passed %d logbooks", passed)
	if passed == 0 {
		t.Error("check passed no logbook at all")
	}
}

// few lowers how many logbooks are drawn, where the command line did not ask
// for a number.
func few(t *testing.T, n int) {
	checks := flag.Lookup("rapid.checks")
	if before := checks.Value.String(); before == checks.DefValue {
		require.NoError(t, checks.Value.Set(fmt.Sprint(n)))
		t.Cleanup(func() { _ = checks.Value.Set(before) })
	}
}

// calls is how each command that reads a logbook is called on pond: one whose
// defaults suit only some vehicles or take long gets flags, commands that
// write into the logbook are left out.
func calls(root *cobra.Command) (out [][]string) {
	flags := map[string][]string{

		"station":  {"--map"}, // one place may be out of reach
		"whatif":   {"--rank"},
		"plot":     {"--format", "svg"},
		"rehearse": {"--seasons", "1"},
		"trim":     {"--salinity-psu", "33", "--depth-m", "4"},
	}
	for _, c := range root.Commands() {
		if words := strings.Fields(c.Use); c.GroupID == "write" || len(words) < 2 || !strings.Contains(words[1], "LOGBOOK") {
			continue
		}
		call := append(append([]string{c.Name()}, flags[c.Name()]...), "pond")
		out = append(out, call)
		if c.Flags().Lookup("json") != nil {
			out = append(out, append(slices.Clone(call), "--json"))
		}
	}
	return out
}

// aVehicleFile draws a vehicle.toml far beyond what anyone builds, most of
// them sound.
func aVehicleFile(t *rapid.T) string {
	between := func(name string, lo, hi float64) float64 {
		return lo * math.Pow(hi/lo, rapid.Float64Range(0, 1).Draw(t, name))
	}
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	maybe := func(format string, args ...any) {
		if rapid.Bool().Draw(t, "has "+format) {
			line(format, args...)
		}
	}
	line("name = \"any\"")
	maybe("units = %q", rapid.SampledFrom([]string{"metric", "imperial"}).Draw(t, "units"))
	line("[battery]\nnominal_v = %g", between("volts", 2, 60))
	maybe("resistance_ohm = %g", between("battery", 5e-4, 2))
	maybe("capacity_ah = %g", between("capacity", 0.5, 500))
	maybe("chemistry = %q\nminimum_v = %g", rapid.SampledFrom([]string{"lead-acid", "agm", "gel", "lithium-iron", "lithium-ion"}).Draw(t, "chemistry"), between("minimum", 1, 60))
	line("[tether]\nlength_m = %g", between("length", 6, 300))
	maybe("diameter_mm = %g", between("diameter", 1, 40))
	maybe("weight_g_m = %g", rapid.Float64Range(-50, 50).Draw(t, "weight"))
	line("[tether.power]\narea_mm2 = %g", between("area", 0.05, 50))
	maybe("joints_ohm = [%g, 5]", between("joints", 1e-3, 4))
	maybe("[relay]\ncoil_ohm = 90\ncoil_v = %g", between("coil", 3, 48))
	maybe("[camera]\nsupply = \"shared\"\nminimum_v = %g", between("camera", 1, 48))
	maybe("[[tube]]\nname = \"frame\"\nouter_mm = %g\nlength_mm = 400", between("outer", 10, 200))
	for _, name := range []string{"port", "starboard", "vertical"}[:rapid.IntRange(1, 3).Draw(t, "thrusters")] {
		volts, amps := between("test v", 3, 60), between("test a", 0.1, 60)
		line("[[thruster]]\nname = %q\naxis = %q", name, rapid.SampledFrom([]string{"surge", "heave"}).Draw(t, "axis"))
		maybe("test_v = %g\ntest_a = %g\nno_load_a = %g", volts, amps, max(0.005, amps*rapid.Float64Range(0, 1).Draw(t, "idle")))
		maybe("test_n = %g", between("test n", 0.05, 300))
		maybe("armature_ohm = %g", min(30, max(0.005, volts/amps*rapid.Float64Range(0.02, 1.02).Draw(t, "armature"))))
		maybe("no_load_rpm = %g", between("rpm", 500, 30000))
		maybe("prop_pitch_mm = [%g, 310]", between("pitch", 5, 300))
		maybe("arm_mm = %g", map[string]float64{"port": -160, "starboard": 160}[name])
	}
	line("[hull]")
	maybe("drag_area_m2 = %g", between("drag", 1e-3, 5))
	maybe("climb_drag_area_m2 = [%g, 6]", between("climb drag", 1e-3, 5))
	maybe("displaced_kg = %g", between("displaced", 0.5, 500))
	maybe("trim_g = %g", rapid.Float64Range(-2000, 2000).Draw(t, "trim"))
	maybe("[baseline]\ndives = %d", rapid.IntRange(2, 6).Draw(t, "baseline"))
	return b.String()
}

// aLogFile draws a dives.csv of a few dives, its readings anywhere that a
// column takes them.
func aLogFile(t *rapid.T) string {
	names := []string{"dive", "date", "thrusters"}
	for _, choice := range [][]string{{"minute"}, {"held"}, {"battery_v"}, {"current_a"}, {"vehicle_v"}, {"depth_m", "depth_ft"},
		{"tether_out_m", "tether_out_ft"}, {"speed_m_s", "speed_kn", "speed_ft_s"}, {"climb_m_s"}, {"trim_g", "trim_oz"}, {"pull_n", "pull_lbf"}, {"loop_ohm"},
		{"water_c", "water_f"}, {"salinity_psu"}, {"ballast_g"}, {"serviced"}} {
		if rapid.IntRange(0, 4).Draw(t, "has") > 0 {
			names = append(names, rapid.SampledFrom(choice).Draw(t, "column"))
		}
	}
	rows := []string{strings.Join(names, ",")}
	for d := range rapid.IntRange(0, 9).Draw(t, "dives") {
		for i := range rapid.IntRange(1, 6).Draw(t, "lines") {
			row := []string{fmt.Sprint(d + 1), "", rapid.SampledFrom([]string{"", "off", "port", "port", "port astern"}).Draw(t, "ran")}
			if i == 0 {
				row[1] = fmt.Sprintf("2026-05-%02d", d+1)
			}
			for _, name := range names[3:] {
				row = append(row, aCell(t, name, i))
			}
			rows = append(rows, strings.Join(row, ","))
		}
	}
	return strings.Join(rows, "\n") + "\n"
}

// aCell draws a cell: empty, plausible, or anywhere in its column's span.
func aCell(t *rapid.T, name string, line int) string {
	how := rapid.IntRange(0, 9).Draw(t, "how")
	switch {
	case how < 3:
		return ""
	case name == "minute":
		return fmt.Sprint(3 * line)
	case name == "held":
		return "yes"
	case name == "serviced":
		return rapid.SampledFrom([]string{"joint", "seal+propeller", "battery"}).Draw(t, "part")
	}
	c, _ := session.Find(name)
	if how == 9 {
		return fmt.Sprintf("%.4g", c.Lowest+(c.Highest-c.Lowest)*0.9999*rapid.Float64Range(0, 1).Draw(t, "wild"))
	}
	usual := map[string]float64{"battery": 12.5, "vehicle": 9, "current": 8, "depth": 4, "tether": 12, "speed": 0.5, "climb": 0.1, "trim": 60, "pull": 9, "loop": 0.4,
		"water": 12, "salinity": 10, "ballast": 50}[c.Quantity]
	return fmt.Sprintf("%.3g", c.FromBase(usual*rapid.Float64Range(0.8, 1.2).Draw(t, "usual")))
}
