package priors

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/lsq"
	"sagline/predict/normal"
	"sagline/predict/vehicle"
)

// The space holds what the file does not tell exactly, what scatters and what a cause changes, each at its place, and
// neither what is one dive's alone nor what the log never needs.
func TestSpace(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	s := New(m, Log{Unneeded: []int{predict.LightsA}})
	var static, scatter []int
	for at, k := range s.All {
		p := &s.Of[k]
		assert.Equal(t, at, s.Place[k])
		assert.Same(t, p, s.Known(at))
		assert.True(t, p.Prior > 0 || p.Scatter > 0 || p.Fault > 0, k)
		if p.Prior > 0 {
			assert.Equal(t, len(static), s.InStatic[at], k)
			static = append(static, at)
		} else {
			assert.Equal(t, -1, s.InStatic[at], k)
		}
		if p.Scatter > 0 {
			scatter = append(scatter, at)
		}
	}
	assert.Equal(t, static, s.Static)
	assert.Equal(t, scatter, s.Scatter)
	assert.Contains(t, s.All, predict.StreamMS)
	for k, at := range s.Place {
		p := &s.Of[k]
		outside := slices.Contains(OfOneDive, k) || k == predict.LightsA || p.Prior == 0 && p.Scatter == 0 && p.Fault == 0
		assert.Equal(t, outside, at == -1, k)
	}
	columns, apart := 0, map[string][]int{}
	for i := range s.Causes {
		for _, a := range s.Causes[i].Amplitudes {
			c := s.Columns[columns]
			columns++
			assert.Equal(t, i, c.Cause)
			assert.InDelta(t, 2*a.Step, c.SD, 1e-12, s.Causes[i].Name)
			for j, term := range a.Terms {
				assert.Equal(t, Term{s.Place[term.Param], term.Per}, c.Terms[j], s.Causes[i].Name)
			}
		}
		for columns < len(s.Columns) && s.Columns[columns].Way > 0 && s.Columns[columns].Cause == i { // apart from the first
			c := s.Columns[columns]
			columns++
			apart[s.Causes[i].Name] = append(apart[s.Causes[i].Name], c.Way)
			assert.InDelta(t, 2*s.Causes[i].Amplitudes[0].Step, c.SD, 1e-12, s.Causes[i].Name)
			assert.Equal(t, s.Place[s.Causes[i].Else[c.Way-1].Terms[0].Param], c.Terms[0].At)
		}
	}
	assert.Equal(t, []int{1}, apart["ingress"], "water that comes in within a dive is no water before it")
	assert.Nil(t, apart["battery"], "a fuse holder before the voltmeter is in the ohms of either way")
	assert.Len(t, s.Columns, columns)
}

// Causes take parameters of the vehicle somewhere, not those of instruments, circumstances and the battery's charge.
func TestFaultsAreTheVehicles(t *testing.T) {
	s := New(predict.NewModel(vehicle.Example()), Log{})
	faults := s.Faults()
	for _, k := range []int{predict.LoopOhm, predict.LogThrust, predict.FrictionA, predict.LogDrag, predict.TrimG, predict.BatteryOhm, predict.OfThruster(0, predict.BranchOhm)} {
		assert.InDelta(t, s.Of[k].Fault, faults[k], 1e-12, k)
		assert.Positive(t, faults[k], k)
	}
	for _, k := range []int{predict.StreamMS, predict.LogClamp, predict.LogSpeed, predict.LogPull, predict.LogVehicleV, predict.OpenCircuitV, predict.UnloggedA} {
		assert.NotContains(t, faults, k)
	}
}

// The prior's covariance is what keys make of pairs of parameters and what is beside them of each; a prediction's spread
// is that and scatter through its slopes.
func TestPriorOfKeys(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	s := New(m, Log{})
	slopes := make([]float64, m.Dim())
	want := 0.0
	for i, at := range s.Static {
		k := s.All[at]
		assert.InDelta(t, m.NewParams()[k]+s.Of[k].Mean, s.Prior.Mean[i], 1e-12)
		for j, other := range s.Static {
			l := s.All[other]
			cov := 0.0
			for _, key := range s.Keys {
				cov += key.By[k] * key.By[l]
			}
			assert.InDelta(t, cov, s.FromKeys(k, l), 1e-12)
			if i == j {
				assert.InDelta(t, math.Sqrt(cov+s.Of[k].Beside*s.Of[k].Beside), s.Of[k].Prior, 1e-12)
				cov += s.Of[k].Beside*s.Of[k].Beside + math.Pow(0.02*s.Of[k].Prior, 2)
			}
			assert.InDelta(t, cov, s.Prior.Cov.At(i, j), 1e-12*math.Max(1, math.Abs(cov)))
		}
	}
	var one mat.Dense
	one.Mul(s.Prior.Cov, s.Prior.Precision)
	for i := range s.Static {
		assert.InDelta(t, 1, one.At(i, i), 1e-6)
	}
	for k := range slopes {
		slopes[k] = float64(k%3) - 0.7
	}
	for k, x := range slopes {
		want += x * x * (s.Of[k].Beside*s.Of[k].Beside + s.Of[k].Scatter*s.Of[k].Scatter)
		for l, y := range slopes {
			want += x * y * s.FromKeys(k, l)
		}
	}
	assert.InEpsilon(t, math.Sqrt(want), s.Spread(slopes), 1e-9)
}

// Added to a system of residuals and to information, the prior is its quadratic form.
func TestPriorIsAdded(t *testing.T) {
	s := New(predict.NewModel(vehicle.Example()), Log{})
	p := &s.Prior
	n := len(p.Mean)
	x := make([]float64, n+1)
	away := make([]float64, n)
	for i := range n {
		away[i] = math.Sqrt(p.Cov.At(i, i)) * (float64(i%5) - 1.5)
		x[i+1] = p.Mean[i] + away[i]
	}
	want := mat.Inner(mat.NewVecDense(n, away), p.Precision, mat.NewVecDense(n, away))

	r, jac := make([]float64, n), mat.NewDense(n, n+1, nil)
	system := lsq.System{X: x, R: r, Jac: jac}
	p.Known(&system, 1)
	sum := 0.0
	for i := range r {
		sum += r[i] * r[i]
		assert.Zero(t, jac.At(i, 0))
	}
	assert.InEpsilon(t, want, sum, 1e-8)
	for j := range n { // its slope is the precision's
		slope := 0.0
		for i := range r {
			slope += r[i] * jac.At(i, j+1)
		}
		var by mat.VecDense
		by.MulVec(p.Precision, mat.NewVecDense(n, away))
		assert.InDelta(t, by.AtVec(j), slope, 1e-7*math.Max(1, math.Abs(slope)))
	}

	info := normal.NewInformation(n)
	p.Add(&info, x[1:])
	var by mat.VecDense
	by.MulVec(p.Precision, mat.NewVecDense(n, away))
	for i := range n {
		assert.InDelta(t, -by.AtVec(i), info.Lin[i], 1e-9*math.Max(1, math.Abs(info.Lin[i])))
		for j := range n {
			assert.Equal(t, p.Precision.At(i, j), info.Info.At(i, j))
		}
	}
}

// Thrusters' keys of one name are one doubt of all of them; a standard deviation is half of what one more and one less
// differ by.
func TestDoubtsOfThrusters(t *testing.T) {
	v := vehicle.Example()
	keys := Doubts(v)
	i := slices.IndexFunc(keys, func(d Doubt) bool { return d.Key == "thruster.*.armature_ohm" })
	if assert.GreaterOrEqual(t, i, 0) {
		assert.Len(t, keys[i].Paths, len(v.Thrusters))
		both := predict.Difference(v.Varied(map[string]float64{keys[i].Key: -1}), v.Varied(map[string]float64{keys[i].Key: 1}))
		for k, x := range both {
			assert.InDelta(t, x/2, keys[i].By[k], 1e-9, k)
		}
	}
}

// Along a direction the prior is as much wider as its standard deviation has, and as it was across; what is beside the keys stays.
func TestAlong(t *testing.T) {
	s := New(predict.NewModel(vehicle.Example()), Log{})
	loop := slices.IndexFunc(s.Causes, func(c causes.Cause) bool { return c.Name == "power_loop" })
	d, ok := s.Along(loop)
	assert.True(t, ok)
	assert.InDelta(t, 0.3, d.SD, 1e-12, "twice the usual size")
	at := s.InStatic[s.Place[predict.LoopOhm]]
	p := s.Prior.Along(d)
	for i := range d.Per {
		for j := range d.Per {
			more := 0.0
			if i == at && j == at {
				more = sq(d.SD)
			}
			assert.InDelta(t, s.Prior.Cov.At(i, j)+more, p.Cov.At(i, j), 1e-12)
		}
	}
	assert.Equal(t, s.Prior.Beside, p.Beside)
	var cov mat.Cholesky
	assert.True(t, cov.Factorize(p.Cov))
	assert.InDelta(t, -cov.LogDet(), p.LogDet, 1e-6)

	for name, want := range map[string]bool{"branch:port": true, "instrument:voltage": false, "intermittent_contact": false, "stall:port": false, "not_logged:propeller": false} {
		_, ok := s.Along(slices.IndexFunc(s.Causes, func(c causes.Cause) bool { return c.Name == name }))
		assert.Equal(t, want, ok, name)
	}
}

// A key's direction is what so many of its standard deviations do.
func TestAlongKey(t *testing.T) {
	s := New(predict.NewModel(vehicle.Example()), Log{})
	for i := range s.Keys {
		d := s.AlongKey(&s.Keys[i], 4)
		assert.Equal(t, 4.0, d.SD)
		for j, at := range s.Static {
			assert.Equal(t, s.Keys[i].By[s.All[at]], d.Per[j], s.Keys[i].Key)
		}
	}
}

// Each thruster of several may take another current, alone or with its pull; one alone is all of them.
func TestOneThrusters(t *testing.T) {
	v := vehicle.Example()
	got := OneThrusters(v)
	assert.Len(t, got, 2*len(v.Thrusters))
	for i := range v.Thrusters {
		b := v.Belief("thruster." + v.Thrusters[i].Name + ".test_a")
		for k, thrust := range []float64{0, b.SD} {
			d := got[2*i+k]
			assert.Equal(t, []string{b.Path}, d.Paths)
			assert.Equal(t, b.SD, d.By[predict.OfThruster(i, predict.LogOneTorque)])
			assert.Equal(t, thrust, d.By[predict.OfThruster(i, predict.LogOneThrust)])
		}
	}
	v.Thrusters = v.Thrusters[:1]
	assert.Empty(t, OneThrusters(v))
}
