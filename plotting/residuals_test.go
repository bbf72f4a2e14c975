package plotting

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"strings"
)

// A wire that gains resistance lowers its thruster's current in the grid, and
// leaves the others' as predicted.
func TestGridSeparatesThrusters(t *testing.T) {
	v, err := vehicle.Read(strings.NewReader(simulate.VehicleText()), vehicle.FileName)
	require.NoError(t, err)
	log := simulate.Log(v, simulate.Season{Dives: 9, Start: time.Date(2025, 3, 8, 0, 0, 0, 0, time.UTC), Seed: 9,
		Drift: func(d int, p predict.Params) {
			if d >= 7 {
				p[predict.OfThruster(1, predict.BranchOhm)] += 0.5
			}
		}})
	r, err := fit.Fit(v, log, nil)
	require.NoError(t, err)
	g := ReadGrid(r)
	rows := map[string][]GridCell{}
	for _, row := range g.Rows {
		rows[row.Name] = row.Cells
	}
	for d := range g.Dives {
		assert.LessOrEqual(t, rows["current, port"][d].Z, FarSD)
		if d >= 6 {
			assert.Less(t, rows["current, starboard"][d].Z, -FarSD)
			assert.Contains(t, g.Says(d), "current, starboard −")
		}
	}
	assert.Equal(t, AsPredicted, g.Says(1))
}

// A mark has no height while a reading is as predicted, and all of it far out.
func TestHeights(t *testing.T) {
	for z, want := range map[float64]float64{0: 0, 3: 0, -2.9: 0, 40: 1, -400: 1} {
		assert.InDelta(t, want, (&GridCell{Z: z}).Height(), 1e-9, "%g", z)
	}
	assert.Greater(t, (&GridCell{Z: 3.1}).Height(), 0.15)
	assert.Greater(t, (&GridCell{Z: -10}).Height(), (&GridCell{Z: 5}).Height())
}

func TestSigned(t *testing.T) {
	assert.Equal(t, "−4.2", Signed(-4.21))
	assert.Equal(t, "+33", Signed(33.2))
}
