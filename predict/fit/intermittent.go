package fit

import (
	"math"
	"slices"

	"sagline/predict"
	"sagline/predict/circumstances"
	"sagline/predict/lsq"
	"sagline/predict/normal"
)

// withinSizes are the standard deviations in Ω, from line to line, that are
// tried for an intermittent contact.
var withinSizes = [...]float64{0.05, 0.1, 0.2, 0.4, 1, MostWithinOhm}

// MostWithinOhm is the largest that is tried: a contact may come and go by more.
const MostWithinOhm = 2.5

// modelWithin is by what share of the loop's resistance a vehicle's voltage may lie off from line to
// line with nothing loose: the model has a thruster's current a little wrong, held against running and
// ahead against astern, and through a long tether a voltmeter sees it. Set on a simulator with other
// physics, where drops of one sound dive differed by 2 %.
const modelWithin = 0.015

// withinWorth is the log of the evidence above which a dive is taken to have a
// contact that comes and goes.
const withinWorth = 2

// looseContact fits a dive with each size of contact scatter, beginning at a sound
// vehicle, and expands its likelihood at the best of them; none is the log evidence
// of the firm fit. It leaves the cells as that fit has them and returns where it ends,
// and whether it is worth it.
func (f *diver) looseContact(d *dive, sum *Summary, start []float64, none float64) (predict.Params, bool, error) {
	fresh := append(f.sc.fresh[:0], d.cells...)
	for k := range fresh {
		fresh[k].Outlier, fresh[k].weight = fresh[k].slip, 1
	}
	best, size, firm, unsettled := math.Inf(-1), 0.0, d.unsettled, false
	kept := append(f.sc.kept[:0], d.cells...)
	at := make(predict.Params, len(f.base))
	for _, ohm := range withinSizes {
		copy(d.cells, fresh)
		f.weighLoose(d, start, ohm)
		y, log, err := f.solve(d, start, ohm)
		if err != nil {
			return nil, false, err
		}
		if log > best {
			best, size, unsettled = log, ohm, d.unsettled
			copy(at, f.params(f.sc.params, y[len(y)-len(start):]))
			copy(kept, d.cells)
		}
	}
	copy(d.cells, fresh)
	byModel := modelWithin * f.m.Vehicle.LoopOhm(d.obs[0].Cond.WaterC)
	f.weighLoose(d, start, byModel)
	_, log, err := f.solve(d, start, byModel)
	if err != nil {
		return nil, false, err
	}
	gained := max(log-none, 0) // by what the model has wrong
	if size <= byModel || best <= none+gained {
		d.unsettled = firm
		return nil, false, nil
	}
	copy(d.cells, kept)
	sum.Loose, sum.LooseOhm = &normal.Quadratic{}, size
	d.allowInexact(f.was, f.m, sum.Params, soundOn(f.base, sum), f.sc)
	d.chords(f.m, at, soundOn(f.base, sum), f.sc)
	d.boundSlopes(f.sp, f.sc)
	err = d.expand(sum.Loose, f.sp, f.base, at, size, f.sc)
	copy(d.cells, kept)
	sum.Loose.Log -= math.Log(float64(len(withinSizes))) + gained // what a choice of sizes is worth, and the model's part
	worth := best-none-gained > withinWorth
	if d.unsettled = firm; worth {
		d.unsettled = unsettled
	}
	return at, worth, err
}

// weighLoose weighs a dive's cells by how far they lie from a sound vehicle whose
// contact scatters, so that a slip does not lead the fit astray.
func (f *diver) weighLoose(d *dive, start []float64, ohm float64) {
	for k := range d.obs {
		o := &d.obs[k]
		o.Unknown = append(o.Unknown, circumstances.Unknown{Param: predict.LoopOhm, Dive: ohm, Line: ohm})
	}
	d.reweigh(f.m, f.noise, f.params(f.sc.params, start), perLine{}, f.sc)
	for k := range d.obs {
		o := &d.obs[k]
		o.Unknown = o.Unknown[:len(o.Unknown)-1]
	}
}

// evidence is the log of the integral over a dive's unknowns about its fit,
// by Laplace's method, with Huber's loss and a bounded one for cells set
// aside. Constants that no choice of what lines have of their own changes are left out.
func (d *dive) evidence(res *lsq.Result, of []lineScatter) float64 {
	loss := res.Cost + d.robustLoss()
	out := -0.5*loss - 0.5*res.LogDet
	for _, s := range of {
		out -= float64(len(d.obs)) * math.Log(s.sd)
	}
	return out
}

// within is the most, in nats, by which a parameter that scatters from line to line by one of
// some sizes explains a dive better than one that does not.
// Residuals are taken at p; the loss of freedom by fitting the
// dive's mean is allowed for by integrating a free common level out.
func (d *dive) within(m *predict.Model, p predict.Params, param int, sizes []float64, sc *scratch) float64 {
	keep := append(sc.cells[:0], d.cells...)
	for k := range d.cells {
		c := &d.cells[k]
		if c.weight < 1 || c.Outlier {
			c.weight = 1
			c.Outlier = c.slip
		}
	}
	d.residuals(m, p, perLine{}, sc, true)
	copy(d.cells, keep)
	type point struct{ at, info float64 }
	var pts []point
	for start := 0; start < len(d.cells); {
		end := start
		var g, h float64
		for end < len(d.cells) && d.cells[end].obs == d.cells[start].obs {
			j := sc.jac[end][param]
			g, h = g+j*sc.r[end], h+j*j
			end++
		}
		if h > 0 {
			pts = append(pts, point{g / h, h})
		}
		start = end
	}
	like := func(sd float64) float64 {
		var w, wx, ll float64
		for _, q := range pts {
			v := 1/q.info + sd*sd
			w, wx = w+1/v, wx+q.at/v
		}
		if w == 0 {
			return 0
		}
		mean := wx / w
		for _, q := range pts {
			v := 1/q.info + sd*sd
			ll -= 0.5 * (math.Log(v) + sq(q.at-mean)/v)
		}
		return ll - 0.5*math.Log(w)
	}
	most := math.Inf(-1)
	for _, sd := range sizes {
		most = max(most, like(sd))
	}
	return most - like(0)
}

// An unevenness is a parameter that may go from line to line of a dive: the standard deviations that are tried, and in how
// many dives it does.
type unevenness struct {
	param int
	sizes []float64
	dives float64
}

// unevenBattery are the standard deviations, as shares of the nominal voltage, that are tried for how a
// battery's rest voltage goes from line to line beside its sag: one just charged falls fast
// at first, one that runs empty fast at the end, and a rest lets it recover. unevenStream are those, m/s, of a stream along
// runs each of which is timed one way: of lines that were timed there and back in turn it comes from ahead in one and from
// astern in the next. Common practice, no source.
var (
	unevenBattery = []float64{0.001, 0.003, 0.01}
	unevenStream  = []float64{0.03, 0.1, 0.2}
)

const (
	unevenDives   = 0.1
	turningStream = 0.3 // of dives with runs timed one way
)

// uneven is what may go from line to line of a dive.
func (f *diver) uneven(d *dive) []unevenness {
	volts := slices.Clone(unevenBattery)
	for i := range volts {
		volts[i] *= f.m.Vehicle.Battery.NominalV
	}
	out := []unevenness{{predict.OpenCircuitV, volts, unevenDives}}
	if d.timedOneWay() {
		out = append(out, unevenness{predict.StreamMS, unevenStream, turningStream})
	}
	return out
}

// allowUneven lets a parameter of a dive go from line to line where its readings ask for that, and expands
// its likelihood again; none is the log evidence of one that does not. It returns that of the better.
func (f *diver) allowUneven(d *dive, u unevenness, sum *Summary, start []float64, none float64) (log float64, err error) {
	top, best, settled, at, cells := none, 0.0, !d.unsettled, sum.Params, slices.Clone(d.cells)
	for _, sd := range u.sizes {
		d.countAgain()
		d.setUneven(u.param, sd)
		d.reweigh(f.m, f.noise, f.params(f.sc.params, start), perLine{}, f.sc)
		x, log, err := f.solve(d, start, 0)
		if err != nil {
			return 0, err
		}
		if log += math.Log(u.dives / float64(len(u.sizes))); log > top {
			top, best, settled = log, sd, !d.unsettled
			at, cells = slices.Clone(f.params(f.sc.params, x[len(x)-len(start):])), slices.Clone(d.cells)
		}
	}
	d.setUneven(u.param, best)
	copy(d.cells, cells)
	sum.Params, d.unsettled = at, !settled
	return top, d.summarise(f.m, f.sp, f.base, sum, f.sc)
}

// setUneven sets by how much a parameter of a dive goes from line to line.
func (d *dive) setUneven(param int, sd float64) {
	d.uneven = slices.DeleteFunc(slices.Clone(d.uneven), func(s lineScatter) bool { return s.param == param })
	if sd > 0 {
		d.uneven = append(d.uneven, lineScatter{param, sd})
	}
	d.spreadUneven()
}

// spreadUneven has the lines of a dive not know what goes from line to line.
func (d *dive) spreadUneven() {
	for k := range d.obs {
		o := &d.obs[k]
		o.Unknown = slices.DeleteFunc(slices.Clone(o.Unknown), func(u circumstances.Unknown) bool {
			return u.Param == predict.OpenCircuitV || u.Param == predict.StreamMS
		})
		for _, s := range d.uneven {
			o.Unknown = append(o.Unknown, circumstances.Unknown{Param: s.param, Line: s.sd})
		}
	}
}

// A dive of the baseline contradicts itself where a loop resistance that goes from line to line explains it
// better by disagrees nats, whichever line is left out: a slip is of one line. A stream that comes from ahead and
// from astern in turn may explain it as well. In 1,200 dives of sound
// seasons simulated with other physics the most was 1.4, with contacts that come and go and with jammed thrusters
// 190 and more.
const disagrees = 5.0

// disagree says whether a dive's lines do at its fit p.
func (d *dive) disagree(m *predict.Model, p predict.Params, sc *scratch) bool {
	by := func() float64 {
		most := d.within(m, p, predict.LoopOhm, withinSizes[:], sc)
		if d.timedOneWay() {
			most -= max(d.within(m, p, predict.StreamMS, unevenStream, sc), 0)
		}
		return most
	}
	if by() < disagrees {
		return false
	}
	was := slices.Clone(d.cells)
	defer copy(d.cells, was)
	for o := range d.obs {
		for k := range d.cells {
			d.cells[k].slip = was[k].slip || d.cells[k].obs == o
		}
		if by() < disagrees {
			return false
		}
	}
	return true
}
