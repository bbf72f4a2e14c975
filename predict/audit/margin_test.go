package audit

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/fit"
	"sagline/predict/instrument"
	"sagline/predict/mixture"
	"sagline/predict/normal"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session"
)

// asBelieved is the example with some keys set, and of one key what readings say: z standard deviations up, of whose
// variance a share is left.
func asBelieved(t *testing.T, key string, z, left float64, set ...string) (*fit.Result, *givenKeys) {
	t.Helper()
	v := vehicle.Example()
	for _, s := range set {
		require.NoError(t, v.Set(s))
	}
	k := &givenKeys{v: v, keys: priors.Doubts(v), z: map[string]float64{key: z}}
	k.cov = mat.NewSymDense(len(k.keys), nil)
	for i, d := range k.keys {
		k.cov.SetSym(i, i, 1)
		if d.Key == key {
			k.cov.SetSym(i, i, left)
		}
	}
	return &fit.Result{Model: predict.NewModel(v), Eras: []vehicle.Era{{Vehicle: v}}}, k
}

// rowOf is the row of mismatches that names a key.
func rowOf(key string) *mismatchOf {
	return &mismatches[slices.IndexFunc(mismatches, func(m mismatchOf) bool { return slices.Contains(m.keys, key) })]
}

// A vehicle is another than its file says where it lies beyond 95 % of what that allows, and where readings are sure of it to
// 3.3 standard deviations; of what the file leaves out nothing is said.
func TestMismatchFarAndSure(t *testing.T) {
	for _, c := range []struct {
		z, left float64
		told    bool
	}{
		{1.95, 0.99, false}, {1.97, 0.99, true}, {-1.97, 0.99, true}, {-1.95, 0.99, false},
		{2.32, 0.5, false}, {2.34, 0.5, true}, // 3.3·√(1 − ½) = 2.333
	} {
		r, k := asBelieved(t, "hull.trim_g", c.z, c.left, "hull.trim_g=60")
		got := k.mismatch(r, rowOf("hull.trim_g"), 0, "")
		assert.Equal(t, c.told, len(got) == 1, "%+v", c)
		assert.Empty(t, k.mismatch(r, rowOf("hull.drag_area_m2"), 0, ""), "left out")
	}
	r, k := asBelieved(t, "hull.trim_g", 4, 0.9)
	assert.Empty(t, k.mismatch(r, rowOf("hull.trim_g"), 0, ""), "left out")
	r, k = asBelieved(t, "hull.trim_g", 4, 0.9, "hull.trim_g=60")
	r.Eras = append(r.Eras, vehicle.Era{First: 6, Dive: "7", Vehicle: k.v, Changed: []string{"hull.trim_g"}})
	assert.Empty(t, k.mismatch(r, rowOf("hull.trim_g"), 0, ""), "rebuilt since")
	assert.Len(t, k.mismatch(r, rowOf("hull.trim_g"), 1, "7"), 1)
}

// A mismatch is worded by how much (trim to 40 g and drag to 30 % as the file's tolerances are, length to 1 % of 0.276 Ω), in the key's unit or as a share, to which side, since when and what that could be, at the
// key to look at first.
func TestMismatchWords(t *testing.T) {
	for _, c := range []struct {
		key  string
		z    float64
		set  []string
		era  bool
		want Mismatch
	}{
		{"hull.trim_g", 3, []string{"hull.trim_g=60"}, false, Mismatch{Path: "hull.trim_g", Text: "the vehicle floats by 120 g more than the file says: ballast that the file still counts, or salt water that no line mentions?"}},
		{"hull.trim_g", -3, []string{"hull.trim_g=60"}, false,
			Mismatch{Path: "hull.trim_g", Text: "the vehicle floats by 120 g less than the file says: water in a tube or foam from the start, or ballast that the file does not know of?"}},
		{"hull.trim_g", -3, []string{"hull.trim_g=60"}, true,
			Mismatch{Path: "hull.trim_g", Since: "7", Text: "from dive 7 on the vehicle floats by 120 g less than the file says: water in a tube or foam since then, or ballast that the file does not know of?"}},
		{"hull.drag_area_m2", 4, []string{"hull.drag_area_m2=0.05"}, false, Mismatch{Path: "hull.drag_area_m2", Text: "the hull drags 232 % more than the file says: weed, a skid or a float that the guess left out?"}},
		{"thruster.*.astern", -3, []string{"thruster.port.astern=[0, 1]"}, false, // exp(−3·0.255/0.5)
			Mismatch{Path: "thruster.port.astern", Text: "astern they pull 78 % less than the file says: other propellers than were tested?"}},
		{"tether.length_m", -20, []string{"tether.power.joints_ohm=0.02"}, false,
			Mismatch{Path: "tether.power.joints_ohm", Text: "the power loop has 0.05 Ω less than 20 m of 2.5 mm² should have: a thicker or a shorter cable than the file says?"}},
		{"tether.length_m", -20, []string{"tether.power.joints_ohm=0.02"}, true,
			Mismatch{Path: "tether.length_m", Since: "7", Text: "from dive 7 on the power loop has 0.05 Ω less than 20 m of 2.5 mm² should have: a thicker or a shorter cable than the file says?"}},
		{"tether.length_m", -40, []string{"tether.power.joints_ohm=0.02", "tether.power.parallel=2"}, false,
			Mismatch{Path: "tether.power.joints_ohm", Text: "the power loop has 0.045 Ω less than 20 m of 2 × 2.5 mm² a leg should have: a thicker or a shorter cable than the file says?"}},
		{"tether.power.joints_ohm", 4.35, nil, false, // 0.04·(1.7^4.35 − 1), far beyond the slope at 0.04
			Mismatch{Path: "tether.power.joints_ohm", Text: "the power loop has 0.36 Ω more than 20 m of 2.5 mm² should have: a bad joint from the start, or another cable than the file says?"}},
		{"thruster.*.branch_ohm", 4, []string{"thruster.port.branch_ohm=[0.01, 0.04]"}, false, // 0.02·(2^(4/1.96) − 1)
			Mismatch{Path: "thruster.port.branch_ohm", Text: "each branch has 0.062 Ω more than the file says: a bad relay contact or lead from the start?"}},
	} {
		r, k := asBelieved(t, c.key, c.z, 0.5, c.set...)
		era := 0
		if c.era {
			era = 1
			r.Eras = append(r.Eras, vehicle.Era{First: 6, Dive: "7", Vehicle: k.v, Changed: []string{c.key}})
		}
		got := k.mismatch(r, rowOf(c.key), era, "7")
		require.Len(t, got, 1)
		assert.Positive(t, got[0].By*c.z)
		got[0].By = 0
		assert.Equal(t, c.want, got[0], "%s %g", c.key, c.z)
	}
}

// What a [[change]] rebuilt is looked for in the newest era that has a dive.
func TestRebuiltLast(t *testing.T) {
	r, k := asBelieved(t, "hull.trim_g", 0, 1)
	r.Dives = make([]fit.DiveFit, 9)
	r.Eras = append(r.Eras, vehicle.Era{First: 3, Changed: []string{"tether.length_m", "hull.trim_g"}}, vehicle.Era{First: 6, Changed: []string{"thruster.port.test_a"}},
		vehicle.Era{First: 9, Changed: []string{"tether.length_m"}})
	for key, want := range map[string]int{"tether.length_m": 1, "hull.trim_g": 1, "thruster.*.test_a": 2, "battery.resistance_ohm": 0} {
		era, paths := rebuiltLast(r, k, rowOf(key))
		assert.Equal(t, want, era, key)
		assert.Equal(t, want > 0, len(paths) == 1, "%s: %v", key, paths)
	}
	assert.Equal(t, "thruster.*.test_a", k.keyOf("thruster.starboard.test_a"))
	assert.Empty(t, k.keyOf("name"))
}

// What was rebuilt is held to the dives since it was last worked on, within its era and before an instrument was replaced.
func TestWorkedOn(t *testing.T) {
	for _, c := range []struct {
		services map[int][]string
		want     int
		judged   int
	}{
		{nil, 3, 5}, {map[int][]string{5: {"joint"}}, 5, 3}, {map[int][]string{4: {"tether"}, 6: {"seal", "joint"}}, 6, 2}, {map[int][]string{5: {"camera"}}, 3, 5}, {map[int][]string{1: {"joint"}, 8: {"joint"}}, 3, 5},
		{map[int][]string{6: {"clamp"}}, 3, 3}, {map[int][]string{4: {"clamp"}, 6: {"joint"}}, 6, 0}, {map[int][]string{2: {"clamp"}, 8: {"tape"}}, 3, 5},
	} {
		r, _ := asBelieved(t, "hull.trim_g", 0, 1)
		r.Space = priors.New(r.Model, priors.Log{})
		r.Eras = append(r.Eras, vehicle.Era{First: 3, Vehicle: r.Model.Vehicle}, vehicle.Era{First: 8, Vehicle: r.Model.Vehicle})
		for d := range 10 {
			era := 0
			if d >= 3 {
				era = 1 + d/8
			}
			r.Dives = append(r.Dives, fit.DiveFit{Era: era, Log: &session.Dive{Lines: []session.Line{{}, {Serviced: c.services[d]}}}})
		}
		assert.Equal(t, c.want, workedOn(r, 1, []string{"tether.length_m"}), "%v", c.services)
		assert.Len(t, divesToJudge(r, 1, []string{"tether.length_m"}), c.judged, "%v", c.services)
	}
}

// A dive of three or more is odd where it lies farther from the others than 3.5 times what sound dives scatter by and what is
// not known of it; one that contradicts itself is told as that.
func TestOddDives(t *testing.T) {
	v := vehicle.Example()
	m := predict.NewModel(v)
	sp := priors.New(m, priors.Log{})
	at := sp.Place[predict.TrimG]
	scatter := sp.Known(at).Scatter
	with := func(dives int, mean, variance float64) *fit.Result {
		r := &fit.Result{Model: m, Baseline: dives, Noise: instrument.NewNoise(v), Calibrated: mixture.Calibrated{Space: sp, SoundOffset: make([]float64, len(sp.Static))}}
		for i := range dives {
			d := fit.DiveFit{Summary: &fit.Summary{}, Departures: make([]normal.Normal, len(sp.All)),
				Log: &session.Dive{Label: string(rune('1' + i))}}
			r.Dives = append(r.Dives, d)
		}
		r.SoundOffset[sp.InStatic[at]] = 5
		for i := range dives {
			r.Dives[i].Departures[at].Mean = 5
		}
		r.Dives[1].Departures[at] = normal.Normal{Mean: mean, Variance: variance}
		return r
	}
	off := fit.FarOut * math.Hypot(scatter, 30)
	assert.Empty(t, oddDives(with(3, 5-0.99*off, 900)))
	assert.Empty(t, oddDives(with(2, 5-1.01*off, 900)))
	got := oddDives(with(3, 5-1.01*off, 900))
	require.Len(t, got, 1)
	assert.Equal(t, 1, got[0].Dive)
	assert.Regexp(t, `^dive 2 differs from the other dives of the baseline: .* \d+ g; is that dive to count as sound\?$`, got[0].Text)
	two := with(4, 5-1.01*off, 900)
	two.Dives[3].Departures[at] = normal.Normal{Mean: 5 + 1.01*off, Variance: 900}
	got = oddDives(two)
	require.Len(t, got, 1, "one note of what they differ by")
	assert.Equal(t, 1, got[0].Dive)
	assert.Regexp(t, `^dives 2, 4 of the baseline differ from each other: water taken in \d+, -\d+ g; what changed between them, and which are to count as sound\?$`, got[0].Text)
	two.Dives[3].Summary.Contradicts = true
	require.Len(t, oddDives(two), 2)
	assert.Contains(t, oddDives(two)[0].Text, "dive 4 of the baseline contradicts itself")
	assert.Contains(t, oddDives(two)[1].Text, "dive 2 differs from the other dives")
	r := with(2, 5, 900)
	for leftOut, so := range map[bool]string{true: "count for next to nothing", false: "so do all others"} {
		r.Dives[0].Summary.Contradicts, r.Dives[0].Summary.LeftOut = true, leftOut
		got := oddDives(r)
		require.Len(t, got, 1)
		assert.Contains(t, got[0].Text, so)
		assert.Contains(t, got[0].Text, "dive 1 of the baseline contradicts itself")
	}
}
