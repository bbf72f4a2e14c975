package forecast

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"

	"sagline/predict"
	"sagline/predict/instrument"
	"sagline/predict/normal"
	"sagline/session/quantity"
)

// rangeDraws is how many possible vehicles a range is taken over: its ends then scatter by a tenth
// of a standard deviation.
const rangeDraws = 400

// A draw is one possible vehicle, with how far off its instruments read, in standard deviations.
type draw struct {
	p     predict.Params
	off   [quantity.Count]float64
	where []float64 // errors of circumstances that a line does not give, in standard deviations, by index of predict.Params
}

// draws returns possible vehicles drawn from the forecast, the same on every run. Where little is
// known readings are not linear in the parameters, and a standard deviation would mislead.
func (f *Forecast) draws() []draw {
	if f.drawn != nil {
		return f.drawn
	}
	rng, dim := rand.New(rand.NewPCG(1, 2)), len(f.p)
	root := symmetricRoot(f.cov)
	normals := func(n int) []float64 {
		out := make([]float64, n)
		for i := range out {
			out[i] = rng.NormFloat64()
		}
		return out
	}
	for range rangeDraws {
		d := draw{p: slices.Clone(f.p), where: normals(dim)}
		var by mat.VecDense
		by.MulVec(root, mat.NewVecDense(dim, normals(dim)))
		for k := range d.p {
			d.p[k] += by.AtVec(k)
		}
		if most := f.m.Vehicle.MostV(); f.p[predict.OpenCircuitV] <= most { // else it was read to have more
			d.p[predict.OpenCircuitV] = min(d.p[predict.OpenCircuitV], most)
		}
		copy(d.off[:], normals(len(d.off)))
		f.drawn = append(f.drawn, d)
	}
	return f.drawn
}

// symmetricRoot returns the symmetric S with S·S = cov. It is smooth in cov, whereas the
// eigenvectors of nearly equal eigenvalues turn with the last digits.
func symmetricRoot(cov *mat.SymDense) *mat.Dense {
	dim := cov.SymmetricDim()
	out := mat.NewDense(dim, dim, nil)
	var eigen mat.EigenSym
	if !eigen.Factorize(cov, true) {
		return out
	}
	var vectors, scaled mat.Dense
	eigen.VectorsTo(&vectors)
	scaled.CloneFrom(&vectors)
	for j, v := range eigen.Values(nil) {
		for i := range dim {
			scaled.Set(i, j, vectors.At(i, j)*math.Sqrt(max(v, 0)))
		}
	}
	out.Mul(&scaled, vectors.T())
	return out
}

// Readings returns the 95 % ranges of numbers that solve derives from a vehicle's parameters;
// values are those at the mean. are gives the quantity of those that are readings, to which the
// instrument's error is added, and quantity.Count for others. fixed parameters are known exactly.
func (f *Forecast) Readings(values []float64, are []quantity.Quantity, fixed map[int]float64, solve func(p predict.Params) []float64) []normal.Range {
	columns := normal.Rows(len(values), 0)
	for _, d := range f.draws() {
		p := slices.Clone(d.p)
		for k, x := range fixed {
			p[k] = x
		}
		for i, x := range solve(p) {
			if are[i] < quantity.Count {
				x = f.asRead(are[i], x, &d)
			}
			columns[i] = append(columns[i], x)
		}
	}
	out := make([]normal.Range, len(values))
	for i := range out {
		out[i] = rangeOf(values[i], columns[i])
	}
	return out
}

// asRead returns what the instrument of a draw shows of x.
func (f *Forecast) asRead(q quantity.Quantity, x float64, d *draw) float64 {
	return instrument.OffScale(q, instrument.Predicted(q, x)+f.noise.SD(q, x)*d.off[q])
}

// rangeOf returns the range of draws, extended to include the value.
func rangeOf(value float64, xs []float64) normal.Range {
	slices.Sort(xs)
	at := func(p float64) float64 { return stat.Quantile(p, stat.LinInterp, xs, nil) }
	return normal.Range{Value: value, Low: min(at(0.025), value), High: max(at(0.975), value)}
}
