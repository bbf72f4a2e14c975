package main

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/vehicle"
	"sagline/session"
)

var update = flag.Bool("update", false, "rewrite testdata/hostile/messages.txt and the manual pages")

// aSoundVehicle and aSoundLog stand beside a hostile file of the other kind.
const (
	aSoundVehicle = `name = "pond"
battery = {nominal_v = 12}
tether = {length_m = 20, diameter_mm = 8, power = {awg = 14}}
hull = {drag_area_m2 = 0.1, climb_drag_area_m2 = 0.1, displaced_kg = 10, trim_g = 50}
[[thruster]]
name = "port"
axis = "surge"
test_v = 12.0
test_a = 7.2
test_n = 9.8
armature_ohm = 0.5
no_load_a = 0.45
no_load_rpm = 7800
prop_pitch_mm = 38
`
	aSoundLog = "dive,date,thrusters,battery_v\n1,2026-05-02,off,12.7\n1,,port,12.1\n"
)

// hostile lays a hostile file out as a logbook: the file of the other kind is
// sound, unless both are given.
func hostile(t *testing.T, path string) (dir string) {
	t.Helper()
	dir = t.TempDir()
	if filepath.Ext(path) == "" {
		require.NoError(t, os.CopyFS(dir, os.DirFS(path)))
		return dir
	}
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	files := map[string][]byte{vehicle.FileName: []byte(aSoundVehicle), session.FileName: []byte(aSoundLog)}
	if filepath.Ext(path) == ".toml" {
		files[vehicle.FileName] = text
	} else {
		files[session.FileName] = text
	}
	for name, text := range files {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), text, 0o644))
	}
	return dir
}

// Every hostile file gets exactly the messages of messages.txt, from check and
// from every command that needs the file: lines of text that a terminal and a
// person can take.
func TestHostileFiles(t *testing.T) {
	paths, err := filepath.Glob("testdata/hostile/*/*")
	require.NoError(t, err)
	require.Greater(t, len(paths), 80)
	var all strings.Builder
	for _, path := range paths {
		dir := hostile(t, path)
		said := messages(t, dir, "check")
		for _, line := range strings.Split(strings.TrimSuffix(said, "\n"), "\n") {
			clean := strings.ContainsFunc(line, func(c rune) bool {
				return unicode.IsControl(c) || unicode.Is(unicode.Cf, c) || c == unicode.ReplacementChar || c == '\u2028'
			})
			assert.False(t, clean, "%s: %q", path, line)
			assert.Less(t, len(line), 300, "%s: %q", path, line)
		}
		for _, command := range []string{"fit", "compare", "trend", "sheet", "plot", "whatif --rank", "trim"} {
			assert.Equal(t, said, messages(t, dir, command), "%s: %s", path, command)
		}
		name, _ := filepath.Rel("testdata/hostile", path)
		fmt.Fprintf(&all, "%s\n  %s\n", filepath.ToSlash(name), strings.ReplaceAll(strings.TrimSuffix(said, "\n"), "\n", "\n  "))
	}
	golden := "testdata/hostile/messages.txt"
	if *update {
		require.NoError(t, os.WriteFile(golden, []byte(all.String()), 0o644))
	}
	want, err := os.ReadFile(golden)
	require.NoError(t, err)
	assert.Equal(t, string(want), all.String())
}

// messages is what a command says of a logbook that it cannot use, without the
// folder's name.
func messages(t *testing.T, dir, command string) string {
	t.Helper()
	var out, said bytes.Buffer
	code := Run(append(strings.Fields(command), dir), strings.NewReader(""), &out, &said)
	assert.Equal(t, exitData, code, "%s: %s", command, said.String())
	return strings.ReplaceAll(said.String(), dir+string(filepath.Separator), "")
}
