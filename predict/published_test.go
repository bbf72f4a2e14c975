package predict

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"sagline/session/quantity"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// published reads a table of published values; its source stands in its
// first line.
func published(t *testing.T, name string) (rows []map[string]float64) {
	f, err := os.Open(filepath.Join("testdata", name))
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	all, err := r.ReadAll()
	require.NoError(t, err)
	for _, rec := range all[1:] {
		row := map[string]float64{}
		for i, c := range rec {
			if x, err := strconv.ParseFloat(c, 64); err == nil {
				row[all[0][i]] = x
			}
		}
		rows = append(rows, row)
	}
	require.NotEmpty(t, rows)
	return rows
}

// Floyd, Electric Circuit Fundamentals: printed to four digits, 4e-4 apart at
// worst from the exact gauge formula.
func TestGaugeAgainstPrintedTable(t *testing.T) {
	for _, row := range published(t, "awg_copper_20C.csv") {
		gauge := row["awg"]
		c := Conductor{AWG: &gauge}
		assert.InEpsilon(t, row["tab_ohm_per_kft"], c.OhmPerMetre(20)/layFactor*304.8, 5e-4, "AWG %g", gauge)
		assert.InEpsilon(t, row["calc_area_mm2"], AWGArea(gauge), 1e-5) // the table has six decimals
	}
}

// IEC 60228 states maxima; a nominal area of copper lies below each class 5
// maximum and within 20 % of it.
func TestAreaAgainstIEC60228(t *testing.T) {
	for _, row := range published(t, "iec60228_20C.csv") {
		c := Conductor{AreaMM2: row["mm2"]}
		km := 1000 * c.OhmPerMetre(20)
		assert.Less(t, km, row["class5_plain"]*1.005, "%g mm²", row["mm2"])
		assert.Greater(t, km, row["class5_plain"]*0.8, "%g mm²", row["mm2"])
	}
}

// Unesco 44 (1983) p. 19, at one atmosphere.
func TestWaterAgainstUnesco44(t *testing.T) {
	for _, row := range published(t, "eos80_unesco44.csv") {
		if row["p_dbar"] == 0 {
			assert.InDelta(t, row["rho"], WaterDensity(row["t68"], row["S"]), 5e-6)
		}
	}
}

// A stalled thruster is a resistor: two of 2.2 Ω, one of 3.0 Ω and one of
// 50 Ω on the tether of testdata/tether.cir, as ngspice 39 solves it
// (testdata/tether.out).
func TestCircuitAgainstSpice(t *testing.T) {
	v := testVehicle()
	v.Battery = Battery{NominalV: 12.6, ResistanceOhm: 0.03}
	v.Tether.LengthM = 1
	v.Tether.Power = Conductor{OhmKM: 210, Parallel: 1, JointsOhm: 0.02}
	v.Thrusters = nil
	for i, ohm := range []float64{2.2, 2.2, 3, 50} {
		v.Thrusters = append(v.Thrusters, Thruster{Name: strconv.Itoa(i), Axis: "surge", TestV: 1000, TestA: 101, TestN: 1, ArmatureOhm: ohm / 1000 * 999, NoLoadA: 100, NoLoadRPM: 1000, PropPitchMM: 10, BranchOhm: ohm / 1000})
	}
	m := NewModel(v)
	pt := Point{}
	m.Solve(&Condition{Sign: []int8{1, 1, 1, 1}, Electrical: true, Held: true, WaterC: 20}, m.NewParams(), &pt, nil)
	assert.InDelta(t, 9.983149550591, pt.Out[quantity.CurrentA], 1e-9)
	assert.InDelta(t, 12.30050551348, pt.Out[quantity.BatteryV], 1e-9)
	assert.InDelta(t, 7.907919711222, pt.Out[quantity.VehicleV], 1e-9)
	assert.InDelta(t, 3.594508959646, pt.Amps[0], 1e-9)
	assert.InDelta(t, 0.158158394224, pt.Amps[3], 1e-9)
}

// Two 100 Ω resistors in parallel are 50 Ω: common practice, no source.
func TestTwoStalledInParallel(t *testing.T) {
	v := testVehicle()
	v.Battery = Battery{NominalV: 10}
	v.Tether.Power = Conductor{OhmKM: 1e-9, Parallel: 1}
	v.Thrusters = v.Thrusters[:2]
	for i := range v.Thrusters {
		v.Thrusters[i].ArmatureOhm, v.Thrusters[i].BranchOhm, v.Thrusters[i].NoLoadA, v.Thrusters[i].TestA, v.Thrusters[i].TestV = 100, 0, 1, 2, 300
	}
	m := NewModel(v)
	pt := Point{}
	m.Solve(&Condition{Sign: []int8{1, 1}, Electrical: true, Held: true}, m.NewParams(), &pt, nil)
	assert.InDelta(t, 10.0/50, pt.Out[quantity.CurrentA], 1e-9)
}

// Unesco 44 (1983) p. 28: 10000 dbar at 30° is 9712.653 m; in shallow water the
// formula agrees with ρ·g·h of sea water within 0.6 %.
func TestDepthAgainstUnesco44(t *testing.T) {
	for _, row := range published(t, "unesco44_depth.csv") {
		assert.InDelta(t, row["depth_m"], DepthOfPressure(row["p_dbar"], row["lat"]), 5e-4, "%g dbar at %g°", row["p_dbar"], row["lat"])
	}
	assert.InDelta(t, 9712.653, DepthOfPressure(10000, 30), 5e-4)
	assert.InEpsilon(t, 1e5/(1025*Gravity), DepthOfPressure(10, 45), 6e-3)
}

// The default drag of a tether across the flow is the long cylinder's of the
// Aeronautical Engineer's Data Book, fig. 5.13(b).
func TestTetherDragAgainstTable(t *testing.T) {
	f, err := os.ReadFile(filepath.Join("testdata", "drag_coefficients.csv"))
	require.NoError(t, err)
	assert.Regexp(t, `(?m)^.*cylinder.*across.*,.*1\.2`, string(f))
	v, err := ReadVehicle(strings.NewReader(leastVehicle), "vehicle.toml")
	require.NoError(t, err)
	assert.Equal(t, 1.2, v.Tether.NormalDrag)
}

// leastVehicle states only what must be stated.
const leastVehicle = `name = "least"
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
