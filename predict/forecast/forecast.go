package forecast

import (
	"encoding/binary"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/circumstances"
	"sagline/predict/fit"
	"sagline/predict/instrument"
	"sagline/predict/normal"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/problem"
	"sagline/session/quantity"
)

// A Forecast predicts the next lines of a dive, and learns from each line: an extended Kalman
// filter whose state is predict.Params, which are constant within a dive (Anderson and Moore,
// Optimal Filtering, 1979, ch. 8).
type Forecast struct {
	m       *predict.Model
	p       predict.Params
	cov     *mat.SymDense // of p
	noise   *instrument.Noise
	typical circumstances.Typical
	oneWay  bool           // runs are timed one way
	charge  float64        // of the battery at which its resistance is known
	lines   []session.Line // of the dive so far
	at      predict.Params // parameters at which pt and grad were solved
	grad    [][]float64
	pt      predict.Point
	drawn   []draw // of p and cov; nil until asked for
}

// An Expected is the prediction of one reading of a line, in its base unit. SD includes the
// instrument, the scatter from dive to dive and what is not known of the vehicle and the line. Low
// to High is the 95 % range, which need not be symmetric about the value.
type Expected struct {
	Quantity             quantity.Quantity
	Value, SD, Low, High float64
}

// New starts a dive of a fitted vehicle at p. sd has, by index of predict.Params, the standard
// deviations of what is not known besides the calibration and sound scatter; posterior, what later dives
// say of some parameters, takes their place in both.
func New(r *fit.Result, p predict.Params, sd map[int]float64, posterior fit.Posterior) *Forecast {
	f := forecastAt(r.Model, p)
	f.noise, f.typical, f.oneWay, f.charge = r.Noise, r.Circumstances, r.OneWay, r.Charge
	f.cov.CopySym(covariance(r, sd, posterior))
	f.restVoltage(r)
	return f
}

// MarshalBinary encodes a forecast that has not learnt from a line yet, for Read.
func (f *Forecast) MarshalBinary() ([]byte, error) {
	return binary.Append(nil, binary.LittleEndian, slices.Concat(f.p, f.noise.Factor[:], f.cov.RawSymmetric().Data))
}

// Read decodes a forecast that MarshalBinary encoded for the same vehicle and log. It returns an
// error if they are others.
func Read(v *vehicle.Vehicle, log *session.Log, data []byte) (*Forecast, error) {
	r, err := fit.Unfitted(v, log)
	if err != nil {
		return nil, err
	}
	f := forecastAt(r.Model, r.Model.NewParams())
	f.noise, f.typical, f.oneWay, f.charge = r.Noise, r.Circumstances, r.OneWay, r.Charge
	for _, part := range [][]float64{f.p, f.noise.Factor[:], f.cov.RawSymmetric().Data} {
		n, err := binary.Decode(data, binary.LittleEndian, part)
		if err != nil {
			return nil, fmt.Errorf("a forecast of another vehicle: %w", err)
		}
		data = data[n:]
	}
	if len(data) > 0 {
		return nil, fmt.Errorf("a forecast of another vehicle: %d bytes too many", len(data))
	}
	return f, nil
}

// covariance returns the covariance of predict.Params: of the calibration, of the scatter of sound
// dives, and sd of some parameters besides, but of those in posterior its own.
func covariance(r *fit.Result, sd map[int]float64, posterior fit.Posterior) *mat.SymDense {
	sp := r.Space
	cov := mat.NewSymDense(r.Model.Dim(), nil)
	add := func(i, j int, x float64) { cov.SetSym(i, j, cov.At(i, j)+x) }
	for i, a := range sp.Static {
		for j := i; j < len(sp.Static); j++ {
			if a, b := sp.All[a], sp.All[sp.Static[j]]; posterior.Index(a) < 0 && posterior.Index(b) < 0 {
				add(a, b, r.Cov.At(i, j))
			}
		}
	}
	for i, a := range posterior.Params {
		for j := i; j < len(posterior.Params); j++ {
			add(a, posterior.Params[j], posterior.Cov.At(i, j))
		}
	}
	for i, v := range r.Scatter(len(r.Dives)) {
		k := sp.All[sp.Scatter[i]]
		add(k, k, v)
	}
	for _, more := range []map[int]float64{sd, r.ToCome()} {
		for k, s := range more {
			if posterior.Index(k) < 0 {
				add(k, k, sq(s))
			}
		}
	}
	add(predict.SagVPerMinute, predict.SagVPerMinute, sq(sp.Of[predict.SagVPerMinute].Prior))
	return cov
}

// AsBuilt starts the first dive of a vehicle from its file alone.
func AsBuilt(v *vehicle.Vehicle) *Forecast {
	m := predict.NewModel(v)
	sp := priors.New(m, priors.Log{})
	f := forecastAt(m, m.NewParams())
	f.noise, f.charge = instrument.NewNoise(v), v.Battery.Charge(v.RestBelief().Value)
	for k, p := range sp.Of {
		f.p[k] += p.Mean
		for l := k; l < len(sp.Of); l++ {
			f.cov.SetSym(k, l, sp.FromKeys(k, l))
		}
		f.cov.SetSym(k, k, sq(p.Prior)+sq(p.Scatter))
	}
	k := predict.OpenCircuitV
	f.cov.SetSym(k, k, sq(v.RestBelief().SD))
	return f
}

func forecastAt(m *predict.Model, p predict.Params) *Forecast {
	return &Forecast{m: m, p: slices.Clone(p), at: m.NewParams(), cov: mat.NewSymDense(m.Dim(), nil), grad: normal.Rows(int(quantity.Count), m.Dim())}
}

// restPriorSD is the prior standard deviation of rested batteries' voltages from dive to dive, V, and
// restWorth how many dives that prior is worth; common practice, no source.
const (
	restPriorSD = 0.15
	restWorth   = 3.0
)

// restVoltage sets the battery's rest voltage from those of the last ten dives that were on the same
// cells, each for as many of them as there are now.
func (f *Forecast) restVoltage(r *fit.Result) {
	var rests normal.Moments
	now := &f.m.Vehicle.Battery
	for i := max(0, len(r.Dives)-10); i < len(r.Dives); i++ {
		if of := &r.ModelOf(i).Vehicle.Battery; of.Chemistry == now.Chemistry {
			rests.Add(r.Dives[i].Summary.Params[predict.OpenCircuitV] * now.NominalV / of.NominalV)
		}
	}
	k := predict.OpenCircuitV
	for j := range f.p {
		f.cov.SetSym(min(k, j), max(k, j), 0)
	}
	if rests.N == 0 {
		f.cov.SetSym(k, k, 1)
		return
	}
	f.p[k], f.p[predict.SagVPerMinute] = rests.Mean(0, 0), priors.SagMean
	f.cov.SetSym(k, k, sq(rests.SD(restPriorSD, restWorth))*(1+1/rests.N))
}

// Line returns what the readings of a line should be, without those that have no meaning under its
// circumstances. Its error names a thruster that the vehicle does not have.
func (f *Forecast) Line(l *session.Line) ([]Expected, error) {
	o, err := f.observe(l)
	if err != nil {
		return nil, err
	}
	var out []Expected
	for _, climbing := range []bool{false, true} {
		o.Cond.Climbing = climbing
		f.m.Solve(&o.Cond, f.p, &f.pt, nil)
		known, values := f.pt.Known, f.pt.Out
		columns := normal.Rows(int(quantity.Count), 0)
		for _, d := range f.draws() {
			p := slices.Clone(d.p)
			for _, u := range o.Unknown {
				p[u.Param] += math.Hypot(u.Line, u.Dive) * d.where[u.Param]
			}
			f.m.Solve(&o.Cond, p, &f.pt, nil)
			for q, x := range f.pt.Out {
				columns[q] = append(columns[q], f.asRead(quantity.Quantity(q), x, &d))
			}
		}
		for q := range quantity.Count {
			if known[q] && climbing == (q == quantity.Climb) {
				x := rangeOf(instrument.OffScale(q, instrument.Predicted(q, values[q])), columns[q])
				out = append(out, Expected{q, x.Value, (x.High - x.Low) / 2 / vehicle.Z95, x.Low, x.High})
			}
		}
	}
	return out, nil
}

// observe returns a line's circumstances, after the lines of the dive so far.
func (f *Forecast) observe(l *session.Line) (*circumstances.Circumstance, error) {
	all := f.typical.Of(f.m, &session.Dive{Lines: append(slices.Clip(f.lines), *l)})
	o := &all[len(all)-1]
	var wrong problem.List
	if circumstances.Signs(f.m, l, o.Cond.Sign, "", &wrong); wrong != nil {
		return nil, wrong.Err()
	}
	o.Cond.OneWay = f.oneWay
	o.Cond.Spent = f.charge - f.m.Vehicle.Battery.Charge(f.p[predict.OpenCircuitV])
	if l.Readings[quantity.Speed].Measured() {
		o.Cond.OneWay = circumstances.OneWay(l)
	}
	return o, nil
}

// each solves a line and calls do for every reading that has a meaning, with the standard deviation
// that the line's unknown circumstances add. The climb is solved separately, since a climbing
// vehicle is no longer at the depth where its trim is read.
func (f *Forecast) each(l *session.Line, do func(q quantity.Quantity, unknown float64)) error {
	o, err := f.observe(l)
	if err != nil {
		return err
	}
	for _, climbing := range []bool{false, true} {
		o.Cond.Climbing = climbing
		f.m.Solve(&o.Cond, f.p, &f.pt, f.grad)
		copy(f.at, f.p)
		instrument.Straighten(&f.pt, f.grad)
		for q := range quantity.Count {
			if f.pt.Known[q] && climbing == (q == quantity.Climb) {
				do(q, o.Doubt(f.grad[q]))
			}
		}
	}
	return nil
}

// surprising is how many standard deviations from its expected value a reading is surprising, and
// is not learnt from.
const surprising = 4.0

// Off returns how far a reading lies from what was expected, in standard deviations of the side on
// which it lies.
func (e Expected) Off(x float64) float64 {
	if x > e.Value {
		return vehicle.Z95 * (x - e.Value) / (e.High - e.Value)
	}
	return vehicle.Z95 * (x - e.Value) / (e.Value - e.Low)
}

// Surprising reports whether a reading lies beyond twice its 95 % range.
func (e Expected) Surprising(x float64) bool { return math.Abs(e.Off(x)) > surprising }

// Learn updates the forecast by a line that was read. It does not learn from surprising readings,
// so that later ones are still compared with what was expected before. But it learns any voltage at
// rest that the battery may have, since no other dive says how full the battery came to this one.
func (f *Forecast) Learn(l *session.Line) error {
	f.drawn = nil
	err := f.each(l, func(q quantity.Quantity, unknown float64) {
		v := l.Readings[q]
		want := instrument.Predicted(q, f.pt.Out[q])
		for k, slope := range f.grad[q] {
			want += slope * (f.p[k] - f.at[k]) // already learnt from this line's earlier readings
		}
		row := mat.NewVecDense(len(f.grad[q]), f.grad[q])
		var gain mat.VecDense
		gain.MulVec(f.cov, row)
		total := sq(f.noise.SD(q, f.pt.Out[q])) + sq(unknown) + mat.Dot(row, &gain)
		if !v.Measured() {
			return
		}
		if off := instrument.OnScale(q, v.X) - want; math.Abs(off) > surprising*math.Sqrt(total) {
			b := &f.m.Vehicle.Battery
			if q != quantity.BatteryV || len(l.Drives) > 0 || v.X < b.RestAt(0) || v.X > f.m.Vehicle.MostV() {
				return
			}
			k := predict.OpenCircuitV
			f.cov.SetSym(k, k, f.cov.At(k, k)+sq(off))
			gain.MulVec(f.cov, row)
			total += sq(f.grad[q][k] * off)
		}
		for k := range f.p {
			f.p[k] += gain.AtVec(k) * (instrument.OnScale(q, v.X) - want) / total
		}
		f.cov.SymRankOne(f.cov, -1/total, &gain)
		for k := range f.grad[q] {
			if f.cov.At(k, k) < 0 { // rounding
				f.cov.SetSym(k, k, 0)
			}
		}
	})
	if err == nil {
		f.lines = append(slices.Clip(f.lines), *l)
	}
	return err
}

// Clone returns a forecast that learns independently of f.
func (f *Forecast) Clone() *Forecast {
	c := *f
	c.p, c.at = slices.Clone(f.p), slices.Clone(f.at)
	c.cov = mat.NewSymDense(f.m.Dim(), nil)
	c.cov.CopySym(f.cov)
	c.grad, c.pt = normal.Rows(int(quantity.Count), f.m.Dim()), predict.Point{}
	return &c
}

// AnotherBattery widens what is known of the battery by how far the batteries of one
// vehicle may differ.
func (f *Forecast) AnotherBattery() {
	of := priors.Parameters(f.m)
	for _, k := range priors.OfBattery {
		f.cov.SetSym(k, k, f.cov.At(k, k)+sq(max(of[k].Prior, of[k].Fault)))
	}
	f.drawn = nil
}

func sq(x float64) float64 { return x * x }
