package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// twoBatteries is the sound example with batteries A and B by turns, B of 0.12 Ω
// more; its newest dive is on B.
func twoBatteries(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	file, err := os.ReadFile("../../examples/sound/vehicle.toml")
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "vehicle.toml"), file, 0o600))
	text, err := os.ReadFile("../../examples/sound/dives.csv")
	require.NoError(t, err)
	var columns []string
	var out strings.Builder
	before := ""
	for line := range strings.Lines(string(text)) {
		cells := strings.Split(strings.TrimSpace(line), ",")
		switch {
		case strings.HasPrefix(line, "#"), columns != nil && (len(cells[0]) > 1 || cells[0] == "9"): // eight dives will do
			continue
		case columns == nil:
			columns = cells
			cells = append(cells, "battery")
		default:
			dive, err := strconv.Atoi(cells[0])
			require.NoError(t, err)
			label := string("BA"[dive%2])
			at := func(name string) *string {
				for i, c := range columns {
					if c == name {
						return &cells[i]
					}
				}
				return new(string)
			}
			amps, _ := strconv.ParseFloat(*at("current_a"), 64)
			for _, name := range []string{"battery_v", "vehicle_v"} {
				if v, err := strconv.ParseFloat(*at(name), 64); err == nil && label == "B" {
					*at(name) = fmt.Sprintf("%.2f", v-0.12*amps)
				}
			}
			if cells[0] == before {
				label = ""
			}
			before = cells[0]
			cells = append(cells, label)
		}
		fmt.Fprintln(&out, strings.Join(cells, ","))
	}
	require.NoError(t, os.WriteFile(filepath.Join(dir, "dives.csv"), []byte(out.String()), 0o600))
	return dir
}

// The table, the margins and the card are on the newest dive's battery or on the
// one that is named, and say so.
func TestTheBatteryThatIsSpokenOf(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	dir := twoBatteries(t)
	volts := func(args ...string) float64 {
		var of struct {
			Battery string `json:"battery"`
			Points  []struct {
				Thrusters string  `json:"thrusters"`
				BatteryV  float64 `json:"battery_v"`
			} `json:"points"`
		}
		require.NoError(t, json.Unmarshal([]byte(printedBy(t, append([]string{"predict", dir, "--json", "--thrusters", "port + starboard"}, args...)...)), &of))
		assert.Equal(t, map[int]string{0: "B", 2: "A"}[len(args)], of.Battery)
		return of.Points[0].BatteryV
	}
	assert.InDelta(t, 0.12*7.5, volts("--battery", "A")-volts(), 0.2)
	newest, named := printedBy(t, "predict", dir), printedBy(t, "predict", dir, "--battery", "A")
	assert.Contains(t, newest, "on battery B, the newest dive's (--battery names another), that rests at")
	assert.Contains(t, newest, "margins are the worst of the batteries in use, B and A:")
	assert.Contains(t, newest, "battery: NOT MET;")
	assert.Contains(t, named, "on battery A that rests at")
	assert.NotContains(t, named, "the worst of")
	assert.Contains(t, named, "battery: met;")
	newest, named = printedBy(t, "sheet", dir), printedBy(t, "sheet", dir, "--battery", "A")
	assert.Contains(t, newest, "on a rested battery B of")
	assert.Contains(t, newest, "Margins are the worst of the batteries in use, B and A.")
	assert.Contains(t, newest, "battery: NOT MET;")
	assert.Contains(t, named, "on a rested battery A of")
	assert.NotContains(t, named, "battery: NOT MET;")
	var out, said bytes.Buffer
	require.Equal(t, exitUse, Run([]string{"sheet", dir, "--battery", "spare"}, nil, &out, &said))
	assert.Contains(t, said.String(), `--battery: found "spare", want a battery of `+filepath.Join(dir, "dives.csv")+": A, B")
	require.Equal(t, exitUse, Run([]string{"predict", "../../examples/sound", "--battery", "A"}, nil, &out, &said))
	assert.Contains(t, said.String(), "names no battery")
}

// A battery of another label is as the one in use by its log, with more cells, whatever command says it; one whose
// resistance is stated has that.
func TestAnotherBatteryToBuy(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	dir := filepath.Join("..", "..", "examples", "joint")
	type outcome struct {
		CurrentA float64 `json:"current_a"`
		VehicleV float64 `json:"vehicle_v"`
	}
	var of struct {
		Variants []struct {
			Name    string  `json:"name"`
			Outcome outcome `json:"outcome"`
		} `json:"variants"`
	}
	tried := map[string]outcome{}
	for _, by := range [][]string{{"--rank"}, {"--set", "battery.nominal_v=25.6"}} {
		require.NoError(t, json.Unmarshal([]byte(printedBy(t, append([]string{"whatif", dir, "--json"}, by...)...)), &of))
		for _, v := range of.Variants {
			tried[v.Name] = v.Outcome
		}
	}
	require.Contains(t, tried, "battery of 25.6 V")
	assert.Equal(t, tried["battery of 25.6 V"], tried["battery.nominal_v=25.6"])

	var points struct {
		OpenV  float64 `json:"open_circuit_v"`
		Points []struct {
			CurrentA float64 `json:"current_a"`
			BatteryV float64 `json:"battery_v"`
		} `json:"points"`
	}
	require.NoError(t, json.Unmarshal([]byte(printedBy(t, "predict", dir, "--json", "--thrusters", "port + starboard", "--set", "battery.resistance_ohm=0.15", "--water-c", "20")), &points))
	p := points.Points[0]
	assert.InDelta(t, 0.15, (points.OpenV-p.BatteryV)/p.CurrentA, 0.005)
}
