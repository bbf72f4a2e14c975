package lsq

import (
	"math"

	"gonum.org/v1/gonum/blas/blas64"
)

const (
	// rankTol is the sine of the angle between a column and those before it below which no undamped
	// step is tried: some hundred roundings.
	rankTol = 1e-13
	// floorDamping is the least relative damping, √λ·D against the column norms, of a Jacobian
	// without full rank. It changes steps in the other directions only by its square.
	floorDamping = 1e-6
	// slack is the allowed relative deviation of ‖D·p‖ from the bound Δ (Moré 1978).
	slack = 0.1
	// maxDampings bounds the search for λ; two or three are usual.
	maxDampings = 10
)

// A step is what is known of a step before it is tried.
type step struct {
	lambda    float64
	length    float64 // ‖D·p‖
	predicted float64 // fall of the cost, ‖r‖² − ‖r + J·p‖²
	slope     float64 // −pᵀJᵀr, half the first-order fall of the cost
	full      bool    // not shortened by the bound
}

// damp sets s.p to the step within the bound s.delta, by Newton's method on
// 1/‖D·p(λ)‖ with brackets (Moré 1978, section 5).
func (s *Solver) damp() step {
	lambda := s.floor
	length := s.solve(lambda)
	full := length <= (1+slack)*s.delta
	if !full {
		lower := lambda + s.newton(length)
		upper := math.Max(s.scaledGradient()/s.delta, lower)
		next := s.lambda
		for range maxDampings {
			lambda = math.Min(math.Max(next, lower), upper)
			length = s.solve(lambda)
			over := length - s.delta
			if math.Abs(over) <= slack*s.delta {
				break
			}
			if over > 0 {
				lower = math.Max(lower, lambda)
			} else {
				upper = math.Min(upper, lambda)
			}
			next = lambda + s.newton(length)
		}
	}
	return s.describe(lambda, length, full)
}

// solve sets s.p to the step of damping lambda and returns ‖D·p‖.
func (s *Solver) solve(lambda float64) float64 {
	s.tri = &s.qr
	if lambda > 0 {
		copy(s.damped.a.Data, s.qr.a.Data)
		s.damping(math.Sqrt(lambda))
		s.diagonal.join(&s.damped)
		s.tri = &s.damped
	}
	for j := range s.p {
		s.p[j] = -s.tri.rhs(j)
	}
	s.tri.solve(s.p)
	return weightedNorm(s.d, s.p)
}

// damping sets the rows [√λ·D 0]. Joined below [R Qᵀr] they give the R of [J; √λ·D] without another
// pass over J.
func (s *Solver) damping(root float64) {
	clear(s.diagonal.a.Data)
	for j, d := range s.d {
		if d == 0 {
			d = 1 // a column of zeros: its step is zero, not 0/0
		}
		s.diagonal.row(j)[s.column(j)] = root * d
	}
}

// newton returns the Newton correction of λ after solve. On 1/‖D·p(λ)‖ − 1/Δ it never passes the
// root from below.
func (s *Solver) newton(length float64) float64 {
	for j, d := range s.d {
		s.w[j] = d * d * s.p[j] / length
	}
	s.tri.solveTransposed(s.w)
	w := norm(vector(s.w))
	return (length - s.delta) / s.delta / w / w
}

// describe completes the step in s.p, whose predicted fall of the cost is ‖J·p‖² + 2λ‖D·p‖².
func (s *Solver) describe(lambda, length float64, full bool) step {
	copy(s.w, s.p)
	s.qr.times(s.w)
	linear, damping := blas64.Dot(vector(s.w), vector(s.w)), lambda*length*length
	return step{lambda, length, linear + 2*damping, linear + damping, full}
}

// gradient sets s.w to Jᵀ·r.
func (s *Solver) gradient() {
	for j := range s.w {
		s.w[j] = s.qr.rhs(j)
	}
	s.qr.transposedTimes(s.w)
}

// scaledGradient returns ‖D⁻¹·Jᵀ·r‖, an upper bound of λ·Δ.
func (s *Solver) scaledGradient() float64 {
	s.gradient()
	sum := 0.0
	for j, g := range s.w {
		if g != 0 {
			sum += g / s.d[j] * (g / s.d[j])
		}
	}
	return math.Sqrt(sum)
}

// steepest returns the largest cosine of the angle between the residuals and a column of the
// Jacobian; it is zero at a minimum.
func (s *Solver) steepest() float64 {
	s.gradient()
	largest := 0.0
	for j, g := range s.w {
		if s.norms[j] > 0 {
			largest = math.Max(largest, math.Abs(g)/s.norms[j])
		}
	}
	return largest / math.Sqrt(s.cost)
}

// weightedNorm returns ‖D·x‖.
func weightedNorm(d, x []float64) float64 {
	sum := 0.0
	for j, v := range x {
		sum += d[j] * v * (d[j] * v)
	}
	return math.Sqrt(sum)
}
