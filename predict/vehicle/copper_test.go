package vehicle

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/published"
)

// Floyd, Electric Circuit Fundamentals: printed to four digits, 4e-4 apart at
// worst from the exact gauge formula.
func TestGaugeAgainstPrintedTable(t *testing.T) {
	for _, row := range published.Rows(t, "testdata/awg_copper_20C.csv") {
		gauge := row["awg"]
		c := Conductor{AWG: &gauge}
		assert.InEpsilon(t, row["tab_ohm_per_kft"], c.OhmPerMetre(20)/layFactor*304.8, 5e-4, "AWG %g", gauge)
		assert.InEpsilon(t, row["calc_area_mm2"], AWGArea(gauge), 1e-5) // the table has six decimals
	}
}

// IEC 60228 states maxima; a nominal area of copper lies below each class 5
// maximum and within 20 % of it.
func TestAreaAgainstIEC60228(t *testing.T) {
	for _, row := range published.Rows(t, "testdata/iec60228_20C.csv") {
		c := Conductor{AreaMM2: row["mm2"]}
		km := 1000 * c.OhmPerMetre(20)
		assert.Less(t, km, row["class5_plain"]*1.005, "%g mm²", row["mm2"])
		assert.Greater(t, km, row["class5_plain"]*0.8, "%g mm²", row["mm2"])
	}
}

// The default drag of a tether across the flow is the long cylinder's of the
// Aeronautical Engineer's Data Book, fig. 5.13(b).
func TestTetherDragAgainstTable(t *testing.T) {
	f, err := os.ReadFile(filepath.Join("testdata", "drag_coefficients.csv"))
	require.NoError(t, err)
	assert.Regexp(t, `(?m)^.*cylinder.*across.*,.*1\.2`, string(f))
	v, err := read(sound)
	require.NoError(t, err)
	assert.Equal(t, 1.2, v.Tether.NormalDrag)
}

// The annex of ISO 10133, withdrawn since ISO 13297:2020 covers direct current,
// has E = 0.0164·I·L/S, 5 % below 1/58 Ω·mm²/m: 10 A through 20 m of 2.5 mm²
// drop 1.312 V; ABYC E-11's K = 10.75 Ω·cmil/ft is 3.65 % above. Ours, without
// the strands' lay, lies between.
func TestVoltageDropBetweenTheStandards(t *testing.T) {
	c := Conductor{AreaMM2: 2.5}
	drop := 10 * 20 * c.OhmPerMetre(20) / layFactor
	assert.Greater(t, drop, 1.312)
	assert.InEpsilon(t, 1.312*copperOhmMM2M/0.0164, drop, 1e-9)
	assert.InEpsilon(t, 10.75/10.371215406, 1.0365, 1e-4)
}

// A tether whose length is a range may be paid out to the end of that; one that is given, as far as it is said to reach.
func TestMostTether(t *testing.T) {
	v := Example()
	assert.Equal(t, v.Tether.LengthM, v.MostTetherM())
	require.NoError(t, v.Set("tether.length_m=[14, 16]"))
	assert.Less(t, v.Tether.LengthM, 15.0)
	assert.InDelta(t, 16, v.MostTetherM(), 1e-9)
}
