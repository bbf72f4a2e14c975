package lsq

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"
)

// nearGain is the share of ‖r‖ that the first step may always change, times StepBound.
const nearGain = 0.01

// A Solver is a workspace for fits, one after the other; it grows to the largest of them. It is not
// safe for concurrent use.
type Solver struct {
	layout
	size int
	rows []int // residuals of each group

	full         matrix    // [J r], used up by its factorisation
	jac          mat.Dense // the J of full, as filled by Eval
	x, trialX    []float64
	r, trialR    []float64
	qr, damped   triangle  // the [R Qᵀr] of full at x, and that of [R Qᵀr; √λ·D 0]
	diagonal     matrix    // [√λ·D 0]
	tri          *triangle // of the last step
	norms, d     []float64 // column norms of J at x; D of the step bound
	p, w         []float64 // step; scratch
	cost         float64   // rᵀr at x
	delta        float64   // bound on ‖D·p‖
	lambda       float64   // last damping, where the next search starts
	floor        float64   // least damping: 0 unless J lacks full rank
	gain         float64   // largest column norm against D
	steps, evals int
}

// shape makes room for the unknowns and residuals of a problem.
func (s *Solver) shape(p *Problem) {
	l := layout{p.PerGroup, len(p.Rows), p.Dim - p.PerGroup*len(p.Rows)}
	s.rows = p.Rows
	if s.layout == l && s.size == p.Size {
		return
	}
	s.layout, s.size = l, p.Size
	s.full.shape(s.size, l)
	s.jac.SetRawMatrix(s.full.columns())
	s.r, s.trialR = resized(s.r, s.size), resized(s.trialR, s.size)
	s.qr.shape(l)
	s.damped.shape(l)
	s.diagonal.shape(p.Dim, l)
	for _, v := range []*[]float64{&s.x, &s.trialX, &s.norms, &s.d, &s.p, &s.w} {
		*v = resized(*v, p.Dim)
	}
}

// resized returns a slice of n values, in the storage of s if that is large enough.
func resized[T any](s []T, n int) []T { return slices.Grow(s[:0], n)[:n] }

// Fit minimises ½‖r(x)‖² from x0, which it does not change; nil settings mean the defaults of
// Settings. The Result shares nothing with the Solver. Only the result is allocated, whatever the
// number of steps.
//
// The only error is ErrStart. A fit that ends early returns its best point and a Status that says
// so: check Result.Status.Early. Fit panics if the shapes of p and x0 do not match.
func (s *Solver) Fit(p Problem, x0 []float64, settings *Settings) (*Result, error) {
	if len(x0) != p.Dim || p.Size < p.Dim || p.Dim <= p.PerGroup*len(p.Rows) {
		panic("lsq: shapes that do not match")
	}
	set := settings.withDefaults()
	s.shape(&p)
	if err := s.start(&p, x0, set.StepBound); err != nil {
		return nil, err
	}
	return s.result(s.minimise(&p, set), set.PointOnly), nil
}

// start evaluates the residuals at x0 and sets the first bound.
func (s *Solver) start(p *Problem, x0 []float64, bound float64) error {
	s.steps, s.evals, s.lambda = 0, 0, 0
	copy(s.x, x0)
	clear(s.norms)
	clear(s.d)
	cost := s.evaluate(p, s.r, s.x, true)
	if !finite(cost) {
		return ErrStart
	}
	s.cost = cost
	s.factorize()
	s.delta = bound * s.extent()
	return nil
}

// extent returns ‖D·x0‖ or, near x0 = 0 where that says nothing, the ‖D·p‖ of a step that may
// change ‖r‖ by nearGain of itself.
func (s *Solver) extent() float64 {
	length := weightedNorm(s.d, s.x)
	if s.gain > 0 {
		length = math.Max(length, nearGain*math.Sqrt(s.cost)/s.gain)
	}
	return length
}

// evaluate returns rᵀr at x, or NaN if it, x or the Jacobian is not finite.
func (s *Solver) evaluate(p *Problem, r, x []float64, withJac bool) float64 {
	if !allFinite(x) {
		return math.NaN()
	}
	s.evals++
	clear(r)
	var jac *mat.Dense
	if withJac {
		jac = &s.jac
		clear(s.full.a.Data)
	}
	p.Eval(r, jac, x)
	cost := blas64.Dot(vector(r), vector(r))
	if !finite(cost) || withJac && !allFinite(s.full.a.Data) {
		return math.NaN()
	}
	return cost
}

// factorize reduces the Jacobian and the residuals at x to s.qr and updates D.
func (s *Solver) factorize() {
	for i, v := range s.r {
		s.full.row(i)[s.width()] = v
	}
	s.full.reduce(s.rows, &s.qr)
	s.qr.columnNorms(s.norms)
	for j, norm := range s.norms {
		s.d[j] = math.Max(s.d[j], norm)
	}
	s.setFloor()
}

// setFloor sets the gain, and the least damping if a column of the Jacobian depends on those before
// it.
func (s *Solver) setFloor() {
	s.floor, s.gain = 0, 0
	deficient := false
	for j, norm := range s.norms {
		deficient = deficient || math.Abs(s.qr.diagonal(j)) <= rankTol*norm
		if norm > 0 {
			s.gain = math.Max(s.gain, norm/s.d[j])
		}
	}
	if deficient {
		s.floor = math.Pow(floorDamping*s.gain, 2)
	}
}

// accept moves to the trial point, whose Jacobian is in s.jac.
func (s *Solver) accept(cost float64) {
	s.x, s.trialX = s.trialX, s.x
	s.r, s.trialR = s.trialR, s.r
	s.cost = cost
	s.factorize()
}

func (s *Solver) result(status Status, pointOnly bool) *Result {
	r := &Result{
		X: slices.Clone(s.x), Cost: s.cost, LogDet: s.qr.logDet(), DoF: s.size - s.dim(),
		Iterations: s.steps, Evals: s.evals, Status: status,
	}
	if !pointOnly {
		r.Cov = s.covariance()
	}
	return r
}
