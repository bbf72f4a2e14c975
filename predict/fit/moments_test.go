package fit

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/circumstances"
	"sagline/predict/instrument"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// A fault may change a reading by a third of it, a rested battery's voltage by a fifth of that, and a loop by as much as a bad
// joint has.
func TestByFault(t *testing.T) {
	f := &diver{sp: &priors.Space{Of: make([]priors.Parameter, predict.FirstThruster)}}
	f.sp.Of[predict.LoopOhm].Fault = 0.4
	for q, want := range map[quantity.Quantity]float64{quantity.CurrentA: 3, quantity.VehicleV: 3, quantity.BatteryV: 0.6, quantity.LoopOhm: math.Hypot(3, 0.4), quantity.Trim: math.Inf(1), quantity.Climb: math.Inf(1)} {
		assert.InEpsilon(t, 1/want+1, 1/f.byFault(&Cell{Quantity: q}, 10)+1, 1e-12, "%v", q)
		assert.InEpsilon(t, 1/want+1, 1/f.byFault(&Cell{Quantity: q}, -10)+1, 1e-12, "%v", q)
	}
}

// A dive that is set anew counts as before any fit.
func TestSetAnew(t *testing.T) {
	d := dive{cells: []Cell{{Value: 12, SD: 0.1, rounded: 0.03, Outlier: true, slip: true, weight: 0.3, inexact: 0.2, noisier: 2, stream: true}}}
	d.setAnew()
	assert.Equal(t, []Cell{{Value: 12, SD: 0.1, rounded: 0.03, weight: 1, stream: true}}, d.cells)
}

// The evidence of hover weights and climbs is the integral, summed up here, over a change of buoyancy that is sound
// scatter or, in a tenth of dives, a cause's.
func TestHoverEvidence(t *testing.T) {
	const scatter, fault = 6.0, 40.0
	f := &diver{sp: &priors.Space{Of: make([]priors.Parameter, predict.FirstThruster), Place: make([]int, predict.FirstThruster)}}
	f.sp.Of[predict.TrimG] = priors.Parameter{Scatter: scatter, Fault: fault}
	for _, hovers := range [][]hovering{
		{{apart: 3, perG: 1, sd: 4}, {apart: 0.001, perG: 2e-4, sd: 0.003}},
		{{apart: -70, perG: 1, sd: 4}, {apart: -0.012, perG: 2e-4, sd: 0.003}},
		{{apart: -70, perG: 1, sd: 4}, {apart: 0.002, perG: 2e-4, sd: 0.003}},
	} {
		sum := 0.0
		for _, k := range []struct{ variance, p float64 }{{scatter * scatter, 0.9}, {scatter*scatter + fault*fault, 0.1}} {
			for g := -400.0; g < 400; g += 0.02 {
				log := -0.5 * g * g / k.variance
				for _, h := range hovers {
					log -= 0.5 * sq((h.apart-g*h.perG)/h.sd)
				}
				sum += k.p * 0.02 * math.Exp(log) / math.Sqrt(2*math.Pi*k.variance)
			}
		}
		assert.InDelta(t, math.Log(sum), f.hoverEvidence(hovers), 1e-5)
	}
}

// The same where water may come in within the dive too, by either cause and not by both.
func TestHoverEvidenceWithinTheDive(t *testing.T) {
	const scatter, fault, later, faultLater = 6.0, 40.0, 3.0, 50.0
	f := &diver{sp: &priors.Space{Of: make([]priors.Parameter, predict.FirstThruster), Place: make([]int, predict.FirstThruster)}}
	f.sp.Of[predict.TrimG] = priors.Parameter{Scatter: scatter, Fault: fault}
	f.sp.Of[predict.WithinDiveG] = priors.Parameter{Scatter: later, Fault: faultLater}
	for _, hovers := range [][]hovering{
		{{apart: 3, perG: 1, sd: 4}, {apart: -60, perG: 1, later: 1, sd: 5}},
		{{apart: -40, perG: 1, sd: 4}, {apart: -45, perG: 1, later: 0.5, sd: 5}},
		{{apart: 3, perG: 1, sd: 4}, {apart: 1, perG: 1, later: 1, sd: 5}},
	} {
		sum := 0.0
		for _, k := range []struct{ sd, sdLater, p float64 }{{scatter, later, 0.9}, {math.Hypot(scatter, fault), later, 0.1}, {scatter, math.Hypot(later, faultLater), 0.1}} {
			for g := -250.0; g < 250; g += 0.5 {
				for x := -250.0; x < 250; x += 0.5 {
					log := -0.5*sq(g/k.sd) - 0.5*sq(x/k.sdLater)
					for _, h := range hovers {
						log -= 0.5 * sq((h.apart-g*h.perG-x*h.later)/h.sd)
					}
					sum += k.p * 0.25 * math.Exp(log) / (2 * math.Pi * k.sd * k.sdLater)
				}
			}
		}
		assert.InDelta(t, math.Log(sum), f.hoverEvidence(hovers), 1e-3)
	}
}

// preset is a dive of readings of the current on some lines, whose model says want of each, with slopes in one parameter.
func preset(param int, sd float64, byLine [][]float64, want, slope float64) (*dive, *scratch, *instrument.Noise, predict.Params) {
	const dim = predict.FirstThruster
	d := &dive{obs: make([]observation, len(byLine))}
	for k, values := range byLine {
		for _, x := range values {
			d.cells = append(d.cells, Cell{Line: &session.Line{}, Quantity: quantity.CurrentA, Value: x, SD: sd, obs: k, weight: 1})
		}
	}
	sc, p := newScratch(dim, len(d.cells)), make(predict.Params, dim)
	sc.predicted.d, sc.predicted.p, sc.predicted.sloped = d, p, true
	for k := range d.cells {
		sc.predicted.want[k] = want
		clear(sc.predicted.slope[k])
		sc.predicted.slope[k][param] = slope
	}
	n := &instrument.Noise{}
	n.Stated[quantity.CurrentA], n.Factor[quantity.CurrentA] = sd, 1
	return d, sc, n, p
}

// A residual beyond 2.5 standard deviations counts less, beyond 6 not at all, a slip's beyond 2.5 not either; what a line
// does not give widens them.
func TestReweigh(t *testing.T) {
	for _, c := range []struct {
		z, weight     float64
		outlier, slip bool
		unknown       float64
	}{
		{0, 1, false, false, 0}, {2.4, 1, false, false, 0}, {2.6, 2.5 / 2.6, false, false, 0}, {-5.9, 2.5 / 5.9, false, false, 0}, {6.1, 2.5 / 6.1, true, false, 0},
		{2.4, 1, false, true, 0}, {-2.6, 2.5 / 2.6, true, true, 0}, {8, 2.5 / (8 / math.Sqrt2), false, false, 0.1}, // a slope of 2 and 0.1 of it are as much again
	} {
		d, sc, n, p := preset(predict.LoopOhm, 0.2, [][]float64{{10 + 0.2*c.z}}, 10, 2)
		d.cells[0].slip, d.cells[0].Outlier = c.slip, c.slip
		if c.unknown > 0 {
			d.obs[0].Unknown = []circumstances.Unknown{{Param: predict.LoopOhm, Line: c.unknown}}
		}
		changed := d.reweigh(nil, n, p, perLine{}, sc)
		assert.InDelta(t, c.weight, d.cells[0].weight, 1e-12, "%+v", c)
		assert.Equal(t, c.outlier, d.cells[0].Outlier, "%+v", c)
		assert.Equal(t, c.weight < 0.98 || c.outlier != c.slip, changed, "%+v", c)
		assert.False(t, d.reweigh(nil, n, p, perLine{}, sc), "once more changes nothing")
	}
}

// A dive of the baseline that lies far out is no scatter, unless its departure is tied to a level that the other dives leave
// open: then it may be the vehicle's.
func TestWiden(t *testing.T) {
	const scatter, fault = 1.0, 20.0
	for name, c := range map[string]struct {
		x, variance, tied float64 // the departure, its variance, its covariance with the level, whose variance is 1
		want              bool
	}{
		"far":               {5, 0.5, 0, true},
		"far below":         {-5, 0.5, 0, true},
		"near":              {2, 0.5, 0, false},
		"far, but tied":     {5, 0.9, 0.9, false},
		"far, little tied":  {5, 0.5, 0.3, true},
		"no reading of it":  {50, 1, 0, false},
		"of what is normal": {5, 0.5, 0, false},
	} {
		sp := &priors.Space{Of: make([]priors.Parameter, predict.FirstThruster), Place: slices.Repeat([]int{-1}, predict.FirstThruster), Static: []int{3, 7}}
		sp.Of[predict.TrimG] = priors.Parameter{Scatter: scatter, Fault: fault, Normal: name == "of what is normal"}
		sp.Place[predict.TrimG] = 7
		k := &calibration{sp: sp, perDive: []int{predict.TrimG}, each: 2, shared: 2, variance: [][]float64{{scatter}}}
		cov := mat.NewSymDense(4, nil)
		cov.SetSym(0, 0, c.variance)
		cov.SetSym(2, 2, 1)
		cov.SetSym(3, 3, 1)
		cov.SetSym(0, 3, c.tied)
		assert.Equal(t, c.want, k.inflateOutlying([]float64{c.x, 0, 0, 0}, cov), name)
		want := scatter
		if c.want {
			want += sq(fault)
		}
		assert.Equal(t, want, k.variance[0][0], name)
		assert.False(t, k.inflateOutlying([]float64{c.x, 0, 0, 0}, cov), "once more changes nothing")
		assert.False(t, k.inflateOutlying([]float64{c.x, 0, 0, 0}, nil), "of a fit without covariance nothing is known")
	}
}

// Dives that were widened are a step where they are the baseline's first or last, two and more as the others are, and
// lie as one.
func TestStepped(t *testing.T) {
	const scatter, fault = 1.0, 20.0
	for name, c := range map[string]struct {
		wide []int
		x    []float64
		want bool
	}{
		"the last two":       {[]int{3, 4}, []float64{0, 0, 0, 9, 10}, true},
		"hardly known":       {[]int{3, 4}, []float64{0, 0, 0, 7, 7}, false}, // the posterior variances are 9
		"known":              {[]int{3, 4}, []float64{0, 0, 0, 7, 7}, true},
		"the first two":      {[]int{0, 1}, []float64{9, 10, 0, 0, 0}, true},
		"the last alone":     {[]int{4}, []float64{0, 0, 0, 0, 10}, false},
		"but the first":      {[]int{1, 2, 3, 4}, []float64{0, 9, 9, 9, 9}, false},
		"in the middle":      {[]int{2, 3}, []float64{0, 0, 9, 10, 0}, false},
		"not next to it":     {[]int{0, 4}, []float64{9, 0, 0, 0, 9}, false},
		"apart":              {[]int{3, 4}, []float64{0, 0, 0, 9, -9}, false},
		"apart by a little":  {[]int{3, 4}, []float64{0, 0, 0, 9, 12}, true},
		"apart by more":      {[]int{3, 4}, []float64{0, 0, 0, 9, 14}, false},
		"the others apart":   {[]int{3, 4}, []float64{-2, 2, 0, 10, 10}, false},
		"none":               {nil, []float64{0, 0, 0, 0, 0}, false},
		"two of four of all": {[]int{2, 3}, []float64{0, 0, 9, 9}, true},
	} {
		o := diveScatter{p: &priors.Parameter{Scatter: scatter, Fault: fault}, cov: mat.NewSymDense(len(c.x), nil), x: c.x, at: func(b int) int { return b }}
		for b := range c.x {
			o.variance = append(o.variance, []float64{scatter})
			if name == "hardly known" {
				o.cov.SetSym(b, b, 9)
			}
		}
		for _, b := range c.wide {
			o.variance[b][0] += sq(fault)
		}
		assert.Equal(t, c.want, o.stepped(), name)
		o.deflate()
		for _, v := range o.variance {
			assert.Equal(t, []float64{scatter}, v, name)
		}
	}
}

// Of dives that lie apart the one farthest from the others is widened alone, and with that the next may not be.
func TestWidenOneAtATime(t *testing.T) {
	o := diveScatter{p: &priors.Parameter{Scatter: 1, Fault: 20}, cov: mat.NewSymDense(3, nil), x: []float64{-5, 9, -4}, shared: -1, variance: [][]float64{{1}, {1}, {1}}, at: func(b int) int { return b }}
	assert.True(t, o.inflate())
	assert.Equal(t, [][]float64{{1}, {401}, {1}}, o.variance)
}

// By how much a parameter that scatters from line to line explains a dive better: normal densities about a level that is
// open, summed up here.
func TestWithin(t *testing.T) {
	const sd, slope = 0.2, -2.0
	lines := [][]float64{{10.1, 9.8}, {9.1}, {10.6, 10.5, 10.8}}
	d, sc, _, p := preset(predict.LoopOhm, sd, lines, 10, slope)
	sums := func(within float64) float64 {
		total, step := 0.0, 0.0005
		for level := -3.0; level < 3; level += step {
			log := 0.0
			for _, values := range lines {
				n, mean := float64(len(values)), 0.0
				for _, x := range values {
					mean += (x - 10) / n / slope
				}
				v := sq(sd/slope)/n + sq(within)
				log -= 0.5*math.Log(v) + 0.5*sq(mean-level)/v
			}
			total += step * math.Exp(log)
		}
		return math.Log(total)
	}
	for _, sizes := range [][]float64{{0.3}, {0.05, 0.1, 0.2}, {0.01}} {
		most := math.Inf(-1)
		for _, s := range sizes {
			most = max(most, sums(s)-sums(0))
		}
		assert.InDelta(t, most, d.lineScatterGain(nil, p, predict.LoopOhm, sizes, sc), 1e-6, "%v", sizes)
	}
}

// Lines contradict one another where a loop resistance that varies from line to line explains them far better, whichever line is left
// out, and a stream that comes from ahead and from astern in turn does not.
func TestDisagree(t *testing.T) {
	for name, c := range map[string]struct {
		z      []float64
		oneWay bool
		stream float64 // slope
		want   bool
	}{
		"alike":                 {[]float64{1, -1, 1, -1}, false, 0, false},
		"apart":                 {[]float64{9, -9, 9, -9}, false, 0, true},
		"but for one line":      {[]float64{20, 0, 0, 0}, false, 0, false},
		"a stream may be it":    {[]float64{9, -9, 9, -9}, true, 15, false},
		"of which nothing runs": {[]float64{9, -9, 9, -9}, false, 15, true},
		"that no reading feels": {[]float64{9, -9, 9, -9}, true, 0, true},
	} {
		lines := make([][]float64, len(c.z))
		for k, z := range c.z {
			lines[k] = []float64{10 + 0.2*z}
		}
		d, sc, _, p := preset(predict.LoopOhm, 0.2, lines, 10, 1)
		d.cells[1].Quantity, d.obs[1].Cond.OneWay = quantity.Speed, c.oneWay
		for k, z := range c.z {
			sc.predicted.slope[k][predict.StreamMS] = c.stream
			if math.Abs(z) > huber {
				d.cells[k].weight = huber / math.Abs(z)
			}
		}
		assert.Equal(t, c.want, d.disagree(nil, p, sc), name)
	}
}

// A battery's rest voltage may vary from line to line by 0.1, 0.3 or 1 % of its label, in a tenth of dives; a stream by 3, 10 or 20
// cm/s, in three of ten dives whose runs were timed one way. The middle size is tried first.
func TestUneven(t *testing.T) {
	v := vehicle.Example()
	v.Battery.NominalV = 16
	v.Battery.CapacityAh = 7
	f := &diver{m: predict.NewModel(v)}
	f.sc = newScratch(f.m.Dim(), 1)
	f.base = f.m.NewParams()
	d := &dive{cells: []Cell{{Quantity: quantity.Speed}}, obs: make([]observation, 1)}
	d.obs[0].Cond.Sign = make([]int8, 3)
	battery, stream := unevenness{predict.OpenCircuitV, []float64{0.048, 0.016, 0.16}, 0.1}, unevenness{predict.StreamMS, []float64{0.1, 0.03, 0.2}, 0.3}
	assert.Equal(t, []unevenness{battery}, f.uneven(d))
	d.obs[0].Cond.OneWay = true
	assert.Equal(t, []unevenness{battery, stream}, f.uneven(d))
	assert.Equal(t, []unevenness{battery, stream}, f.uneven(d), "the sizes stay shares")

	c := &d.obs[0].Cond
	c.Electrical, c.Held, c.Sign, c.WaterC, c.OneWay = true, true, []int8{1, 1, 0}, 15, false
	var pt predict.Point
	f.m.Solve(c, f.base, &pt, nil)
	for share, want := range map[float64]float64{0.4: 0.1, 0.5: 0.1, 0.75: 0.3, 1: 0.5, 2: 0.5} {
		c.Minute = share * 7 * 60 / pt.Out[quantity.CurrentA]
		assert.InDelta(t, want, f.uneven(d)[0].dives, 1e-9, "%g of the charge", share)
	}
}

// What only adds lies mostly above the sound level, by line at the end of each group of numbers, and no line far below it.
func TestBelowSound(t *testing.T) {
	for _, c := range []struct {
		x        float64
		lines    []float64
		per      int
		farthest float64
		want     bool
	}{
		{0.1, []float64{-0.1, 0.4}, 1, 9, false}, {-0.1, []float64{-0.1, 0.4}, 1, 9, false}, {-0.13, []float64{-0.1, 0.4}, 1, 9, true}, {-0.13, []float64{-0.1, 0.4}, 1, 0.2, true},
		{-0.1, []float64{-0.1, 0.4}, 1, 0.15, true}, {0, []float64{7, -0.1, 7, 0.4}, 2, 9, false}, {-0.3, []float64{7, -0.1, 7, 0.4}, 2, 9, true},
	} {
		assert.Equal(t, c.want, belowSound(c.x, c.lines, c.per, c.farthest), "%+v", c)
	}
}

// A battery that goes unevenly leaves its rest voltage open on each line; what else is unknown stays.
func TestSetUneven(t *testing.T) {
	depth := circumstances.Unknown{Param: predict.DepthM, Dive: 0.4, Line: 0.7}
	d := &dive{obs: []observation{{Circumstance: circumstances.Circumstance{Unknown: []circumstances.Unknown{depth}}}, {}}}
	d.setUneven(predict.OpenCircuitV, 0.1)
	d.setUneven(predict.OpenCircuitV, 0.04)
	assert.Equal(t, []circumstances.Unknown{depth, {Param: predict.OpenCircuitV, Line: 0.04}}, d.obs[0].Unknown)
	assert.Equal(t, []circumstances.Unknown{{Param: predict.OpenCircuitV, Line: 0.04}}, d.obs[1].Unknown)
	d.setUneven(predict.OpenCircuitV, 0)
	assert.Equal(t, []circumstances.Unknown{depth}, d.obs[0].Unknown)
	assert.Empty(t, d.obs[1].Unknown)
	assert.Empty(t, d.uneven)
}

// A jam draws more current than a sound thruster on the lines that run it, by the clamp meter, or by how far the battery
// falls where that was not read; no reading says so alone, and slips say nothing.
func TestDrawsMore(t *testing.T) {
	const amps, volts = quantity.CurrentA, quantity.BatteryV
	type reading struct {
		q    quantity.Quantity
		z    float64
		runs bool
		slip bool
	}
	for name, c := range map[string]struct {
		readings []reading
		want     bool
	}{
		"more":                 {[]reading{{amps, 5, true, false}}, true},
		"less":                 {[]reading{{amps, -5, true, false}}, false},
		"volts do not count":   {[]reading{{amps, -5, true, false}, {volts, -5, true, false}}, false},
		"nor do they excuse":   {[]reading{{amps, 5, true, false}, {volts, 5, true, false}}, true},
		"lower without clamp":  {[]reading{{volts, -5, true, false}}, true},
		"higher without clamp": {[]reading{{volts, 5, true, false}}, false},
		"no reading of either": {[]reading{{quantity.Pull, -5, true, false}}, true},
		"of other lines":       {[]reading{{amps, 5, false, false}, {volts, -5, false, false}}, false},
		"a low slip":           {[]reading{{amps, -5, true, true}, {amps, 1, true, false}}, true},
		"a high one may be it": {[]reading{{amps, 5, true, true}, {amps, -1, true, false}}, true},
		"one against two":      {[]reading{{amps, -90, true, false}, {amps, 4, true, false}, {amps, 4, true, false}}, true}, // bounded at 6
		"one for two":          {[]reading{{amps, 90, true, false}, {amps, -4, true, false}, {amps, -4, true, false}}, false},
		"volts, one for two":   {[]reading{{volts, -90, true, false}, {volts, 4, true, false}, {volts, 4, true, false}}, false},
		"a low slip of volts":  {[]reading{{volts, -5, true, true}, {volts, 1, true, false}}, true},
		"a high one is none":   {[]reading{{volts, 5, true, true}, {volts, 1, true, false}}, false},
		"volts, one of three":  {[]reading{{volts, 90, true, false}, {volts, -4, true, false}, {volts, -4, true, false}}, true},
	} {
		var lines [][]float64
		for _, x := range c.readings {
			lines = append(lines, []float64{10 + 0.2*x.z})
		}
		d, sc, _, p := preset(predict.LoopOhm, 0.2, lines, 10, 1)
		f := &diver{base: p, sc: sc}
		sc.predicted.p = f.resting(d)
		for k, x := range c.readings {
			d.cells[k].Quantity, d.cells[k].slip, d.obs[k].Cond.Sign = x.q, x.slip, []int8{0}
			if x.runs {
				d.obs[k].Cond.Sign[0] = -1
			}
		}
		assert.Equal(t, c.want, d.reads(0) && f.draws(d, causes.Failure{Thruster: 1}), name)
	}
}

// A pull that a failure leaves unexplained, and that is nearer to a sound thruster's than to what it leaves, says that it pushes: not
// one that the dive's own fit sets aside, nor another reading.
func TestPulls(t *testing.T) {
	for name, c := range map[string]struct {
		value       float64
		q           quantity.Quantity
		out, before bool
		want        bool
	}{
		"more":             {12, quantity.Pull, true, false, true},
		"less":             {8, quantity.Pull, true, false, false},
		"nearer to none":   {10.9, quantity.Pull, true, false, false},
		"as expected":      {12, quantity.Pull, false, false, false},
		"a slip all along": {12, quantity.Pull, true, true, false},
		"a speed":          {12, quantity.Speed, true, false, false},
	} {
		d, sc, _, p := preset(predict.LoopOhm, 0.2, [][]float64{{10}, {c.value}}, 10, 1)
		before := slices.Clone(d.cells)
		for k := range d.cells {
			d.cells[k].Quantity = c.q
		}
		d.cells[1].Outlier, before[1].Outlier = c.out, c.before
		assert.Equal(t, c.want, d.pulls(nil, p, before, []float64{10, 12}, sc), name)
	}
}

// Climbs that are as fast as a sound vehicle's say that a thruster pushes, unless it adds less than half of what drives them, or too
// little to tell: half of them at least, as any one may be a slip.
func TestClimbs(t *testing.T) {
	for name, c := range map[string]struct {
		values    []float64
		q         quantity.Quantity
		still, sd float64
		want      bool
	}{
		"as fast":         {[]float64{9, 10, 11}, quantity.Climb, 2, 0.2, true},
		"faster":          {[]float64{14}, quantity.Climb, 2, 0.2, true},
		"a little slower": {[]float64{8.1}, quantity.Climb, 2, 0.2, true},
		"slower":          {[]float64{7.9}, quantity.Climb, 2, 0.2, false},
		"one slip":        {[]float64{1, 10, 10}, quantity.Climb, 2, 0.2, true},
		"one fast":        {[]float64{2, 2, 10}, quantity.Climb, 2, 0.2, false},
		"sinks without":   {[]float64{10}, quantity.Climb, -3, 0.2, true},
		"adds a third":    {[]float64{10}, quantity.Climb, 6.7, 0.2, false},
		"adds over half":  {[]float64{10}, quantity.Climb, 4.9, 0.2, true},
		"within noise":    {[]float64{10}, quantity.Climb, 2, 4.1, false},
		"beyond noise":    {[]float64{10}, quantity.Climb, 2, 3.9, true},
		"a pull":          {[]float64{10}, quantity.Pull, 2, 0.2, false},
	} {
		d := &dive{}
		var sound, still []float64
		for _, x := range c.values {
			d.cells = append(d.cells, Cell{Quantity: c.q, Value: x, SD: c.sd})
			sound, still = append(sound, 10), append(still, c.still)
		}
		assert.Equal(t, c.want, d.climbs(sound, still), name)
	}
	assert.False(t, (&dive{}).climbs(nil, nil))
}

// A branch's resistance may differ in a dive, and from line to line and from reading to reading.
func TestDoubt(t *testing.T) {
	depth := circumstances.Unknown{Param: predict.DepthM, Dive: 0.4, Line: 0.7}
	d := &dive{obs: []observation{{Circumstance: circumstances.Circumstance{Unknown: []circumstances.Unknown{depth}}}}}
	ohm := predict.OfThruster(1, predict.BranchOhm)
	d.doubt(ohm, 0.3, 0.2)
	assert.Equal(t, []circumstances.Unknown{depth, {Param: ohm, Dive: 0.3, Line: 0.2, Cell: 0.2}}, d.obs[0].Unknown)
}

// Half of what the two ways of a timed run differ by is the stream, whatever else the vehicle does.
func TestTheStream(t *testing.T) {
	p := make(predict.Params, predict.FirstThruster)
	p[predict.StreamMS], p[predict.LogSpeed] = 0.2, 1
	c := Cell{Quantity: quantity.Speed, stream: true}
	assert.Equal(t, 0.2, c.expected(nil, p))
	slopes := slices.Repeat([]float64{7}, len(p))
	c.slopes(slopes, nil, nil)
	assert.Equal(t, 1.0, slopes[predict.StreamMS])
	slopes[predict.StreamMS] = 0
	assert.Equal(t, make([]float64, len(p)), slopes)
}

// A dive's cold is its lines' on average.
func TestBelowCold(t *testing.T) {
	d := &dive{}
	assert.Zero(t, d.belowCold())
	for _, celsius := range []float64{4, 9, 30} {
		d.obs = append(d.obs, observation{Circumstance: circumstances.Circumstance{Cond: predict.Condition{WaterC: celsius}}})
	}
	assert.Positive(t, predict.BelowCold(9))
	assert.InDelta(t, (predict.BelowCold(4)+predict.BelowCold(9)+predict.BelowCold(30))/3, d.belowCold(), 1e-12)
}

// What a line has of its own is of that line alone.
func TestPredictedPerLine(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	p := m.NewParams()
	p[predict.OpenCircuitV] = 12.6
	was := slices.Clone(p)
	d := &dive{obs: make([]observation, 3)}
	for k := range d.obs {
		d.obs[k].Cond.Sign = make([]int8, len(m.Vehicle.Thrusters))
		d.cells = append(d.cells, Cell{Quantity: quantity.BatteryV, obs: k})
	}
	sc := newScratch(m.Dim(), len(d.cells))
	d.predict(m, p, perLine{[]lineScatter{{predict.OpenCircuitV, 1}}, []float64{0.3, 0, -0.2}}, sc, false)
	assert.InDeltaSlice(t, []float64{12.9, 12.6, 12.4}, sc.predicted.want, 1e-9)
	assert.InDeltaSlice(t, was, p, 1e-12)
}

// A dive is tried as read with less care, half to three times as noisy, where that is likelier than not: one of a hundred dives is of each, and
// Huber's loss of its residuals falls by more than that and what wider normals cost. One reading far off is none.
func TestCarelessly(t *testing.T) {
	for name, c := range map[string]struct {
		z    []float64
		want []float64
	}{
		"as usual":        {slices.Repeat([]float64{1, -1}, 8), nil},
		"five of two":     {slices.Repeat([]float64{2}, 5), nil},
		"eight of two":    {slices.Repeat([]float64{2, -2}, 4), []float64{1.5, 2, 3}},  // 5.6, 6.5 and 5.4 nats against 4.6
		"twelve of 1.7":   {slices.Repeat([]float64{1.7, -1.7}, 6), []float64{1.5, 2}}, // 4.8, 4.7 and 2.2
		"one beyond 18":   {append(slices.Repeat([]float64{1}, 7), 19), nil},
		"many of five":    {slices.Repeat([]float64{5, -5}, 6), []float64{1.5, 2, 3}},
		"ten of thirteen": {slices.Repeat([]float64{13}, 10), []float64{3}}, // within 6 with the last alone
	} {
		lines := make([][]float64, len(c.z))
		for k, z := range c.z {
			lines[k] = []float64{10 + 0.2*z}
		}
		d, sc, _, p := preset(predict.LoopOhm, 0.2, lines, 10, 0)
		assert.Equal(t, c.want, d.carelessly(nil, p, sc), name)
	}
}

// What is compared by its logarithm has no decimal slip: a leak takes decades off an insulation.
func TestMarkSlips(t *testing.T) {
	for q, want := range map[quantity.Quantity]bool{quantity.CurrentA: true, quantity.Insulation: false} {
		d, sc, n, p := preset(predict.LoopOhm, 0.2, [][]float64{{10}, {100}}, 10, 0)
		n.Stated[q], n.Factor[q] = 0.2, 1
		for k := range d.cells {
			d.cells[k].Quantity = q
			d.cells[k].Value = instrument.OnScale(q, d.cells[k].Value)
		}
		m := predict.NewModel(vehicle.Example())
		sc.predicted.m = m
		d.markSlips(m, n, p, sc, func(*Cell, float64, []float64) float64 { return 0.5 })
		assert.Equal(t, []bool{false, want}, []bool{d.cells[0].slip, d.cells[1].slip}, "%v", q)
	}
}

// Readings of one dive may be copies where they are all the same.
func TestEqualReadings(t *testing.T) {
	d := &dive{cells: []Cell{{Value: 7}, {Value: 8}, {Value: 7}, {Value: 7}}}
	assert.True(t, d.equal([]int{0, 2, 3}))
	assert.True(t, d.equal([]int{1}))
	assert.False(t, d.equal([]int{0, 2, 1}))
	assert.False(t, d.equal([]int{1, 2, 3}))
}

// A dive is unexplained by a cell that counts and lies beyond 6 standard deviations from its fit, not by one that is set aside.
func TestUnexplained(t *testing.T) {
	for name, c := range map[string]struct {
		value float64
		out   bool
		want  bool
	}{"near": {11, false, false}, "far": {17, false, true}, "far below": {3, false, true}, "set aside": {17, true, false}, "near, set aside": {11, true, false}} {
		d, sc, _, p := preset(predict.LoopOhm, 0.2, [][]float64{{10}, {c.value}}, 10, 1)
		d.cells[1].Outlier = c.out
		assert.Equal(t, c.want, d.unexplained(nil, p, sc), name)
	}
}

// A stream is in the speed of a run that was timed one way, and in the difference of both ways of one; in no other reading.
func TestStreams(t *testing.T) {
	for name, c := range map[string]struct {
		cell            Cell
		oneWay          bool
		streams, turned bool
	}{
		"one way":             {Cell{Quantity: quantity.Speed}, true, true, true},
		"both ways":           {Cell{Quantity: quantity.Speed}, false, false, false},
		"what they differ by": {Cell{Quantity: quantity.Speed, stream: true}, false, true, false},
		"its current":         {Cell{Quantity: quantity.CurrentA}, true, false, false},
	} {
		d := &dive{cells: []Cell{{Quantity: quantity.BatteryV}, c.cell}, obs: make([]observation, 1)}
		d.obs[0].Cond.OneWay = c.oneWay
		assert.Equal(t, c.streams, d.streams(), name)
		assert.Equal(t, c.turned, d.timedOneWay(), name)
	}
}
