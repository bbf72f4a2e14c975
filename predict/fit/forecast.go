package fit

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/problem"
	"sagline/session/quantity"
)

// A Forecast says what the next lines of a dive should read and how sure that
// is, and learns from each line that was read: a Kalman filter whose state is
// predict.Params, which a dive does not change, with the readings expanded
// about what is believed (Anderson and Moore, Optimal Filtering, 1979, ch. 8).
type Forecast struct {
	m    *predict.Model
	p    predict.Params
	cov  *mat.SymDense  // of p
	at   predict.Params // where pt and grad were solved
	grad [][]float64
	pt   predict.Point
}

// An Expected is what one reading of a line should be, in its base unit.
// SD has the instrument, the scatter from dive to dive and what is not known
// of the vehicle in it.
type Expected struct {
	Quantity  quantity.Quantity
	Value, SD float64
}

// Forecast begins a dive of a vehicle believed to be at p, each of
// Result.Drift known to sd; nil where nothing of them is known but scatter.
func (r *Result) Forecast(p predict.Params, sd []float64) *Forecast {
	f := newForecast(r.Model, p)
	for i, k := range r.Shared {
		for j, l := range r.Shared {
			if j >= i {
				f.add(k, l, r.Cov.At(i, j))
			}
		}
	}
	variance := r.Scatter(len(r.Dives))
	for i, k := range r.Drift {
		f.add(k, k, variance[i])
		if sd != nil {
			f.add(k, k, sq(sd[i]))
		}
	}
	f.rest(r)
	return f
}

// AsBuilt begins the first dive of a vehicle of which only its file is known.
func AsBuilt(v *vehicle.Vehicle) *Forecast {
	m := predict.NewModel(v)
	f := newForecast(m, m.NewParams())
	for k := range m.Dim() {
		f.add(k, k, sq(priorSD(k)))
	}
	f.p[predict.SagVPerMinute] = sagMean
	return f
}

func newForecast(m *predict.Model, p predict.Params) *Forecast {
	return &Forecast{m: m, p: append(predict.Params(nil), p...), at: m.NewParams(), cov: mat.NewSymDense(m.Dim(), nil), grad: rows(quantity.Predicted, m.Dim())}
}

func (f *Forecast) add(i, j int, x float64) { f.cov.SetSym(i, j, f.cov.At(i, j)+x) }

// restLeast is how well a rested battery's voltage can be foretold from those
// of earlier dives at best, one standard deviation in V; common practice, no
// source.
const restLeast = 0.15

// rest takes the battery's voltage from the last ten dives'.
func (f *Forecast) rest(r *Result) {
	var n, sum, squares float64
	for i := max(0, len(r.Dives)-10); i < len(r.Dives); i++ {
		x := r.Dives[i].Summary.Params[predict.OpenCircuitV]
		n, sum, squares = n+1, sum+x, squares+x*x
	}
	mean := sum / n
	f.p[predict.OpenCircuitV], f.p[predict.SagVPerMinute] = mean, sagMean
	f.add(predict.OpenCircuitV, predict.OpenCircuitV, max(squares/n-mean*mean, 0)+sq(restLeast))
	f.add(predict.SagVPerMinute, predict.SagVPerMinute, sq(prior[predict.SagVPerMinute]))
}

// Line is what the readings of a line should be; of those that mean nothing
// under its circumstances there is none. Its error names a thruster that the
// vehicle does not have.
func (f *Forecast) Line(l *session.Line) ([]Expected, error) {
	var out []Expected
	err := f.each(l, func(q quantity.Quantity, o quantity.Quantity) {
		want := f.pt.Out[o]
		out = append(out, Expected{q, want, math.Sqrt(sq(deviation(&f.m.Vehicle.Instruments, q, want)) + f.variance(f.grad[o]))})
	})
	return out, err
}

// each solves a line and calls do for every reading that means something: the
// climb is solved for apart, since a vehicle that climbs is no longer at the
// depth where its trim is read.
func (f *Forecast) each(l *session.Line, do func(q quantity.Quantity, o quantity.Quantity)) error {
	c := Circumstances(f.m, l)
	var unknown problem.List
	if signs(thrusterNames(f.m), l, c.Sign, "", &unknown); unknown != nil {
		return unknown.Err()
	}
	for _, climbing := range []bool{false, true} {
		c.Climbing = climbing
		f.m.Solve(&c, f.p, &f.pt, f.grad)
		copy(f.at, f.p)
		for _, pair := range outputs {
			if f.pt.Known[pair.o] && climbing == (pair.q == quantity.Climb) {
				do(pair.q, pair.o)
			}
		}
	}
	return nil
}

func (f *Forecast) variance(slope []float64) float64 {
	v := mat.NewVecDense(len(slope), slope)
	return mat.Inner(v, f.cov, v)
}

// surprising is how many standard deviations a reading may lie from what was
// expected before it is asked about, and before it no longer teaches.
const surprising = 4.0

// Surprising says whether a reading is worth a second look.
func (e Expected) Surprising(x float64) bool { return math.Abs(x-e.Value) > surprising*e.SD }

// Learn takes a line that was read into account. Readings that surprise are
// not learnt from: the rest of the dive is then asked about against what was
// believed before.
func (f *Forecast) Learn(l *session.Line) error {
	return f.each(l, func(q quantity.Quantity, o quantity.Quantity) {
		v := l.Readings[q]
		want := f.pt.Out[o]
		for k, slope := range f.grad[o] {
			want += slope * (f.p[k] - f.at[k]) // learnt from this line already
		}
		sd := deviation(&f.m.Vehicle.Instruments, q, want)
		row := mat.NewVecDense(len(f.grad[o]), f.grad[o])
		var gain mat.VecDense
		gain.MulVec(f.cov, row)
		total := sd*sd + mat.Dot(row, &gain)
		if !v.Measured() || math.Abs(v.X-want) > surprising*math.Sqrt(total) {
			return
		}
		for k := range f.p {
			f.p[k] += gain.AtVec(k) * (v.X - want) / total
		}
		f.cov.SymRankOne(f.cov, -1/total, &gain)
		for k := range f.grad[o] {
			if f.cov.At(k, k) < 0 { // rounding
				f.cov.SetSym(k, k, 0)
			}
		}
	})
}

// Clone is a forecast that learns apart from f.
func (f *Forecast) Clone() *Forecast {
	c := newForecast(f.m, f.p)
	c.cov.CopySym(f.cov)
	return c
}
