package advice

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/invented"
)

// With a tether as thin as a thread the vehicle holds against its own drag
// alone: ½·999.1·0.07·0.3² N, and against its buoyancy.
func TestHoldWithoutTetherIsHullDrag(t *testing.T) {
	v := invented.Vehicle()
	v.Tether.DiameterMM, v.Tether.WeightGM = 0.001, 0
	m := predict.NewModel(v)
	s := Station{CurrentMS: 0.3, DepthM: 4, OffsetM: 3, TetherOutM: 20, WaterC: 15}
	h, err := Hold(m, s, m.NewParams(), exactly(m.NewParams()))
	require.NoError(t, err)
	assert.InDelta(t, 0.5*predict.WaterDensity(15, 0)*0.07*0.09, h.ForceUpN, 0.01)
	assert.InDelta(t, (60-2*4)*predict.Gravity/1000, h.ForceDownN, 0.01)
	assert.True(t, h.CanHold)
}

// What a tether weighs pulls at the vehicle through its tension alone: its buoyancy counts without what hangs on it.
func TestHoldWithHeavyTether(t *testing.T) {
	for _, weight := range []float64{-10, 0, 25} {
		v := invented.Vehicle()
		v.Tether.WeightGM = weight
		m := predict.NewModel(v)
		h, err := Hold(m, Station{CurrentMS: 0.2, DepthM: 4, OffsetM: 3, TetherOutM: 20, WaterC: 15}, m.NewParams(), exactly(m.NewParams()))
		require.NoError(t, err)
		end := h.Shape[len(h.Shape)-1]
		assert.InDelta(t, end.TensionN*math.Sin(end.Angle)+(60-2*4)*predict.Gravity/1000, h.ForceDownN, 1e-3, "%g g/m", weight)
		assert.InDelta(t, 0.5*predict.WaterDensity(15, 0)*0.07*0.04-end.TensionN*math.Cos(end.Angle), h.ForceUpN, 1e-3, "%g g/m", weight)
	}
}

// A stronger current wants more force, and the strongest that can be held is
// where holding ends.
func TestStrongestIsTheEdge(t *testing.T) {
	m := predict.NewModel(invented.Vehicle())
	p := m.NewParams()
	s := Station{DepthM: 4, OffsetM: 6, TetherOutM: 15, WaterC: 15}
	u := Strongest(m, s, p, 3)
	assert.Greater(t, u, 0.1)
	for _, c := range []struct {
		current float64
		can     bool
	}{{u - 0.01, true}, {u + 0.01, false}} {
		s.CurrentMS = c.current
		h, err := Hold(m, s, p, exactly(p))
		require.NoError(t, err)
		assert.Equal(t, c.can, h.CanHold, "%g m/s", c.current)
	}
}

// exactly knows a vehicle for certain.
func exactly(p predict.Params) Over { return oneOf(p) }

// oneOf takes a vehicle to be one of some, all as likely.
func oneOf(all ...predict.Params) Over {
	return func(values []float64, _ map[int]float64, solve func(predict.Params) []float64) []Range {
		out := make([]Range, len(values))
		for i, x := range values {
			out[i] = Range{x, x, x}
		}
		for _, p := range all {
			for i, x := range solve(p) {
				out[i].Low, out[i].High = min(out[i].Low, x), max(out[i].High, x)
			}
		}
		return out
	}
}

// Whether it can hold is sure where nearly all vehicles can that it may be, and the
// sure current is the one that the weakest of them holds.
func TestHoldsWhereTheWeakestDoes(t *testing.T) {
	m := predict.NewModel(invented.Vehicle())
	p, weak := m.NewParams(), m.NewParams()
	weak[predict.LogThrust] = -1
	s := Station{DepthM: 4, OffsetM: 6, TetherOutM: 15, WaterC: 15}
	both := oneOf(p, weak)
	likely, least := Strongest(m, s, p, 3), Strongest(m, s, weak, 3)
	assert.Less(t, least, likely-0.05)
	assert.InDelta(t, least, Sure(m, s, p, likely, both), 0.002)
	for _, c := range []struct {
		current   float64
		can, sure bool
		share     float64
	}{{least - 0.01, true, true, 1}, {(least + likely) / 2, false, false, 0.5}, {likely + 0.01, false, true, 0}} {
		s.CurrentMS = c.current
		h, err := Hold(m, s, p, both)
		require.NoError(t, err)
		can, sure := h.Can()
		assert.Equal(t, []any{c.can, c.sure, c.share}, []any{can, sure, h.Share}, "%g m/s", c.current)
		assert.Less(t, h.GreatestOf.Up.Low, h.GreatestUpN)
	}
}

// The best of some lengths is one with which the station is held in the strongest current, and a stronger one than with all
// others; no tether holds where none reaches.
func TestBestLength(t *testing.T) {
	m := predict.NewModel(invented.Vehicle())
	p := m.NewParams()
	s := Station{DepthM: 4, OffsetM: 6, TetherOutM: 15, WaterC: 15}
	length, current := BestLength(m, s, p, 3)
	least := 1.03 * math.Hypot(4, 6)
	best := 0.0
	for k := range lengths {
		s.TetherOutM = least + (m.Vehicle.Tether.LengthM-least)*float64(k)/(lengths-1)
		u := Strongest(m, s, p, 3)
		best = max(best, u)
		if math.Abs(s.TetherOutM-length) < 1e-9 {
			assert.InDelta(t, u, current, 0.01)
		}
	}
	assert.GreaterOrEqual(t, length, least)
	assert.InDelta(t, best, current, 0.01)
	assert.Greater(t, current, 0.1)
	s.TetherOutM = 7
	_, err := Hold(m, s, p, exactly(p))
	assert.ErrorIs(t, err, errReach)
	assert.Zero(t, Strongest(m, s, p, 3))
}

// Tether counts as lying afloat where both ends of a piece do, and as deeper where either does.
func TestMeasuredShape(t *testing.T) {
	h := Holding{Shape: []CablePoint{{ZM: 0}, {ZM: 0.01, AlongM: 2}, {ZM: 3, AlongM: 5}, {ZM: 4.5, AlongM: 7}, {ZM: 4, AlongM: 8}}}
	h.measure(Station{DepthM: 4})
	assert.Equal(t, []any{2.0, 3.0, 4.5, false}, []any{h.AfloatM, h.DeeperM, h.DeepestM, h.Rough})
	h.Shape[1].ZM = -0.03
	h.measure(Station{DepthM: 4})
	assert.True(t, h.Rough)
	h.measure(Station{DepthM: 0})
	assert.Zero(t, h.AfloatM, "of a vehicle that is at the surface itself")
}

// No more tether is advised than there is, however near to its end the station lies.
func TestBestLengthIsOfTheTether(t *testing.T) {
	m := predict.NewModel(invented.Vehicle())
	most := m.Vehicle.Tether.LengthM
	length, current := BestLength(m, Station{DepthM: 0.44 * most, OffsetM: 0.89 * most, TetherOutM: most, WaterC: 15}, m.NewParams(), 3)
	assert.Greater(t, current, 0.0)
	assert.LessOrEqual(t, length, most)
}

// Thrusters that weaken each other take turns: 10 N up and 4 N down alone give half of each.
func TestThrustersByTurns(t *testing.T) {
	surge, heave := [2]float64{10, 0}, [2]float64{0, 4}
	for _, c := range []struct {
		both, need [2]float64
		want       bool
	}{
		{[2]float64{6, 1}, [2]float64{0.1, 2.9}, true},
		{[2]float64{6, 1}, [2]float64{10, 0}, true},
		{[2]float64{6, 1}, [2]float64{10.1, 0}, false},
		{[2]float64{6, 1}, [2]float64{0, 4.1}, false},
		{[2]float64{6, 1}, [2]float64{5, 2}, true},
		{[2]float64{6, 1}, [2]float64{5, 2.1}, false},
		{[2]float64{9, 3}, [2]float64{9, 3}, true},
		{[2]float64{9, 3}, [2]float64{9.5, 1.5}, true},
		{[2]float64{9, 3}, [2]float64{9.6, 1.5}, false},
		{[2]float64{9, 3}, [2]float64{4.5, 3.5}, true},
		{[2]float64{9, 3}, [2]float64{4.5, 3.6}, false},
	} {
		got := byTurns(surge, c.both, c.need) || byTurns(c.both, heave, c.need) || byTurns(surge, heave, c.need)
		assert.Equal(t, c.want, got, "%v of %v", c.need, c.both)
	}
}
