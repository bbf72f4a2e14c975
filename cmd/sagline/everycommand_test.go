package main

import (
	"bytes"
	"flag"
	"fmt"
	"io"
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
// a logbook accepts, as text or as JSON.
func TestWhatCheckPassesEveryCommandAccepts(t *testing.T) {
	t.Chdir(t.TempDir())
	few(t, drawn)
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
		for _, args := range inOneForm(rt, calls(newRoot(io.Discard))) {
			if !slow && args[0] == "rehearse" {
				continue
			}
			out.Reset()
			code := Run(args, strings.NewReader(""), &out, &out)
			if args[0] == "station" && strings.Contains(out.String(), "do not reach") {
				continue // the places of the map are beyond a short tether
			}
			if code != exitDone {
				rt.Fatalf("%q exits with %d:\n%s\n%s\n%s", args, code, out.String(), text, log)
			}
			if s := out.String(); strings.Contains(s, "NaN") || strings.Contains(s, "Inf") || strings.Contains(s, "−") { // which no one types
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
	if testing.Short() {
		t.Skip("some seconds a logbook")
	}
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

		"station":  {"--map"},  // one place may be out of reach
		"whatif":   {"--rank"}, // and --cables, below
		"plot":     {"--format", "svg"},
		"rehearse": {"--seasons", "1"},
		"trim":     {"--salinity-psu", "33", "--depth-m", "0.5"},
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
	return append(out, []string{"whatif", "--cables", "pond"}, []string{"whatif", "--cables", "pond", "--json"})
}

// inOneForm leaves either form of each call that is made as text and as JSON, which take as
// long again.
func inOneForm(rt *rapid.T, calls [][]string) (out [][]string) {
	isJSON := func(i int) bool { return i < len(calls) && calls[i][len(calls[i])-1] == "--json" }
	for i := 0; i < len(calls); i++ {
		if isJSON(i + 1) {
			if i++; !rapid.Bool().Draw(rt, "JSON") {
				out = append(out, calls[i-1])
				continue
			}
		}
		out = append(out, calls[i])
	}
	return out
}
