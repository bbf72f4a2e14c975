package simulate

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/importer"
	"sagline/session/quantity"
	"sagline/session/spreadsheet"
)

// The files to be taken in that ship with the examples are what the simulator
// makes.
func TestForeignFilesAreWhatTheSimulatorMakes(t *testing.T) {
	v, err := vehicle.Read(strings.NewReader(VehicleText), "otter.toml")
	require.NoError(t, err)
	season := Season{Dives: 4, Start: time.Date(2024, 5, 11, 0, 0, 0, 0, time.UTC), Seed: 12}
	for name, write := range map[string]func(io.Writer) error{
		"vehicle.toml": func(w io.Writer) error { _, err := io.WriteString(w, VehicleText); return err },
		"dives.csv":    func(w io.Writer) error { return session.Write(w, Columns, &session.Log{}) },
		"old.csv":      func(w io.Writer) error { return writeSpreadsheet(w, v, season) },
	} {
		path := filepath.Join("..", "..", "examples", "import", name)
		var want bytes.Buffer
		require.NoError(t, write(&want))
		if *update {
			require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
			require.NoError(t, os.WriteFile(path, want.Bytes(), 0o644))
		}
		got, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Equal(t, want.String(), string(got), name)
	}
}

// What an invented spreadsheet says comes back as it was: every reading within
// what its own rounding leaves.
func TestASpreadsheetComesBack(t *testing.T) {
	v, err := vehicle.Read(strings.NewReader(VehicleText), "otter.toml")
	require.NoError(t, err)
	season := Season{Dives: 6, Start: time.Date(2024, 5, 11, 0, 0, 0, 0, time.UTC), Seed: 12}
	want := Log(v, season)
	var b bytes.Buffer
	require.NoError(t, writeSpreadsheet(&b, v, season))
	s, err := spreadsheet.Open(&b, "old.csv")
	require.NoError(t, err)
	k := importer.Known{Thrusters: v.ThrusterNames(), Log: &session.Log{}, Judge: func(session.Row) map[string]bool { return nil }}
	m := importer.Propose(s, k)
	taken := importer.Convert(s, m, k, nil)
	require.Empty(t, taken.Problems)
	require.Empty(t, taken.Asked)
	i := 0
	for _, d := range want.Dives {
		for _, l := range d.Lines {
			judged, problems := session.ParseRows(session.Row(taken.Lines[i].Cells))
			require.Empty(t, problems)
			line := judged[0]
			assert.Equal(t, d.Label, taken.Lines[i].Cells["dive"])
			assert.ElementsMatch(t, l.Drives, line.Drives)
			assert.Equal(t, []bool{l.Electrical, l.Held}, []bool{line.Electrical, line.Held})
			for q := range quantity.Count {
				last := []float64{0.005, 0.0005, 0.005, 0.0014, 0.0005, 1.42, 0.023, 0, 0}[q] // half of the last digit written
				assert.InDelta(t, l.Readings[q].X, line.Readings[q].X, 1.02*last+1e-9, "%v of %+v", quantity.Quantity(q), taken.Lines[i])
				assert.Equal(t, l.Readings[q].Measured(), line.Readings[q].Measured())
			}
			assert.InDelta(t, l.Depth.X, line.Depth.X, 0.0156)
			i++
		}
	}
	assert.Len(t, taken.Lines, i)
}
