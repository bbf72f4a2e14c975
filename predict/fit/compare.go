package fit

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/instrument"
	"sagline/predict/normal"
	"sagline/session"
	"sagline/session/quantity"
	"sagline/session/units"
)

// An Outlier is a cell that was set aside, in the unit in which it was written.
type Outlier struct {
	Line     int     `json:"line"`
	Column   string  `json:"column"`
	Entered  float64 `json:"entered"`
	Expected float64 `json:"expected"`         // 0 for a timed run that would never end
	Jammed   string  `json:"jammed,omitempty"` // the thruster that would explain it if it could not turn
	Open     string  `json:"open,omitempty"`   // the same if its circuit were open

	Thrusters string `json:"-"` // what ran, as a cell
	Sinks     bool   `json:"-"` // it is a hover weight too low by more than the ingress limit, and no decimal slip
}

// Words describes the cell and what it may be.
func (o *Outlier) Words() string {
	return fmt.Sprintf("%s %s set aside, expected %s: %s", o.Column, units.Digits(o.Entered, 15), units.Digits(o.Expected, 3), o.Doubt())
}

// High reports whether the cell is higher than expected.
func (o *Outlier) High() bool { return o.Entered > o.Expected }

// Doubt says what a cell that was set aside may be.
func (o *Outlier) Doubt() string {
	switch {
	case o.Jammed != "":
		return "a slip, or is " + o.Jammed + " jammed (unplugged, turn it by hand)?"
	case o.Open != "":
		return "a slip, or does " + o.Open + " get no current (look at its wiring and its relay)?"
	}
	if o.Sinks {
		return "a slip, or water that came in during the dive, as through a seal that leaks only when deep (look for it before the next, and weigh again)?"
	}
	return "a slip?"
}

// Outliers returns the cells of a dive that were set aside as slips. Several of one quantity that
// are off the same way are a misfit instead, unless their decimal point is astray.
func (r *Result) Outliers(dive int) []Outlier {
	var out []Outlier
	misfits := r.Misfits(dive)
	for _, c := range r.Dives[dive].apart(r) {
		if !c.Outlier || !c.slip && slices.ContainsFunc(misfits, func(m Misfit) bool { return m.Quantity == c.Quantity && m.By*c.Z > 0 }) {
			continue
		}
		v := c.Line.Readings[c.Quantity]
		want := v.EnteredFor(instrument.OffScale(c.Quantity, c.Expected))
		if math.IsInf(want, 0) {
			want = 0
		}
		o := Outlier{Line: c.Line.Number, Column: v.Column.Name, Entered: v.Entered, Expected: want, Thrusters: c.Line.Thrusters()}
		o.Jammed, o.Open = r.failing(dive, &c)
		o.Sinks = c.Quantity == quantity.Trim && c.Expected-c.Value > r.ModelOf(dive).Vehicle.Limits.IngressG && !decimalSlip(&c.Cell, c.Value, c.Expected, c.SD)
		out = append(out, o)
	}
	return out
}

// failing returns the thruster that would explain a current far above the expected one if jammed,
// or far below it if its circuit were open, where the dive's readings suggest that failure; else
// "".
func (r *Result) failing(dive int, c *Compared) (jammed, open string) {
	d := &r.Dives[dive]
	if c.Quantity != quantity.CurrentA || len(d.Summary.Failed) == 0 {
		return "", ""
	}
	for i, sign := range d.d.obs[c.obs].Cond.Sign {
		how := causes.Failure{Thruster: i + 1, How: causes.Jammed}
		if c.Z < 0 {
			how.How = causes.Open
		}
		if _, may := d.Summary.Failed[how]; !may || sign == 0 {
			continue
		}
		name := r.Models[d.Era].Vehicle.Thrusters[i].Name
		if how.How == causes.Open {
			return "", name
		}
		return name, ""
	}
	return "", ""
}

// Looks names the thrusters that by a dive's own readings look as if they failed.
type Looks struct {
	Jammed []string `json:"jammed,omitempty"` // by name; the readings fit better with any one of them jammed
	Open   []string `json:"open,omitempty"`   // the same of an open circuit
	Lost   []string `json:"lost,omitempty"`   // the same of a lost propeller
}

// Looks returns the thrusters that look failed in a dive.
func (r *Result) Looks(dive int) (out Looks) {
	for _, f := range r.Dives[dive].failed {
		of := map[causes.How]*[]string{causes.Jammed: &out.Jammed, causes.Open: &out.Open, causes.Lost: &out.Lost}[f.How]
		*of = append(*of, r.Model.Vehicle.Thrusters[f.Thruster-1].Name)
	}
	return out
}

// AsIf describes them in words, "" for none.
func (l Looks) AsIf() string {
	var as []string
	if len(l.Jammed) > 0 {
		as = append(as, strings.Join(l.Jammed, " or ")+" were jammed (unplugged, turn it by hand)")
	}
	if len(l.Open) > 0 {
		as = append(as, strings.Join(l.Open, " or ")+" got next to no current (look at its wiring and its relay)")
	}
	if len(l.Lost) > 0 {
		as = append(as, "the propeller of "+strings.Join(l.Lost, " or ")+" were lost or slipped on its shaft")
	}
	if as == nil {
		return ""
	}
	return "as if " + strings.Join(as, ", or ")
}

// WithoutOutliers returns a dive without the cells that were set aside: the dive that its readings
// are judged by. Insulation that was set aside is kept unless a later reading of it was not: a plug
// may get wet on any line.
func (r *Result) WithoutOutliers(dive int) *session.Dive {
	out, outliers := *r.Dives[dive].Log, r.Outliers(dive)
	out.Lines = slices.Clone(out.Lines)
	dry := false // a later reading says so
	for i := range slices.Backward(out.Lines) {
		l := &out.Lines[i]
		for q := range l.Readings {
			x := &l.Readings[q]
			if !x.Measured() {
				continue
			}
			slip := slices.ContainsFunc(outliers, func(o Outlier) bool { return o.Line == l.Number && o.Column == x.Column.Name })
			leak := quantity.Quantity(q) == quantity.Insulation
			if slip && (dry || !leak) {
				*x = session.Value{}
			}
			dry = dry || leak && !slip
		}
	}
	return &out
}

// A Compared is a cell beside its prediction, on the scale of package instrument.
type Compared struct {
	Cell
	Expected, Z float64
}

// Compare sets a dive's cells beside the predictions of a vehicle with parameters p, such as those
// of the dive's own fit.
func (r *Result) Compare(dive int, p predict.Params) []Compared {
	return r.compare(&r.Dives[dive], p)
}

// A Comparison sets the cells of dives beside those of the sound vehicle. A cell's standard
// deviation is by how much that reading of a sound vehicle differs from its prediction: by the
// instrument, by what the calibration leaves open, and by what differs from dive to dive beside the
// battery's voltage and the stream, which are the dive's own.
type Comparison struct {
	r      *Result
	grad   [][]float64 // quantity.Count × Dim
	param  []int       // index in predict.Params of each row of a covariance: the static parameters, then scatter
	levels []Since     // oldest first; the first is the calibration
	covs   []*mat.SymDense
}

// NewComparison returns the Comparison of a log. levels, oldest first, are those that the sound
// vehicle has had since later dives.
func (r *Result) NewComparison(levels ...Since) *Comparison {
	c := &Comparison{r: r, grad: normal.Rows(int(quantity.Count), r.Model.Dim()), levels: append([]Since{{}}, levels...)}
	for _, at := range slices.Concat(r.Space.Static, r.Space.Scatter) {
		c.param = append(c.param, r.Space.All[at])
	}
	for i := range c.levels {
		c.covs = append(c.covs, c.covariance(&c.levels[i].Posterior))
	}
	return c
}

// covariance returns the covariance of c.param, of those in posterior its own.
func (c *Comparison) covariance(posterior *Posterior) *mat.SymDense {
	r, ns := c.r, len(c.r.Space.Static)
	cov := mat.NewSymDense(len(c.param), nil)
	for i := range ns {
		for j := i; j < ns; j++ {
			switch k, l := posterior.Index(c.param[i]), posterior.Index(c.param[j]); {
			case k >= 0 && l >= 0:
				cov.SetSym(i, j, posterior.SoundCov.At(k, l))
			case k < 0 && l < 0:
				cov.SetSym(i, j, r.Cov.At(i, j))
			}
		}
	}
	for i, v := range r.Scatter(len(r.Dives)) {
		cov.SetSym(ns+i, ns+i, v)
	}
	for i, k := range c.param {
		if slices.Contains(OwnOfDive, k) {
			for j := range c.param {
				cov.SetSym(i, j, 0)
			}
		}
	}
	return cov
}

// Dive returns the cells of a dive.
func (c *Comparison) Dive(dive int) []Compared {
	p, level := c.r.Sound(dive), LevelsAt(c.levels, dive)
	for i, k := range c.levels[level].Params {
		if !slices.Contains(OwnOfDive, k) {
			p[k] += c.levels[level].Sound[i]
		}
	}
	return c.r.compareWith(&c.r.Dives[dive], p, c.grad, func(slopes []float64) float64 { return c.sd(slopes, c.covs[level]) })
}

// sd is one standard deviation of a prediction with slopes by predict.Params.
func (c *Comparison) sd(slopes []float64, cov *mat.SymDense) float64 {
	by := mat.NewVecDense(len(c.param), nil)
	for i, k := range c.param {
		by.SetVec(i, slopes[k])
	}
	return math.Sqrt(max(mat.Inner(by, cov, by), 0))
}

func (r *Result) compare(d *DiveFit, p predict.Params) []Compared {
	return r.compareWith(d, p, nil, nil)
}

// compareWith is compare. With space for gradients in grad (quantity.Count × Dim), it also allows
// for the circumstances that a cell's line does not give, and for sound, the standard deviation by
// which a prediction with such slopes differs of sound vehicles; nil is none.
func (r *Result) compareWith(d *DiveFit, p predict.Params, grad [][]float64, sound func(slopes []float64) float64) []Compared {
	out := make([]Compared, 0, len(d.Cells))
	var pt predict.Point
	slopes := make([]float64, len(p))
	last := -1
	for _, c := range d.Cells {
		if c.stream {
			continue
		}
		o := &d.d.obs[c.obs]
		if c.obs != last {
			last = c.obs
			r.Models[d.Era].Solve(&o.Cond, p, &pt, grad)
		}
		want, sd := instrument.Predicted(c.Quantity, pt.Out[c.Quantity]), c.SD
		if grad != nil {
			c.slopes(slopes, &pt, grad)
			sd = math.Hypot(sd, o.Doubt(slopes))
		}
		if sound != nil {
			sd = math.Hypot(sd, sound(slopes))
			c.SD = sd
		}
		out = append(out, Compared{c, want, (c.Value - want) / sd})
	}
	return out
}

// OwnOfDive are the parameters of a sound dive that are its own.
var OwnOfDive = []int{predict.OpenCircuitV, predict.SagVPerMinute, predict.StreamMS}

// Sound returns the calibrated vehicle with a dive's own battery voltage, sag and stream: what the
// dive should have read had nothing drifted.
func (r *Result) Sound(dive int) predict.Params {
	p := append(predict.Params(nil), r.Base...)
	for _, k := range OwnOfDive {
		p[k] = r.Dives[dive].Summary.Params[k]
	}
	return p
}

// AsWritten returns a compared cell in the unit in which it was written: what was entered, what was
// expected and one standard deviation. The last two are 0 for a timed run of a vehicle that would
// not move.
func (c *Compared) AsWritten() (entered, expected, sd float64) {
	v := c.Line.Readings[c.Quantity]
	expected = v.EnteredFor(instrument.OffScale(c.Quantity, c.Expected))
	if math.IsInf(expected, 0) {
		return v.Entered, 0, 0
	}
	return v.Entered, expected, math.Abs(v.EnteredFor(instrument.OffScale(c.Quantity, c.Expected)+instrument.Spread(c.Quantity, c.Expected, c.SD)) - expected)
}

// ZAsWritten returns Z in the unit in which the cell was written: a low speed is a long time.
func (c *Compared) ZAsWritten() float64 {
	v := c.Line.Readings[c.Quantity]
	apart := v.EnteredFor(instrument.OffScale(c.Quantity, c.Value)) - v.EnteredFor(instrument.OffScale(c.Quantity, c.Expected))
	if apart*c.Z < 0 {
		return -c.Z
	}
	return c.Z
}

// Observed calls do for each line of a dive under which readings are compared, with its condition
// and the quantities that were read and not set aside.
func (d *DiveFit) Observed(do func(c *predict.Condition, l *session.Line, read []quantity.Quantity)) {
	for i := range d.d.obs {
		var read []quantity.Quantity
		for k := range d.d.cells {
			if c := &d.d.cells[k]; c.obs == i && !c.stream && !c.Outlier {
				read = append(read, c.Quantity)
			}
		}
		do(&d.d.obs[i].Cond, d.d.obs[i].line, read)
	}
}

// Warming returns by how many kelvins the unread water of the newest dive is warmer than the
// baseline's, by the year's course under p. ok is false if nothing says so.
func (r *Result) Warming(p predict.Params) (k float64, ok bool) {
	year := func(d int) (k float64, unread bool) {
		for i := range r.Dives[d].d.obs {
			if c := &r.Dives[d].d.obs[i].Cond; c.YearCos != 0 || c.YearSin != 0 {
				return c.YearCos*p[predict.YearCosK] + c.YearSin*p[predict.YearSinK], true
			}
		}
		return 0, false
	}
	last := len(r.Dives) - 1
	if last < r.Baseline || r.Baseline == 0 {
		return 0, false
	}
	now, unread := year(last)
	for b := range r.Baseline {
		then, _ := year(b)
		k -= then / float64(r.Baseline)
	}
	return now + k, unread
}

// Reads returns the quantities that the log has read.
func (r *Result) Reads() map[quantity.Quantity]bool {
	read := map[quantity.Quantity]bool{}
	for i := range r.Dives {
		for _, cell := range r.Dives[i].Cells {
			read[cell.Quantity] = true
		}
	}
	return read
}
