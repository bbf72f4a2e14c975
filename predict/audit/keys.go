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

// givenKeys is the posterior of a vehicle's keys given readings.
type givenKeys struct {
	v     *vehicle.Vehicle
	keys  []priors.Doubt
	z     map[string]float64    // by key: the likeliest, in standard deviations from the file
	cov   *mat.SymDense         // of z
	now   *vehicle.Vehicle      // the likeliest vehicle, set by move
	moved [][2]*vehicle.Vehicle // the same with each key one standard deviation down and up
}

// keySteps bounds the Gauss–Newton steps, each of which at least halves the error; shortStep is the move of
// all keys, in standard deviations, after which there are no more.
const (
	keySteps  = 8
	shortStep = 0.001
)

// keysGiven returns the likeliest keys and their covariance. Parameters are θ = h(z) + e, with z
// the keys in standard deviations and e of covariance D independent of them. If the readings alone
// have the information Λ on θ, they have M = Λ − Λ·(Λ + D⁻¹)⁻¹·Λ on h.
func keysGiven(r *fit.Result, s fit.Statics) *givenKeys {
	sp := r.Space
	k := &givenKeys{v: r.Models[0].Vehicle, keys: sp.Keys, z: map[string]float64{}}
	info, lin, ok := aboutKeys(r, s)
	n := len(sp.Keys)
	k.cov = mat.NewSymDense(n, nil)
	for i := range n {
		k.cov.SetSym(i, i, 1)
	}
	for steps, move := 0, math.Inf(1); n > 0 && ok && move > shortStep && steps < keySteps; steps++ {
		move, ok = k.step(sp, info, lin)
	}
	return k
}

// move sets now and moved.
func (k *givenKeys) move() {
	k.now = k.v.Varied(k.z)
	for _, d := range k.keys {
		down, up := maps.Clone(k.z), maps.Clone(k.z)
		down[d.Key]--
		up[d.Key]++
		k.moved = append(k.moved, [2]*vehicle.Vehicle{k.v.Varied(down), k.v.Varied(up)})
	}
}

// aboutKeys returns M, and M times the departure from the prior's mean by the readings alone; ok is
// false if they cannot be computed.
func aboutKeys(r *fit.Result, s fit.Statics) (info *mat.SymDense, lin *mat.VecDense, ok bool) {
	sp := r.Space
	ns := len(sp.Static)
	precision, ok := normal.Invert(s.Cov)
	beside, regular := normal.Invert(sp.Prior.Beside) // D⁻¹
	if !ok || !regular {
		return nil, nil, false
	}
	departure := mat.NewVecDense(ns, nil)
	with := mat.NewSymDense(ns, nil) // Λ + D⁻¹
	alone := mat.NewSymDense(ns, nil)
	for i, at := range sp.Static {
		departure.SetVec(i, r.Base[sp.All[at]]+s.Mean[i]-sp.Prior.Mean[i])
		for j := i; j < ns; j++ {
			alone.SetSym(i, j, precision.At(i, j)-sp.Prior.Precision.At(i, j))
			with.SetSym(i, j, alone.At(i, j)+beside.At(i, j))
		}
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

// step takes one Gauss–Newton step of z and returns the largest move of a key, in standard
// deviations. ok is false where it cannot be solved.
func (k *givenKeys) step(sp *priors.Space, info *mat.SymDense, lin *mat.VecDense) (most float64, ok bool) {
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
		return 0, false
	}
	k.cov = cov
	z.MulVec(cov, &z)
	for i, d := range k.keys {
		by := min(max(z.AtVec(i)-k.z[d.Key], -longestStep), longestStep)
		k.z[d.Key] += by
		most = max(most, math.Abs(by))
	}
	return most, true
}

// longestStep is the largest step of a key in standard deviations: farther out its effect
// is no longer linear.
const longestStep = 1.5

// narrow sets what is known of a number given the readings.
func (k *givenKeys) narrow(x *Known) {
	w := mat.NewVecDense(max(len(k.keys), 1), nil) // what one standard deviation of each key adds
	for i := range k.keys {
		lo, hi := k.moved[i][0].Belief(x.Path).Value, k.moved[i][1].Belief(x.Path).Value
		if x.Log {
			lo, hi = math.Log(lo), math.Log(hi)
		}
		w.SetVec(i, (hi-lo)/2)
	}
	before := mat.Norm(w, 2)                                        // less than b.SD at an end of the key's range
	if len(k.keys) == 0 || !(before > 0) || math.IsInf(before, 1) { // no keys, or too near 0 for a logarithm
		return
	}
	after := math.Sqrt(max(mat.Inner(w, k.cov, w), 0))
	b := x.Belief
	b.Value = k.now.Belief(x.Path).Value
	x.Left = min(after/before, 1)
	b.SD *= x.Left
	x.Now = normal.Range{Value: b.Value, Low: max(b.At(-vehicle.Z95), x.Least), High: min(b.At(vehicle.Z95), x.Most)}
	x.Beside = k.beside(x.Key)
}

func sq(x float64) float64 { return x * x }
