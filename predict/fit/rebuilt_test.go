package fit_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/audit"
	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
)

// What is rebuilt sets the levels anew that it touches: of a thruster its own, of all what they share too, of the hull none
// of the tether's.
func TestAnew(t *testing.T) {
	v := simulate.Fleet(4)
	one := func(i, what int) int { return predict.OfThruster(i, what) }
	for path, c := range map[string]struct{ with, without []int }{
		"tether.length_m":               {[]int{predict.LoopOhm, predict.TrimPerM, predict.LogTetherDrag, predict.LogInsulation}, []int{predict.LogDrag, predict.BatteryOhm, one(0, predict.BranchOhm)}},
		"battery.resistance_ohm":        {[]int{predict.BatteryOhm, predict.OpenCircuitV}, []int{predict.LoopOhm}},
		"thruster.starboard.branch_ohm": {[]int{one(1, predict.BranchOhm), one(1, predict.LogOneThrust)}, []int{predict.LogThrust, predict.FrictionA, one(0, predict.BranchOhm), one(2, predict.BranchOhm), predict.LoopOhm}},
		"hull.trim_g":                   {[]int{predict.TrimG, predict.LogDrag}, []int{predict.LoopOhm, predict.LogThrust}},
		"lights.current_a":              {[]int{predict.UnloggedA, predict.LightsA}, []int{predict.LoopOhm}},
		"name":                          {nil, []int{predict.LoopOhm, predict.TrimG}},
	} {
		got := fit.Anew(v, []string{path, path})
		assert.Subset(t, got, c.with, path)
		for _, k := range c.without {
			assert.NotContains(t, got, k, path)
		}
		assert.True(t, slices.IsSorted(got))
		assert.Len(t, slices.Compact(slices.Clone(got)), len(got), "each once")
	}
	var all []string
	for i := range v.Thrusters {
		all = append(all, "thruster."+v.Thrusters[i].Name+".test_a")
	}
	assert.Subset(t, fit.Anew(v, all), []int{predict.LogThrust, predict.FrictionA, one(0, predict.LogOneTorque)})
}

// A motor that is exchanged alone may be off by as much as all may together, and by as much again as one may; the others stay.
func TestRebuiltOneThruster(t *testing.T) {
	s := simulatedLog(18, simulate.Season{Dives: 9})
	name := s.vehicle.Thrusters[1].Name
	r := s.fit(t, changed(t, s.vehicle, "8 thruster."+name+".test_n = 9"))
	free := map[int]float64{}
	for _, f := range r.Rebuilt(1) {
		free[r.Space.All[f.Place]] = f.SD
	}
	assert.NotContains(t, free, predict.LogThrust)
	assert.NotContains(t, free, predict.OfThruster(0, predict.LogOneThrust))
	for what, all := range map[int][]int{predict.LogOneThrust: {predict.LogThrust}, predict.LogOneTorque: {predict.LogSize, predict.LogTorque}} {
		want := math.Pow(r.Space.Of[predict.OfThruster(1, what)].Prior, 2)
		for _, k := range all {
			want += math.Pow(r.Space.Of[k].Prior, 2)
		}
		assert.InDelta(t, math.Sqrt(want), free[predict.OfThruster(1, what)], 0.01)
	}
}

// changed is a vehicle that is rebuilt before dives.
func changed(t *testing.T, v *vehicle.Vehicle, changes ...string) *vehicle.Vehicle {
	t.Helper()
	text := string(v.Text())
	for _, c := range changes {
		dive, key, _ := strings.Cut(c, " ")
		text += fmt.Sprintf("[[change]]\ndive = %q\n%s\n", dive, key)
	}
	out, err := vehicle.Read(strings.NewReader(text), vehicle.FileName)
	require.NoError(t, err)
	return out
}

// Rebuilds that are not in the order of the log's dives are refused, fitted or not.
func TestRebuildsOutOfOrder(t *testing.T) {
	s := simulatedLog(18, simulate.Season{Dives: 3})
	v := changed(t, s.vehicle, "3 tether.length_m = 15", "2 hull.trim_g = 20")
	for _, fit := range []func() (*fit.Result, error){
		func() (*fit.Result, error) { return fit.Fit(v, s.log) },
		func() (*fit.Result, error) { return fit.Unfitted(v, s.log) },
	} {
		_, err := fit()
		require.Error(t, err)
		assert.Contains(t, err.Error(), "found dive 2 below the change of dive 3")
	}
}

// From the dive that a [[change]] names the vehicle is the rebuilt one, and what it was is told; what is to come is open
// as far as a vehicle may differ from its file.
func TestRebuilds(t *testing.T) {
	s := simulatedLog(18, simulate.Season{Dives: 11})
	was := s.vehicle.Tether.LengthM
	r := s.fit(t, changed(t, s.vehicle, "8 tether.length_m = 15", "12 hull.trim_g = 20"))
	assert.Equal(t, was, r.ModelOf(6).Vehicle.Tether.LengthM)
	assert.Equal(t, 15.0, r.ModelOf(7).Vehicle.Tether.LengthM)
	for d := range r.Dives {
		var want []string
		if d == 7 {
			want = []string{"tether.length_m"}
		}
		assert.Equal(t, want, r.RebuiltAt(d), "dive %d", d+1)
	}
	assert.Empty(t, r.Builds(6))
	tether := fmt.Sprintf("from dive 8 on: tether.length_m = 15, was %g", was)
	assert.Equal(t, []string{tether}, r.Builds(7))
	assert.Equal(t, []string{tether}, r.Builds(9))
	assert.Equal(t, []string{tether, fmt.Sprintf("from dive 12, which is not in the log yet, on: hull.trim_g = 20, was %g", s.vehicle.Hull.TrimG)}, r.Builds(10))
	later := s.fit(t, changed(t, s.vehicle, "8 tether.length_m = 15", "15 hull.trim_g = 20"))
	assert.Equal(t, []string{tether}, later.Builds(9))
	if of := later.Builds(10); assert.Len(t, of, 2) {
		assert.Contains(t, of[1], "after the next dive, so not in these numbers")
	}
	toCome := r.ToCome()
	assert.Contains(t, toCome, predict.TrimG)
	assert.NotContains(t, toCome, predict.LoopOhm)
	assert.Greater(t, toCome[predict.TrimG], 10.0)
	for _, f := range r.Rebuilt(1) {
		assert.Positive(t, f.SD)
		assert.NotEqual(t, predict.TrimG, r.Space.All[f.Place])
	}
	assert.Empty(t, s.fit(t, nil).Builds(10))
	assert.Empty(t, s.fit(t, nil).ToCome())
}

// A rebuilt part that is otherwise than its [[change]] says is told from that dive on, by the dives since.
func TestRebuiltOtherwise(t *testing.T) {
	const from = 8
	s := simulatedLog(19, simulate.Season{Dives: 14, Drift: func(d int, p predict.Params) {
		if d >= from {
			p[predict.LoopOhm] += 0.4
		}
	}})
	joints := s.vehicle.Tether.Power.JointsOhm
	right := s.fit(t, changed(t, s.vehicle, fmt.Sprintf("%d tether.power.joints_ohm = %g", from, joints+0.4)))
	assert.Empty(t, audit.Mismatches(right))
	wrong := s.fit(t, changed(t, s.vehicle, fmt.Sprintf("%d tether.power.joints_ohm = %g", from, joints+0.001)))
	found := audit.Mismatches(wrong)
	require.Len(t, found, 1)
	assert.Equal(t, "8", found[0].Since)
	assert.Equal(t, "tether.power.joints_ohm", found[0].Path)
	assert.Regexp(t, `^from dive 8 on the power loop has 0\.(3|4)\d* Ω more than .* should have: a bad joint since then`, found[0].Said())
}

// What the file does not say cannot be wrong in it, however far from what is usual the vehicle is.
func TestNoMismatchWithWhatIsNotSaid(t *testing.T) {
	s := simulatedLog(21, simulate.Season{Dives: 7, Drift: func(_ int, p predict.Params) { p[predict.BatteryOhm] += 0.4 }})
	assert.Empty(t, audit.Mismatches(s.fit(t, required(t, s.vehicle))))
	found := audit.Mismatches(s.fit(t, nil))
	require.Len(t, found, 1)
	assert.Equal(t, "battery.resistance_ohm", found[0].Path)
}
