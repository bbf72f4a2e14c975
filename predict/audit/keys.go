package audit

import (
	"maps"
	"math"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/fit"
	"sagline/predict/normal"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
)

// givenKeys is what is known of a vehicle's keys after readings: each so many
// standard deviations up, and the covariance of that.
type givenKeys struct {
	v     *vehicle.Vehicle
	keys  []priors.Doubt
	z     map[string]float64
	cov   *mat.SymDense
	now   *vehicle.Vehicle      // the likeliest, once move was called,
	moved [][2]*vehicle.Vehicle // and by key: one standard deviation down and up
}

// keySteps is how often the keys are solved for: Gauss and Newton's steps, which
// halve what is left at least.
const keySteps = 8

// keysGiven finds the likeliest keys, and their covariance there: parameters are
// θ = h(z) + e, with z the keys in standard deviations and e what is beside
// them, of variance D. What readings alone say of θ, of information Λ, says
// M = Λ − Λ·(Λ + D⁻¹)⁻¹·Λ of h.
func keysGiven(r *fit.Result, s fit.Statics) *givenKeys {
	sp := r.Space
	k := &givenKeys{v: r.Models[0].Vehicle, keys: sp.Keys, z: map[string]float64{}}
	info, lin, ok := aboutKeys(r, s)
	n := len(sp.Keys)
	k.cov = mat.NewSymDense(n, nil)
	for i := range n {
		k.cov.SetSym(i, i, 1)
	}
	for range keySteps {
		if !ok || n == 0 {
			break
		}
		ok = k.step(sp, info, lin)
	}
	return k
}

// move makes the likeliest vehicle, and those with one key more or less.
func (k *givenKeys) move() {
	k.now = k.v.Varied(k.z)
	for _, d := range k.keys {
		down, up := maps.Clone(k.z), maps.Clone(k.z)
		down[d.Key]--
		up[d.Key]++
		k.moved = append(k.moved, [2]*vehicle.Vehicle{k.v.Varied(down), k.v.Varied(up)})
	}
}

// aboutKeys is M, and M times where readings alone put the departure from the
// prior's mean.
func aboutKeys(r *fit.Result, s fit.Statics) (info *mat.SymDense, lin *mat.VecDense, ok bool) {
	sp := r.Space
	ns := len(sp.Static)
	precision, ok := normal.Invert(s.Cov)
	if !ok {
		return nil, nil, false
	}
	departure := mat.NewVecDense(ns, nil)
	with := mat.NewSymDense(ns, nil) // Λ + D⁻¹
	alone := mat.NewSymDense(ns, nil)
	for i, at := range sp.Static {
		p := sp.Known(at)
		departure.SetVec(i, r.Base[sp.All[at]]+s.Mean[i]-sp.Prior.Mean[i])
		for j := i; j < ns; j++ {
			alone.SetSym(i, j, precision.At(i, j)-sp.Prior.Precision.At(i, j))
			with.SetSym(i, j, alone.At(i, j))
		}
		with.SetSym(i, i, with.At(i, i)+1/(sq(p.Beside)+sq(priors.LeastBeside*p.Prior)))
	}
	inverse, ok := normal.Invert(with)
	if !ok {
		return nil, nil, false
	}
	var shrink, m mat.Dense // I − Λ·(Λ + D⁻¹)⁻¹
	shrink.Mul(alone, inverse)
	shrink.Scale(-1, &shrink)
	for i := range ns {
		shrink.Set(i, i, shrink.At(i, i)+1)
	}
	m.Mul(&shrink, alone)
	info = mat.NewSymDense(ns, nil)
	for i := range ns {
		for j := i; j < ns; j++ {
			info.SetSym(i, j, (m.At(i, j)+m.At(j, i))/2)
		}
	}
	lin = mat.NewVecDense(ns, nil)
	lin.MulVec(precision, departure)
	lin.MulVec(&shrink, lin)
	return info, lin, true
}

// step moves z to the likeliest keys as far as h is straight there.
func (k *givenKeys) step(sp *priors.Space, info *mat.SymDense, lin *mat.VecDense) bool {
	n, ns := len(k.keys), len(sp.Static)
	by := mat.NewDense(ns, n, nil)
	for i, d := range k.keys {
		slopes := priors.SlopesOf(k.v, k.z, d.Key)
		for j, at := range sp.Static {
			by.Set(j, i, slopes[sp.All[at]])
		}
	}
	now := predict.Difference(k.v, k.v.Varied(k.z))
	beyond := mat.NewVecDense(ns, nil) // h − J·z
	for j, at := range sp.Static {
		x := now[sp.All[at]]
		for i, d := range k.keys {
			x -= by.At(j, i) * k.z[d.Key]
		}
		beyond.SetVec(j, x)
	}
	var right, z mat.VecDense
	right.MulVec(info, beyond)
	right.SubVec(lin, &right)
	z.MulVec(by.T(), &right)
	precision := normal.Congruent(mat.DenseCopyOf(by.T()), info)
	for i := range n {
		precision.SetSym(i, i, precision.At(i, i)+1)
	}
	cov, ok := normal.Invert(precision)
	if !ok {
		return false
	}
	k.cov = cov
	z.MulVec(cov, &z)
	for i, d := range k.keys {
		k.z[d.Key] += min(max(z.AtVec(i)-k.z[d.Key], -longestStep), longestStep)
	}
	return true
}

// longestStep is by how many standard deviations a key may move in one step:
// farther out its effect is no longer straight.
const longestStep = 1.5

// narrow sets what is known of a number.
func (k *givenKeys) narrow(x *Known) {
	w := mat.NewVecDense(max(len(k.keys), 1), nil) // what one standard deviation of each key adds
	for i := range k.keys {
		lo, hi := k.moved[i][0].Belief(x.Path).Value, k.moved[i][1].Belief(x.Path).Value
		if x.Log {
			lo, hi = math.Log(lo), math.Log(hi)
		}
		w.SetVec(i, (hi-lo)/2)
	}
	if norm := mat.Norm(w, 2); len(k.keys) == 0 || !(norm > 0) || math.IsInf(norm, 1) { // none, or too near nothing for a logarithm
		return
	}
	after := math.Sqrt(max(mat.Inner(w, k.cov, w), 0))
	b := x.Belief
	b.Value = k.now.Belief(x.Path).Value
	x.Left, b.SD = min(after/b.SD, 1), min(after, b.SD)
	x.Now = normal.Range{Value: b.Value, Low: max(b.At(-vehicle.Z95), x.Least), High: min(b.At(vehicle.Z95), x.Most)}
	x.Beside = k.beside(x.Key)
}

func sq(x float64) float64 { return x * x }
