package fit

import (
	"maps"
	"math"

	"gonum.org/v1/gonum/lapack/lapack64"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/lsq"
	"sagline/predict/normal"
	"sagline/predict/vehicle"
)

// A doubt is one key of vehicle.toml that is not known exactly, the others held:
// thrusters have theirs alike.
type doubt struct {
	key   string         // as thruster.*.test_a
	paths []string       // as thruster.port.test_a
	by    predict.Params // what one standard deviation adds to the vehicle
}

// doubts are those of a vehicle's keys, independent of each other: what is left
// out and a formula of a key moves along with it, and has a doubt of its own for
// what the formula leaves open.
func doubts(v *vehicle.Vehicle) []doubt {
	var out []doubt
	at := map[string]int{}
	for _, b := range v.Beliefs() {
		if i, ok := at[b.Key]; ok {
			out[i].paths = append(out[i].paths, b.Path)
			continue
		}
		if b.Residual == 0 {
			continue
		}
		d := doubt{key: b.Key, paths: []string{b.Path}, by: slopesOf(v, nil, b.Key)}
		any := false
		for k := range d.by {
			any = any || d.by[k] != 0
		}
		if any {
			at[b.Key] = len(out)
			out = append(out, d)
		}
	}
	return out
}

// slopesOf is what one standard deviation of a key adds to a vehicle whose keys
// lie z standard deviations up.
func slopesOf(v *vehicle.Vehicle, z map[string]float64, key string) predict.Params {
	at := func(by float64) *vehicle.Vehicle {
		moved := maps.Clone(z)
		if moved == nil {
			moved = map[string]float64{}
		}
		moved[key] += by
		return v.Varied(moved)
	}
	slopes := predict.Difference(at(-1), at(1))
	for k := range slopes {
		if slopes[k] /= 2; math.Abs(slopes[k]) < leastSlope {
			slopes[k] = 0
		}
	}
	if math.Abs(slopes[predict.BallastLift]) < leastLift {
		slopes[predict.BallastLift] = 0
	}
	return slopes
}

// leastSlope is what rounding leaves where a key changes nothing, in any parameter's unit: a prior
// as narrow as that would be held for sure.
const leastSlope = 1e-9

// leastLift is what of its weight ballast of a known kind may lose in water more or less than that, which
// no scale tells: 2 % of lead's or steel's density are 0.3 g in 100.
const leastLift = 0.01

// A prior is what is known of the static parameters before any reading: normal,
// with the covariance that keys which enter several of them make.
type prior struct {
	mean      []float64
	cov       *mat.SymDense
	precision *mat.SymDense
	root      *mat.TriDense // upper, rootᵀ·root = precision
}

// leastBeside keeps the prior regular, as a share of each parameter's own
// standard deviation: fewer keys than parameters are unknown.
const leastBeside = 0.02

func (s *space) priorOf(m *predict.Model) prior {
	n := len(s.static)
	p := prior{cov: mat.NewSymDense(n, nil), mean: make([]float64, n)}
	for i, at := range s.static {
		k, of := s.all[at], s.known(at)
		p.mean[i] = priorMean(m, s, k)
		for j := i; j < n; j++ {
			p.cov.SetSym(i, j, s.fromKeys(k, s.all[s.static[j]]))
		}
		p.cov.SetSym(i, i, p.cov.At(i, i)+sq(of.beside)+sq(leastBeside*of.prior))
	}
	p.precision, _ = normal.Invert(p.cov) // definite by leastBeside
	u := mat.NewSymDense(n, nil)
	u.CopySym(p.precision)
	t, _ := lapack64.Potrf(u.RawSymmetric())
	p.root = mat.NewTriDense(n, mat.Upper, nil)
	for i := range n {
		for j := i; j < n; j++ {
			p.root.SetTri(i, j, t.Data[i*t.Stride+j])
		}
	}
	return p
}

// fromKeys is the covariance of two parameters that the keys make.
func (s *space) fromKeys(k, l int) float64 {
	sum := 0.0
	for i := range s.keys {
		sum += s.keys[i].by[k] * s.keys[i].by[l]
	}
	return sum
}

// known adds the prior to a system, its parameters from unknown first on.
func (p *prior) known(s *lsq.System, first int) {
	for i := range p.mean {
		r := 0.0
		for j := i; j < len(p.mean); j++ {
			r += p.root.At(i, j) * (s.X[first+j] - p.mean[j])
		}
		slopes := s.Add(r)
		for j := i; slopes != nil && j < len(p.mean); j++ {
			slopes[first+j] = p.root.At(i, j)
		}
	}
}

// add adds the prior to information about x − at, the parameters first.
func (p *prior) add(sum *normal.Information, at []float64) {
	n := len(p.mean)
	for i := range n {
		for j := range n {
			sum.Lin[i] += p.precision.At(i, j) * (p.mean[j] - at[j])
			if j >= i {
				sum.Info.SetSym(i, j, sum.Info.At(i, j)+p.precision.At(i, j))
			}
		}
	}
}

// spread is one standard deviation of what is predicted with slopes by
// predict.Params, scatter from dive to dive included.
func (s *space) spread(slopes []float64) float64 {
	variance := 0.0
	for k, x := range slopes {
		variance += sq(x) * (sq(s.of[k].beside) + sq(s.of[k].scatter))
	}
	for i := range s.keys {
		sum := 0.0
		for k, x := range slopes {
			sum += x * s.keys[i].by[k]
		}
		variance += sq(sum)
	}
	return math.Sqrt(variance)
}
