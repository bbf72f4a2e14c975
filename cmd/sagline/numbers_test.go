package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/disk"
)

// A number on the command line that no one can mean is refused as wrong use, or
// taken for what it is: none comes out as no number at all.
func TestNumbersOnTheCommandLine(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	t.Chdir(t.TempDir())
	dir := fresh(t)
	require.NoError(t, os.WriteFile(filepath.Join(dir, session.FileName), []byte("dive,date,thrusters,battery_v,current_a\n1,2026-05-02,off,12.6,\n1,,port,12.1,7\n"), 0o644))
	for _, c := range newRoot(io.Discard).Commands() {
		c.LocalFlags().VisitAll(func(f *pflag.Flag) {
			if f.Value.Type() != "float64" {
				return
			}
			assert.Contains(t, flagLimits, f.Name)
			for _, x := range []string{"NaN", "Inf", "-Inf", "1e300", "-1e300", "1e-300"} {
				args := append(callOf(c), "--"+f.Name+"="+x, dir)
				var out, said bytes.Buffer
				code := Run(args, strings.NewReader(""), &out, &said)
				assert.Contains(t, []int{exitDone, exitUse}, code, "%q: %s", args, said.String())
				assert.LessOrEqual(t, strings.Count(said.String(), "\n"), 2, "%q: %s", args, said.String())
				assert.False(t, numberless(out.String()), "%q prints\n%s", args, out.String())
				if x != "1e-300" {
					assert.Equal(t, exitUse, code, "%q", args)
				}
			}
		})
	}
}

// callOf is how a command is called where some flag must be given.
func callOf(c *cobra.Command) []string {
	return append([]string{c.Name()}, map[string][]string{
		"whatif": {"--set", "tether.length_m=10"}, "station": {"--current-m-s", "0.1", "--depth-m", "3"}, "rehearse": {"--seasons", "1"},
	}[c.Name()]...)
}

// numberless says whether something that is no number is printed for one.
func numberless(s string) bool {
	return strings.Contains(s, "NaN") || strings.Contains(s, "Inf") || strings.Contains(s, "e+30")
}

// Whatever the vehicle and the season, results are numbers, a value lies within
// its interval, and a trend that is read from JSON is written as it was.
func TestNumbersOfEveryCommand(t *testing.T) {
	t.Chdir(t.TempDir())
	few(t, drawn)
	refusals := 0
	rapid.Check(t, func(rt *rapid.T) {
		aLogbook(rt, "pond")
		for _, args := range calls(newRoot(io.Discard)) {
			if args[len(args)-1] != "--json" || args[0] == "rehearse" {
				continue
			}
			var out, told bytes.Buffer
			code := Run(args, strings.NewReader(""), &out, &told)
			if args[0] == "station" && strings.Contains(told.String(), "do not reach") {
				continue // the places of the map are beyond a short tether
			}
			if code != exitDone {
				require.Equal(rt, exitData, code, told.String())
				for line := range strings.Lines(told.String()) { // readings beyond their spans or all reason, and nothing else
					require.Regexp(rt, `^pond.dives.csv:\d+: (column|dive) ".*": found .*want `, line)
				}
				refusals++
				return
			}
			var all any
			require.NoError(rt, json.Unmarshal(out.Bytes(), &all), out.String())
			ordered(rt, args[0], all)
			if args[0] == "trend" {
				var rep findings.Report
				d := json.NewDecoder(bytes.NewReader(out.Bytes()))
				d.DisallowUnknownFields()
				require.NoError(rt, d.Decode(&rep))
				var again bytes.Buffer
				require.NoError(rt, printJSON(&again, &rep))
				require.Equal(rt, out.String(), again.String())
			}
		}
	})
	t.Logf("%d logbooks had readings beyond their spans", refusals)
}

// aLogbook is a vehicle and either a season simulated of it or readings from
// anywhere that a column takes them.
func aLogbook(rt *rapid.T, dir string) {
	text := aVehicleFile(rt)
	v, err := vehicle.Read(strings.NewReader(text), vehicle.FileName)
	if err != nil {
		rt.Skip("no vehicle")
	}
	require.NoError(rt, os.MkdirAll(dir, 0o755))
	require.NoError(rt, os.WriteFile(filepath.Join(dir, vehicle.FileName), []byte(text), 0o644))
	if rapid.Bool().Draw(rt, "wild") {
		require.NoError(rt, os.WriteFile(filepath.Join(dir, session.FileName), []byte(aLogFile(rt)), 0o644))
		return
	}
	rows := slices.DeleteFunc(causes.Table(v), func(c causes.Cause) bool { return len(c.Amplitudes) == 0 })
	k := rows[rapid.IntRange(0, len(rows)-1).Draw(rt, "fault")]
	way := k.Worse
	if way == 0 {
		way = rapid.SampledFrom([]float64{-1, 1}).Draw(rt, "way")
	}
	onset, size := rapid.IntRange(1, 9).Draw(rt, "onset"), rapid.Float64Range(0, 3).Draw(rt, "size")
	s := simulate.Season{Dives: rapid.IntRange(1, 9).Draw(rt, "dives"), Seed: rapid.Uint64().Draw(rt, "seed"), Rough: rapid.Bool().Draw(rt, "rough"),
		Sites: rapid.Bool().Draw(rt, "sites"), Slips: rapid.SampledFrom([]float64{0, 0.02, 0.3}).Draw(rt, "slips"),
		Start: time.Date(2026, 5, 2, 0, 0, 0, 0, time.UTC),
		Drift: func(dive int, p predict.Params) { p[k.Param()] += size * way * max(0, float64(dive-onset)) / 10 }}
	log := simulate.Log(v, s)
	require.NoError(rt, disk.Save(filepath.Join(dir, session.FileName), func(w io.Writer) error { return session.Write(w, simulate.Columns, log) }))
}

// ordered wants every interval in a JSON document to contain its value.
func ordered(rt *rapid.T, where string, x any) {
	switch x := x.(type) {
	case []any:
		for i, e := range x {
			ordered(rt, fmt.Sprintf("%s[%d]", where, i), e)
		}
	case map[string]any:
		value, ok := x["value"].(float64)
		low, okLow := x["low"].(float64)
		high, okHigh := x["high"].(float64)
		if ok && okLow && okHigh {
			require.LessOrEqual(rt, low, value, where)
			require.LessOrEqual(rt, value, high, where)
		}
		for k, e := range x {
			ordered(rt, where+"."+k, e)
		}
	}
}
