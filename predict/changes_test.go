package predict

import (
	"encoding/csv"
	"math"
	"os"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// bSeries is a Wageningen B-series polynomial, Σ C·J^s·(P/D)^t·(A_E/A₀)^u·Z^v
// (Oosterveld and van Oossanen, International Shipbuilding Progress 22, 1975).
func bSeries(t *testing.T, name string) func(j, pitch, area, blades float64) float64 {
	f, err := os.Open("testdata/" + name)
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	var terms [][5]float64
	for _, row := range rows[1:] {
		var term [5]float64
		for i := range term {
			term[i], err = strconv.ParseFloat(row[i], 64)
			require.NoError(t, err)
		}
		terms = append(terms, term)
	}
	return func(j, pitch, area, blades float64) (k float64) {
		for _, c := range terms {
			k += c[0] * math.Pow(j, c[1]) * math.Pow(pitch, c[2]) * math.Pow(area, c[3]) * math.Pow(blades, c[4])
		}
		return k
	}
}

// At rest, over the pitch ratios of small propellers, thrust and torque go as
// the powers of pitch that repitch uses.
func TestPitchExponentsAgainstBSeries(t *testing.T) {
	kt, kq := bSeries(t, "wageningen_b_kt.csv"), bSeries(t, "wageningen_b_kq.csv")
	assert.InDelta(t, 0.2776853239, kt(0, 0.7, 0.5, 3), 1e-9, "a computed check point of the series")
	for _, b := range []struct{ blades, area float64 }{{2, 0.4}, {3, 0.5}, {4, 0.55}} {
		for _, pitch := range []float64{0.6, 0.7, 0.8, 1} {
			slope := func(k func(j, p, a, z float64) float64) float64 {
				return math.Log(k(0, pitch*1.01, b.area, b.blades)/k(0, pitch/1.01, b.area, b.blades)) / math.Log(1.01*1.01)
			}
			assert.InDelta(t, thrustByPitch, slope(kt), 0.16, "%g blades, P/D %g", b.blades, pitch)
			assert.InDelta(t, torqueByPitch, slope(kq), 0.13, "%g blades, P/D %g", b.blades, pitch)
		}
	}
}

// Peukert, rated form: C = 100 Ah over 20 h, n = 1.25 lasts 8.408964 h at
// 10 A and 1.124683 h at 50 A (a battery monitor maker's note, recomputed).
func TestPeukert(t *testing.T) {
	assert.InDelta(t, 8.408964, peukert(100, 10, 20, 1.25), 1e-6)
	assert.InDelta(t, 1.124683, peukert(100, 50, 20, 1.25), 1e-6)
	assert.InDelta(t, 2.0, peukertHours(20, 10, "lithium"), 1e-12)
}

// Whatever the valid vehicle, more resistance never means more thrust and a
// shorter tether never less speed.
func TestOutcomeIsMonotone(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		m := NewModel(anyVehicle(rt))
		p := m.NewParams()
		p[LoopOhm] = rapid.Float64Range(0, 1).Draw(rt, "loop")
		c := Condition{WaterC: 10, DepthM: rapid.Float64Range(0, 10).Draw(rt, "depth"), TetherOutM: min(25, m.Vehicle.Tether.LengthM)}
		worse := append(Params(nil), p...)
		worse[LoopOhm] += rapid.Float64Range(0, 1).Draw(rt, "more")
		before := m.Outcome(c, p)
		assert.LessOrEqual(rt, m.Outcome(c, worse).PullN, before.PullN*(1+1e-9)+1e-12)
		short := m.Vehicle.Clone()
		short.Tether.LengthM *= rapid.Float64Range(0.1, 1).Draw(rt, "cut")
		n := NewModel(short)
		after := n.Outcome(c, p)
		run := func(m *Model) bool { // whether a propeller is dragged when running free
			c.Sign, c.Electrical = make([]int8, len(m.motors)), true
			for i := range m.motors {
				if m.motors[i].surge {
					c.Sign[i] = 1
				}
			}
			m.Solve(&c, p, new(Point), nil)
			return m.driven()
		}
		if !run(m) && !run(n) {
			assert.GreaterOrEqual(rt, after.SpeedMS, before.SpeedMS*(1-1e-6)-1e-12)
		}
	})
}

// A change leaves the vehicle it was tried on alone, and every changed
// vehicle still solves; its power adds up to what the battery gives.
func TestChangesTouchACopy(t *testing.T) {
	v := testVehicle()
	v.Battery.CapacityAh = 18
	before := *v.Clone()
	for _, ch := range Changes(v, 0.25) {
		w := v.Clone()
		p := NewModel(v).NewParams()
		p[LoopOhm] = 0.2
		ch.Apply(w, p)
		m := NewModel(w)
		p[OpenCircuitV] = w.Battery.NominalV
		o := m.Outcome(Condition{WaterC: 15, TetherOutM: 20}, p)
		assert.Greater(t, o.SpeedMS, 0.0, ch.Name)
		c := Condition{Sign: []int8{1, 1, 0}, Electrical: true, Held: true, WaterC: 15}
		var pt Point
		m.Solve(&c, p, &pt, nil)
		b := m.Budget(&c, p, &pt)
		assert.InEpsilon(t, p[OpenCircuitV]*pt.Out[quantity.CurrentA], b.Battery+b.Tether+b.Joints+b.Branches+b.Thrusters+b.Lights, 1e-9, ch.Name)
	}
	assert.Equal(t, before, *v)
}

// The same propeller again is the same thruster; more pitch pulls harder from
// a stiff supply.
func TestRepitch(t *testing.T) {
	v := testVehicle()
	v.Tether.Power, v.Battery.ResistanceOhm = vehicle.Conductor{AreaMM2: 1000, Parallel: 1}, 0
	w := v.Clone()
	repitch(w, 1)
	assert.InDelta(t, v.Thrusters[0].TestV, w.Thrusters[0].TestV, 1e-12)
	repitch(w, 1.1)
	c := Condition{WaterC: 15}
	a, b := NewModel(v).Outcome(c, NewModel(v).NewParams()), NewModel(w).Outcome(c, NewModel(w).NewParams())
	assert.Greater(t, b.CurrentA, a.CurrentA)
	m, n := NewModel(v).motors[0], NewModel(w).motors[0]
	assert.InEpsilon(t, m.s*1.1, n.s, 1e-12)
	assert.InEpsilon(t, m.t*math.Pow(1.1, thrustByPitch), n.t, 1e-12)
	assert.InEpsilon(t, m.q*math.Pow(1.1, torqueByPitch), n.q, 1e-12)
}
