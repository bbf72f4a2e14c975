package fit

import (
	"math"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/mixture"
	"sagline/predict/normal"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// ofExample is the fit of an example, which tests leave as it is.
var ofExample = sync.OnceValue(func() *Result {
	v, err := vehicle.Open("../../examples/sound")
	if err != nil {
		panic(err)
	}
	log, err := session.Open("../../examples/sound")
	if err != nil {
		panic(err)
	}
	log.Dives = log.Dives[:9]
	r, err := Fit(v, log)
	if err != nil {
		panic(err)
	}
	return r
})

// Dives of one day share the clamp meter's zero, which differs from day to day by 0.05 A or by as much as dives show: as many of them
// tell its level as one would. A dive alone on its day, or without a day, has what dives show.
func TestZeroOfDay(t *testing.T) {
	r := *ofExample()
	r.Dives = slices.Clone(r.Dives)
	assert.Equal(t, 1, r.Dives[7].OfDay)
	at := r.ScatterAt(r.Space.Place[predict.ClampZeroA])
	all := r.expectedScatter()
	for _, c := range []struct {
		dives     int
		was, want float64
	}{{1, 0.02, 0.02}, {0, 0.02, 0.02}, {4, 0.02, 0.1}, {4, 0.08, 0.16}} {
		r.Dives[7].OfDay, all[at] = c.dives, sq(c.was)
		got := r.VarianceIn(7, Sound{Variance: all})
		assert.InDelta(t, c.want, math.Sqrt(got[at]), 1e-12, "%+v", c)
		assert.Equal(t, all[0], got[0])
	}
	v, log := vehicle.Example(), &session.Log{}
	for _, day := range []string{"2026-05-02", "", "2026-05-03", "2026-05-03", "2026-05-03", ""} {
		date, _ := time.Parse(time.DateOnly, day)
		log.Dives = append(log.Dives, session.Dive{Date: date, Lines: make([]session.Line, 1)})
	}
	u, err := Unfitted(v, log)
	require.NoError(t, err)
	for d, want := range []int{1, 1, 3, 3, 3, 1} {
		assert.Equal(t, want, u.Dives[d].OfDay)
	}
}

// A rest voltage z standard deviations from what dives begin with as a rule scatters as one of Student's t of two degrees of freedom,
// (2 + z²)/3 times as much, never less; what else scatters stays, and a dive of the baseline has what it was widened by besides.
func TestVarianceIn(t *testing.T) {
	r := *ofExample()
	r.Dives = slices.Clone(r.Dives)
	at := r.ScatterAt(r.Space.Place[predict.OpenCircuitV])
	all := r.expectedScatter()
	const usual = 0.4
	for z2, want := range map[float64]float64{0: 1, 0.9: 1, 1: 1, 4: 2, 10: 4} {
		r.Dives[7].rest = normal.Normal{Variance: 0.25 * all[at]}
		r.Dives[7].rest.Mean = usual - math.Sqrt(z2*1.25*all[at])
		got := r.VarianceIn(7, Sound{Variance: all, Rests: map[string]float64{r.Dives[7].Battery: usual}})
		for i := range all {
			if i == at {
				assert.InEpsilon(t, want*all[i], got[i], 1e-9, "z² = %g", z2)
			} else {
				assert.Equal(t, all[i], got[i])
			}
		}
	}
	r.Dives[7].rest = normal.Normal{Mean: r.mostRest(), Variance: 0}
	most := r.VarianceIn(7, Sound{Variance: all})[at]
	assert.Greater(t, most, all[at])
	r.Dives[7].rest.Mean += 1
	assert.Equal(t, most, r.VarianceIn(7, Sound{Variance: all})[at], "no battery's charge")
	r.Dives[7].rest.Mean = -r.mostRest() - 1
	assert.Greater(t, r.VarianceIn(7, Sound{Variance: all})[at], most, "but one that is low may be ever so low")
	assert.Equal(t, all[at], r.VarianceIn(7, Sound{Variance: all, Rests: map[string]float64{r.Dives[7].Battery: r.Dives[7].rest.Mean}})[at])
	high := r.mostRest() + 2
	r.Dives[7].rest.Mean = high
	assert.Equal(t, all[at], r.VarianceIn(7, Sound{Variance: all, Rests: map[string]float64{r.Dives[7].Battery: high}})[at], "what it usually has is not too much")
	wide := slices.Clone(all)
	wide[3] += 7
	r.Dives[2].scatter = slices.Clone(wide)
	assert.InDeltaSlice(t, wide, r.VarianceIn(2, Sound{Variance: all}), 1e-9)
	wide[0] *= 4
	assert.InDeltaSlice(t, wide, r.VarianceIn(2, Sound{Variance: append([]float64{4 * all[0]}, all[1:]...)}), 1e-9)
}

// What dives begin with as a rule is what most of a battery's do, of the last hundred; some that were charged by half do not move it
// by a quarter of what they scatter.
func TestUsualRests(t *testing.T) {
	r := *ofExample()
	all := r.expectedScatter()
	sd := math.Sqrt(all[r.ScatterAt(r.Space.Place[predict.OpenCircuitV])])
	of := func(battery string, sds ...float64) {
		for _, x := range sds {
			r.Dives = append(r.Dives, DiveFit{Battery: battery, rest: normal.Normal{Mean: x * sd, Variance: 0.01 * sd * sd}})
		}
	}
	r.Dives = nil
	of("old", slices.Repeat([]float64{5}, 120)...)
	of("old", 0.2, -0.2, 0, -8, -8, 0.1, -0.1, -8, 0)
	of("new", 3, 3.2, 2.8, 3, 12)
	got := r.TypicalRests(120, all)
	assert.InDelta(t, 5*sd, got["old"], 1e-9)
	assert.NotContains(t, got, "new")
	r.Dives = r.Dives[120:]
	got = r.TypicalRests(len(r.Dives), all)
	assert.InDelta(t, 0, got["old"], 0.25*sd)
	assert.InDelta(t, 3*sd, got["new"], 0.25*sd)
	r.Dives = nil
	of("old", slices.Repeat([]float64{5}, 120)...)
	of("old", slices.Repeat([]float64{0}, 101)...)
	assert.InDelta(t, 0, r.TypicalRests(len(r.Dives), all)["old"], 1e-9, "the last hundred")
}

// Batteries of one vehicle differ in resistance and in rest voltage: a dive on another says nothing of either.
func TestOtherBattery(t *testing.T) {
	r := ofExample()
	var of []int
	for _, f := range r.OtherBattery() {
		k := r.Space.All[f.Place]
		of = append(of, k)
		assert.Equal(t, max(r.Space.Of[k].Prior, r.Space.Of[k].Fault), f.SD, "as far as its file leaves open, or as an old one lies")
	}
	space := *r.Space
	space.Of = slices.Clone(space.Of)
	space.Of[predict.BatteryOhm].Prior, space.Of[predict.BatteryOhm].Fault = 0.01, 0.05
	space.Of[predict.OpenCircuitV].Prior, space.Of[predict.OpenCircuitV].Fault = 0.4, 0.1
	other := *r
	other.Space = &space
	for _, f := range other.OtherBattery() {
		assert.Equal(t, map[int]float64{predict.BatteryOhm: 0.05, predict.OpenCircuitV: 0.4}[space.All[f.Place]], f.SD)
	}
	assert.ElementsMatch(t, []int{predict.BatteryOhm, predict.OpenCircuitV}, of)
}

// What a jam leaves as it is, and the resistance of the motor that stands, are where a dive's readings and what is known
// of them together are best explained, wherever the fit starts.
func TestFitBeside(t *testing.T) {
	r := ofExample()
	const i = 0
	ohm := predict.OfThruster(i, predict.BranchOhm)
	d := r.Dives[7].d
	d.cells, d.obs = slices.Clone(d.cells), slices.Clone(d.obs)
	f := &diver{baseline: r.Models[0], m: r.Models[0], sp: r.Space, free: r.Free, base: r.Base, origin: r.Base, noise: r.Noise, scatter: r.expectedScatter(), sc: newScratch(r.Model.Dim(), len(d.cells))}
	truth := f.resting(&d)
	for k, by := range map[int]float64{ohm: 0.3, predict.OpenCircuitV: -0.5, predict.TrimG: -150} {
		truth[k] += by
	}
	f.jam(&d, i+1)
	d.predict(f.m, truth, perLine{}, f.sc, false)
	for k := range d.cells {
		d.cells[k].Value = f.sc.predicted.want[k]
	}
	for _, start := range []float64{0, -0.5, 0.4} {
		d.setAnew()
		at := f.resting(&d)
		at[ohm] += start
		require.NoError(t, f.fitBeside(&d, causes.Failure{Thruster: i + 1}, nil, at))
		assert.InDelta(t, truth[ohm], at[ohm], 0.02)
		assert.InDelta(t, truth[predict.OpenCircuitV], at[predict.OpenCircuitV], 0.02)
		assert.InDelta(t, truth[predict.TrimG], at[predict.TrimG], 5)
		assert.InDelta(t, priors.SagMean, at[predict.SagVPerMinute], 0.1*r.Space.Of[predict.SagVPerMinute].Prior)
		for k := range at {
			if k != ohm && !leaves(k) {
				assert.Equal(t, truth[k], at[k], "parameter %d", k)
			}
		}
	}
}

// Of one voltage alone the battery's sag stays as is usual, and what no reading tells as it was known.
func TestFitBesideOfOneVoltage(t *testing.T) {
	r := ofExample()
	const i = 0
	d := r.Dives[7].d
	last := slices.IndexFunc(d.cells, func(c Cell) bool { return c.Quantity == quantity.BatteryV && d.obs[c.obs].Cond.Minute > 10 })
	d.cells = []Cell{d.cells[last]}
	d.cells[0].Value -= 0.08
	f := &diver{baseline: r.Models[0], m: r.Models[0], sp: r.Space, free: r.Free, base: r.Base, origin: r.Base, noise: r.Noise, scatter: r.expectedScatter(), sc: newScratch(r.Model.Dim(), 1)}
	at := f.resting(&d)
	at[predict.OfThruster(i, predict.BranchOhm)] += 0.3
	require.NoError(t, f.fitBeside(&d, causes.Failure{Thruster: i + 1}, nil, at))
	assert.InDelta(t, -0.08, at[predict.OpenCircuitV]-d.rest, 0.05)
	assert.InDelta(t, priors.SagMean, at[predict.SagVPerMinute], 0.2*r.Space.Of[predict.SagVPerMinute].Prior)
	assert.InDelta(t, f.base[predict.TrimG], at[predict.TrimG], 1e-3)
}

// A baseline dive's battery has the resistance that all have and its own, wherever the fit was expanded; the base moves to
// the mean of the dives, and what is usual is known from there.
func TestSettle(t *testing.T) {
	at := predict.BatteryOhm
	m := predict.NewModel(vehicle.Example())
	sp := &priors.Space{All: []int{at}, Static: []int{0}, Scatter: []int{0}, InStatic: []int{0}, Place: slices.Repeat([]int{-1}, predict.FirstThruster)}
	sp.Place[at] = 0
	r := &Result{Model: m, Base: m.NewParams(), Baseline: 2, Calibrated: mixture.Calibrated{Space: sp}, Dives: make([]DiveFit, 2)}
	for b := range r.Dives {
		q := normal.Quadratic{Info: mat.NewSymDense(1, []float64{1}), Lin: []float64{0}}
		r.Dives[b].Summary = &Summary{Firm: q}
	}
	r.Base[at] = -0.002
	r.recentre(mat.NewSymDense(3, []float64{1e-6, 0, 0, 0, 4e-6, 0, 0, 0, 4e-6}), mat.NewVecDense(3, []float64{0.01, 0.004, -0.001}))
	assert.InDelta(t, -0.002+0.01+0.0015, r.Base[at], 1e-12)
	assert.InDelta(t, -0.0015, r.SoundOffset[0], 1e-12)
	assert.InDelta(t, -0.002+0.01+0.004, r.Dives[0].Departures[0].Mean, 1e-12)
	assert.InDelta(t, -0.002+0.01-0.001, r.Dives[1].Departures[0].Mean, 1e-12)
	assert.InDelta(t, 5e-6, r.Dives[0].Departures[0].Variance, 1e-12)
	assert.InDelta(t, 1e-6+2*4e-6/4, r.Cov.At(0, 0), 1e-12)
	assert.InDelta(t, 2*4e-6/4, r.Apart[0], 1e-12)
}

// What trends begin with: each later dive's voltage at rest.
func TestKeptForTrends(t *testing.T) {
	r := ofExample()
	d := &r.Dives[7]
	assert.InDelta(t, d.Summary.Fitted[predict.OpenCircuitV]-r.Base[predict.OpenCircuitV], d.rest.Mean, 0.05)
	assert.Greater(t, d.rest.Variance, 1e-6)
}

// A dive's own departure is shown as it is, of the battery with what a sound one has, as it was in the dive's cold, and as
// far as recovery leaves it open.
func TestDeparture(t *testing.T) {
	r := *ofExample()
	r.Dives, r.Base = slices.Clone(r.Dives), slices.Clone(r.Base)
	own := make([]normal.Normal, len(r.Space.All))
	own[r.Space.Place[predict.LoopOhm]], own[r.Space.Place[predict.BatteryOhm]] = normal.Normal{Mean: 0.1, Variance: 4e-4}, normal.Normal{Mean: 0.004, Variance: 1e-6}
	r.Dives[7].Departures, r.Dives[7].raised, r.Base[predict.BatteryPerK] = own, []raise{{predict.BatteryPerK, 10}}, 0.012
	loop, battery := r.Departure(7, predict.LoopOhm), r.Departure(7, predict.BatteryOhm)
	assert.InDelta(t, 0.1, loop.Value, 1e-12)
	assert.InDelta(t, 0.02, loop.SD, 1e-12)
	assert.InDelta(t, 0.1-1.959964*0.02, loop.Low, 1e-6)
	assert.InDelta(t, 1.12*(r.Model.Vehicle.Battery.ResistanceOhm+0.004), battery.Value, 1e-12)
	assert.InDelta(t, math.Hypot(1.12e-3, recoveryOhm), battery.SD, 1e-12)
}

// A battery's resistance is known at the charge of the baseline's dives; a dive without a voltage at rest tells none.
func TestSpend(t *testing.T) {
	r := ofExample()
	f := fitting{r: &Result{Models: r.Models, Model: r.Model, Dives: make([]DiveFit, 4), Baseline: 2}}
	b := &r.Model.Vehicle.Battery
	f.matched = make([]dive, 4)
	for i, charge := range []float64{0.9, 0.7, 0.3, 1} {
		f.matched[i] = dive{rest: b.RestAt(charge), unrested: i == 3, obs: make([]observation, 2)}
	}
	f.setSpentCharge()
	for i, want := range []float64{-0.1, 0.1, 0.5, 0} {
		for k := range f.matched[i].obs {
			assert.InDelta(t, want, f.matched[i].obs[k].Cond.Spent, 1e-9, "dive %d", i)
		}
	}
	assert.InDelta(t, 0.8, f.r.Charge, 1e-9)
}

// A battery's resistance is told as it was in a dive's cold: what the calibration has, what the dive adds, and what is not
// known of either, nor of how the cold raises it.
func TestResistanceInTheCold(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	r := &Result{Model: m, Base: m.NewParams(), Calibrated: mixture.New(priors.New(m, priors.Log{}))}
	r.Base[predict.BatteryOhm], r.Base[predict.BatteryPerK] = 0.002, 0.01
	sound := m.Vehicle.Battery.ResistanceOhm + 0.002
	d := &DiveFit{raised: []raise{{predict.BatteryPerK, 12}}}
	w, constant := r.formOf(d, predict.BatteryOhm, m.Vehicle.Battery.ResistanceOhm, r.raisedBy(d), &r.Calibrated, &Since{})
	own, kept := w[:len(r.Free)], w[len(r.Free):]
	assert.InDelta(t, 1.12*sound, constant, 1e-9)
	assert.InDelta(t, 1.12, own[slices.Index(r.Free, r.Space.Place[predict.BatteryOhm])], 1e-12)
	for i, want := range map[int]float64{predict.BatteryOhm: 1.12, predict.BatteryPerK: 12 * sound, predict.LogInsulation: 0, predict.BatteryPerSpent: 0} {
		assert.InDelta(t, want, kept[slices.Index(r.Keep, r.Space.InStatic[r.Space.Place[i]])], 1e-9)
	}
	// what sound batteries scatter in there; against the warm value alone four of fifteen sound dives were "explained by battery resistance"
	const sd = 0.001
	r.Dives, r.learnt = []DiveFit{*d}, make([]float64, len(r.Space.Scatter))
	r.learnt[r.ScatterAt(r.Space.Place[predict.BatteryOhm])] = sq(sd)
	assert.InDelta(t, 1.12*sound, r.SoundIn(0, predict.BatteryOhm, &Since{}).Value, 1e-12)
	assert.InDelta(t, 1.12*sd, r.SoundIn(0, predict.BatteryOhm, &Since{}).SD, 1e-12)
	anew := &Since{Posterior: Posterior{Params: []int{predict.LoopOhm, predict.BatteryOhm}, Sound: []float64{0.5, 0.004}}, Anew: []float64{0.3, 0.002}}
	assert.InDelta(t, 1.12*(sound+0.004), r.SoundIn(0, predict.BatteryOhm, anew).Value, 1e-12)
	assert.InDelta(t, 0.3, r.SoundIn(0, predict.LoopOhm, anew).Value, 1e-12)
	assert.Zero(t, r.SoundIn(0, predict.LoopOhm, &Since{}).Value)
}

// A battery of which the file says nothing has as its limit twice what its first dives have, and never less than twice the least
// that is usual, as where their readings leave it none.
func TestLimitBattery(t *testing.T) {
	const file = `name = "tub"
[battery]
nominal_v = 12
[tether]
length_m = 20
[tether.power]
area_mm2 = 1.5
[[thruster]]
name = "port"
axis = "surge"
`
	for _, c := range []struct {
		beside, sd float64 // the guess
		least      bool
	}{{0.1, 0, false}, {-0.001, 0, false}, {-0.001, 0.01, false}, {-1, 0.01, true}} {
		v, err := vehicle.Read(strings.NewReader(file), vehicle.FileName)
		require.NoError(t, err)
		m := predict.NewModel(v)
		r := &Result{Baseline: 5, Base: m.NewParams(), Models: []*predict.Model{m}, SoundCov: mat.NewSymDense(1, []float64{sq(c.sd)})}
		r.Space = &priors.Space{Place: make([]int, m.Dim()), InStatic: []int{0}}
		r.Base[predict.BatteryOhm] = c.beside
		want := v.Battery.ResistanceOhm + c.beside + 1.96*c.sd
		if c.least {
			want = v.Belief("battery.resistance_ohm").Low
		}
		r.limitBattery()
		assert.InEpsilon(t, 2*want, v.Limits.BatteryResistanceOhm, 1e-3)
		assert.Positive(t, want)
	}
}
