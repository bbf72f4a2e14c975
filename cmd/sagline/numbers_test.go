package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/session"
)

// A number on the command line that no one can mean is refused as wrong use, or
// taken for what it is: none comes out as no number at all.
func TestNumbersOnTheCommandLine(t *testing.T) {
	t.Chdir(t.TempDir())
	dir := fresh(t)
	require.NoError(t, os.WriteFile(filepath.Join(dir, session.FileName), []byte("dive,date,thrusters,battery_v,current_a\n1,2026-05-02,off,12.6,\n1,,port,12.1,7\n"), 0o644))
	for _, c := range newRoot().Commands() {
		c.LocalFlags().VisitAll(func(f *pflag.Flag) {
			if f.Value.Type() != "float64" {
				return
			}
			assert.Contains(t, spans, f.Name)
			for _, x := range []string{"NaN", "Inf", "-Inf", "1e300", "-1e300", "1e-300"} {
				if x == "1e-300" && c.Name() == "station" {
					continue // no shape of the tether is told at the surface
				}
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
