package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A reading that is set aside as a slip ends no dive, and what is left out of the
// file is assumed.
func TestCheckFearsNoSlip(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"vehicle.toml", "dives.csv"} {
		text, err := os.ReadFile(filepath.Join("../../examples/sound", name))
		require.NoError(t, err)
		lines := strings.Split(string(text), "\n")
		if name == "vehicle.toml" {
			for i := range lines { // a thin tether whose weight the file leaves out
				switch {
				case strings.HasPrefix(lines[i], "weight_g_m"):
					lines[i] = ""
				case strings.HasPrefix(lines[i], "diameter_mm"):
					lines[i] = "diameter_mm = 4.0"
				}
			}
		}
		for i := len(lines) - 1; i > 0 && name == "dives.csv"; i-- {
			if cells := strings.Split(lines[i], ","); len(cells) > 5 && strings.HasPrefix(cells[3], "port") && strings.HasPrefix(cells[5], "12.") {
				cells[5] = strings.Replace(cells[5], "12.", "1.2", 1)
				lines[i] = strings.Join(cells, ",")
				break
			}
		}
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(strings.Join(lines, "\n")), 0o600))
	}
	out := printedBy(t, "check", dir)
	assert.Contains(t, out, "it is set aside")
	assert.NotContains(t, out, "end the dive")
	assert.Contains(t, out, "tether.weight_g_m: 0 g/m is assumed, the file has none; it cannot be")
}

// What add, the sheet and the margins fear is what check fears: no slip, but a
// battery that is low, and a plug that gets wet during a dive.
func TestNoOneFearsASlip(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	volts, megohm := [4]string{"12.78", "12.35", "12.34", "12.70"}, [4]string{"60", "58", "", "57"}
	for name, c := range map[string]struct {
		volts, megohm [4]string // off, under load, under load, off
		fears         bool
	}{
		"sound":        {volts, megohm, false},
		"a slip":       {[4]string{"12.78", "1.235", "12.34", "12.70"}, megohm, false},
		"a low one":    {[4]string{"11.75", "11.32", "11.30", "11.65"}, megohm, true},
		"a slip of MΩ": {volts, [4]string{"60", "0.058", "", "57"}, false},
		"wet":          {volts, [4]string{"0.02"}, true},
		"gets wet":     {volts, [4]string{"60", "58", "0.06", "0.05"}, true},
	} {
		t.Run(name, func(t *testing.T) {
			dir := copyExample(t, "sound")
			lines := "dive,minute,thrusters,battery_v,current_a,insulation_megohm,depth_m,tether_out_m\n24,32,off,,,60,0,8\n"
			for i, rest := range []string{",0,10", ",3,15", ",3,15", ",0,10"} {
				lines += fmt.Sprintf("25,%d,%s,%s,%s,%s%s\n", 2+3*i, [...]string{"off", "port + starboard", "port + starboard", "off"}[i], c.volts[i], [...]string{"", "7.9", "7.9", ""}[i], c.megohm[i], rest)
			}
			var out, said bytes.Buffer
			require.Equal(t, exitDone, Run([]string{"add", dir}, strings.NewReader(lines), &out, &said), said.String())
			card := filepath.Join(dir, "card.html")
			printedBy(t, "sheet", dir, "--out", card)
			for from, text := range map[string]string{"add": out.String(), "sheet": readable(t, card), "check": printedBy(t, "check", dir), "predict": printedBy(t, "predict", dir)} {
				if from != "predict" || !strings.HasPrefix(name, "a low") { // of the next dive
					assert.Equal(t, c.fears, strings.Contains(text, "end the dive") || strings.Contains(text, "out of the water with it"), "%s:\n%s", from, text)
				}
			}
		})
	}
}

// What predict calls not met, check tells in predict's words and once: by a reading
// of the log that has it already, else at its key.
func TestCheckTellsMargins(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	dir := t.TempDir()
	for name, replace := range map[string][]string{
		"vehicle.toml": {"fuse_a = 10.0", "fuse_a = 25.0", "area_mm2 = 2.5", "area_mm2 = 1.5", "minimum_v = 11.5", "minimum_v = 12.2",
			"[hull]", "[[tube]]\nname = \"float\"\nouter_mm = 100\nwall_mm = 1\nlength_mm = 300\nmaterial = \"pvc\"\n\n[hull]"},
		"dives.csv": nil,
	} {
		text, err := os.ReadFile(filepath.Join("../../examples/joint", name))
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(strings.NewReplacer(replace...).Replace(string(text))), 0o600))
	}
	checked := printedBy(t, "check", dir)
	var told []string
	for line := range strings.Lines(printedBy(t, "predict", dir)) {
		name, _, found := strings.Cut(line, ": NOT MET;")
		if !found {
			continue
		}
		told = append(told, name)
		if name == "fuse" || name == "heating" {
			assert.Equal(t, 1, strings.Count(checked, line), line)
		} else { // the log has readings of it
			assert.NotContains(t, checked, line)
			assert.Contains(t, checked, "remark: "+name+": NOT MET;")
		}
	}
	assert.Equal(t, []string{"fuse", "heating", "tube float", "battery"}, told)
	assert.Contains(t, checked, "vehicle.toml:12: remark: fuse: NOT MET;")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "dives.csv"), []byte("dive,minute\n1,x\n"), 0o600))
	var out, said bytes.Buffer
	require.Equal(t, exitData, Run([]string{"check", dir}, nil, &out, &said))
	assert.Contains(t, out.String(), "remark: fuse: NOT MET;", "by the file alone")
}

// Volts that no such battery has are told where no thrusters say what to hold them
// against, too.
func TestCheckTellsVoltsThatCannotBe(t *testing.T) {
	dir := copyExample(t, "import")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "dives.csv"), []byte("dive,date,thrusters,battery_v\n1,2025-05-01,off,12.8\n1,,,12.4\n1,,,124\n"), 0o600))
	out := printedBy(t, "check", dir)
	assert.Contains(t, out, `dives.csv:4: remark: column "battery_v": found 124 V, a full battery of 12.8 V has at most 14.7 V: a slip?`)
	assert.Equal(t, 1, strings.Count(out, "at most"))
}
