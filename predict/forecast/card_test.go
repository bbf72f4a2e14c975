package forecast

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/fit"
	"sagline/predict/instrument"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// A climb is timed with everything off, a thruster is held when it runs; what a reading tells of a parameter is the slope of
// what is compared.
func TestCandidates(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	r := &fit.Result{Model: m, Noise: instrument.NewNoise(m.Vehicle)}
	p := m.NewParams()
	p[predict.OpenCircuitV], p[predict.TrimG] = 12.6, 150
	c := predict.Condition{WaterC: 15, TetherOutM: 20}
	by := func(k int, x float64) []candidate {
		moved := slices.Clone(p)
		moved[k] += x
		return candidates(r, moved, c, nil)
	}
	of, climbs, held := candidates(r, p, c, nil), 0, 0
	const step = 1e-4
	up, down := by(predict.TrimG, step), by(predict.TrimG, -step)
	for i, x := range of {
		assert.Equal(t, x.Climbing, x.Quantity == quantity.Climb)
		assert.False(t, x.Climbing && !idle(x.Sign), "%v", x.Sign)
		assert.False(t, x.Held && idle(x.Sign), "%v", x.Sign)
		slope := (up[i].Expected - down[i].Expected) / (2 * step)
		assert.InDelta(t, slope, x.row.AtVec(predict.TrimG), 1e-6+1e-3*math.Abs(slope), "%s", x.Quantity)
		if x.Climbing {
			climbs++
		}
		if x.Held {
			held++
		}
	}
	assert.Equal(t, 1, climbs)
	assert.Greater(t, held, 2)
}

// A thruster is asked to run astern where its file gives a pull astern or the log has run it so, and not where it cannot.
func TestAsksOnlyWhatCanRun(t *testing.T) {
	const pond = "name = \"pond\"\nbattery = {nominal_v = 12}\ntether = {length_m = 20, power = {area_mm2 = 2.5}}\n[[thruster]]\nname = \"main\"\naxis = \"surge\"\n"
	for name, c := range map[string]struct {
		astern, thrusters string
		want              bool
	}{
		"nothing known":     {"", "main", false},
		"the file gives it": {"astern = 0.6\n", "main", true},
		"the log has it":    {"", "main astern", true},
		"no reversing":      {"astern = 0\n", "main", false},
	} {
		v, err := vehicle.Read(strings.NewReader(pond+c.astern), vehicle.FileName)
		require.NoError(t, err)
		log, err := session.Read(strings.NewReader("dive,thrusters,battery_v\n1,"+c.thrusters+",12.1\n"), "dives.csv")
		require.NoError(t, err)
		r, err := fit.Fit(v, log)
		require.NoError(t, err)
		asked := slices.ContainsFunc(candidates(r, r.Base, predict.Condition{TetherOutM: 20, WaterC: 15}, nil), func(k candidate) bool { return slices.Contains(k.Sign, -1) })
		assert.Equal(t, c.want, asked, name)
	}
}

// One reading more is one on each line where it means something: the loop's once, before the dive; hover weight with all off,
// volts with something on. What a dive has read already tells no more.
func TestReadingsMore(t *testing.T) {
	r := ofExample()
	for d := range r.Dives {
		off, on := 0, 0
		read := map[quantity.Quantity]bool{}
		for _, l := range r.Dives[d].Log.Lines {
			if len(l.Drives) > 0 {
				on++
			} else if !l.Readings[quantity.Climb].Measured() {
				off++
			}
			for q := range quantity.Count {
				read[q] = read[q] || l.Readings[q].Measured()
			}
		}
		before := len(readingsOf(r, d, -1))
		for q, more := range map[quantity.Quantity]int{quantity.LoopOhm: 1, quantity.VehicleV: on, quantity.Trim: off, quantity.BatteryV: on + off} {
			assert.Len(t, readingsOf(r, d, q), before+more, "%s of dive %d", q, d)
		}
		g, ok := MostTelling(r, d, predict.LoopOhm)
		assert.True(t, ok)
		assert.False(t, read[g.Quantity], "%s", g.Quantity)
	}
}

// A reading is worth what it narrows of the questions that are open, as they are weighed; what is known for certain is none.
func TestGain(t *testing.T) {
	k := &candidate{Reading{SD: 0.5}, mat.NewVecDense(3, []float64{1, 3, 0})}
	cov := mat.NewSymDense(3, []float64{0, 0, 0, 0, 0.25, 0, 0, 0, 1})
	all, open := []int{0, 1, 2}, map[int]float64{0: 1, 1: 0.5, 2: 1}
	assert.InDelta(t, 0.5*math.Log(10), k.gain(cov, all, open), 1e-12)
	assert.Equal(t, 1, k.take(cov, all))
	assert.InDelta(t, 0.25/10, cov.At(1, 1), 1e-12)
	k = &candidate{Reading{SD: 0.5}, mat.NewVecDense(3, []float64{0, 1, 0})}
	cov = mat.NewSymDense(3, []float64{0, 0, 0, 0, 1, 1.5, 0, 1.5, 2.25})
	assert.Equal(t, 1, k.take(cov, all), "not what is only known beside it")
}

// A reading that tells less than two hundredths of a nat of what is open is not worth a line.
func TestCardEndsWithWhatTellsLittle(t *testing.T) {
	r := ofExample()
	c := predict.Condition{WaterC: 15, TetherOutM: 15}
	at, most := slices.Clone(r.Base), 0.0
	at[predict.OpenCircuitV] = r.Model.Vehicle.Battery.RestV()
	doubt := covariance(r, r.Space.Faults(), fit.Posterior{})
	for _, k := range candidates(r, at, c, r.Reads()) {
		most = max(most, k.gain(doubt, []int{predict.TrimG}, map[int]float64{predict.TrimG: 1}))
	}
	assert.Empty(t, Card(r, at, fit.Posterior{}, c, r.Reads(), map[int]float64{predict.TrimG: 0.0199 / most}, 8))
	assert.NotEmpty(t, Card(r, at, fit.Posterior{}, c, r.Reads(), map[int]float64{predict.TrimG: 0.0201 / most}, 8))
}
