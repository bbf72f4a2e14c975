package plotting

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/predict/outlook"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
)

// fitted is a simulated log of n dives with services, fitted.
func fitted(t *testing.T, n int, service map[int][]string, gains func(dive int, p predict.Params)) *fit.Result {
	t.Helper()
	return fittedTo(t, simulate.VehicleText, n, service, gains)
}

// fittedTo is fitted for a vehicle's file.
func fittedTo(t *testing.T, text string, n int, service map[int][]string, gains func(dive int, p predict.Params)) *fit.Result {
	t.Helper()
	v, err := vehicle.Read(strings.NewReader(text), vehicle.FileName)
	require.NoError(t, err)
	log := simulate.Log(v, simulate.Season{Dives: n, Start: time.Date(2025, 3, 8, 0, 0, 0, 0, time.UTC), Seed: 9, Service: service, Drift: gains})
	r, err := fit.Fit(v, log)
	require.NoError(t, err)
	return r
}

// A wire that gains resistance lowers its thruster's current in the grid, and
// leaves the others' as predicted.
func TestGridSeparatesThrusters(t *testing.T) {
	g := ReadGrid(fitted(t, 9, nil, func(d int, p predict.Params) {
		if d >= 7 {
			p[predict.OfThruster(1, predict.BranchOhm)] += 0.5
		}
	}), nil)
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
		assert.InDelta(t, want, (&GridCell{Z: z}).height(), 1e-9, "%g", z)
	}
	assert.Greater(t, (&GridCell{Z: 3.1}).height(), 0.15)
	assert.Greater(t, (&GridCell{Z: -10}).height(), (&GridCell{Z: 5}).height())
}

func TestSigned(t *testing.T) {
	assert.Equal(t, "−4.2", Signed(-4.21))
	assert.Equal(t, "+0.0", Signed(-0.04))
	assert.Equal(t, "+33", Signed(33.2))
}

// A joint that is re-made gives back speed, pull and the current in which the
// vehicle holds; a log in which nothing was repaired has no such picture.
func TestRepairSaysWhatItGaveBack(t *testing.T) {
	r := fitted(t, 18, map[int][]string{15: {"joint"}}, func(d int, p predict.Params) {
		if d >= 8 && d < 15 {
			p[predict.LoopOhm] += 0.05 * float64(d-7)
		}
	})
	got := ReadRepair(r, drift.Analyse(r))
	require.NotNil(t, got)
	assert.Equal(t, "joint serviced, dive 15", got.Title)
	require.Len(t, got.Rows, 4)
	for _, row := range got.Rows {
		if row.Name != "lost in tether and joints" {
			assert.Greater(t, row.After.Value, 1.1*row.Before.Value, row.Name)
		}
		for _, x := range []advice.Range{row.Before, row.After} {
			assert.Less(t, x.Low, x.Value, row.Name)
			assert.Greater(t, x.High, x.Value, row.Name)
			assert.Less(t, x.High, 2*x.Low, row.Name)
		}
	}
	assert.Regexp(t, `Speed ahead at the surface before: 0\.\d\d \(0\.\d\d to 0\.\d\d\) m/s; after: 0\.`, got.Picture(OnPage).Alt)
	r = fitted(t, 8, map[int][]string{7: {"joint"}}, nil)
	assert.Nil(t, ReadRepair(r, drift.Analyse(r)))
}

// What a shorter tether gave is told of one place, where either can be.
func TestRepairComparesOnePlace(t *testing.T) {
	r := fittedTo(t, simulate.VehicleText+"\n[[change]]\ndive = \"9\"\n\"tether.length_m\" = 12\n", 12, nil, nil)
	rep := drift.Analyse(r)
	got := ReadRepair(r, rep)
	require.NotNil(t, got)
	require.Len(t, got.Rows, 4)
	assert.Equal(t, "strongest current it holds in, 6 m deep", got.Rows[3].Name)
	long := advice.Station{DepthM: 6, TetherOutM: r.ModelOf(7).Vehicle.Tether.LengthM, WaterC: 15}
	assert.InDelta(t, advice.Strongest(r.ModelOf(7), long, outlook.At(r, rep, 7), strongest), got.Rows[3].Before.Value, 1e-9)
}
