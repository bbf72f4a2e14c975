package lsq

import "math"

const (
	// enough is the least ratio of actual to predicted fall of the cost with which a step is taken
	// (Moré 1978).
	enough = 1e-4
	// roundingFall is the promised relative fall of the cost that may be lost in rounding: 1e-4
	// standard errors per root of the degrees of freedom.
	roundingFall = 1.5e-8
	// roundingCost is the ratio of ‖r‖ to the sizes of the terms J·x below which r is all rounding.
	roundingCost = 1e-12
	epsilon      = 0x1p-52
	// gradTol bounds the largest cosine of the angle between the residuals and
	// a column of the Jacobian at a minimum.
	gradTol = 1e-14
	// slowSteps is the number of steps in a row that must neither promise nor bring a worthwhile
	// fall of the cost before bounded steps end a fit. Moré 1978 ends at the first such step, but
	// that one may only be short because of a refusal before it.
	slowSteps = 3
	// stepTol bounds ‖D·p‖/‖D·x‖ of an undamped step p that ends a fit.
	stepTol = 1e-12
)

// minimise takes steps from s.x until one of the tests of set is met.
func (s *Solver) minimise(p *Problem, set Settings) Status {
	withJac, slow := true, 0
	for s.steps < set.MaxIter {
		if s.cost == 0 || s.steepest() <= gradTol {
			return Converged
		}
		st := s.damp()
		if s.steps == 0 {
			s.delta = math.Min(s.delta, st.length)
		}
		s.steps++
		size, before := weightedNorm(s.d, s.x), s.cost
		last := st.full && (st.predicted <= set.CostTol*s.cost || st.length <= stepTol*size)
		taken := s.try(p, st, withJac || last)
		if last {
			return Converged
		}
		// A refused step is often followed by another, so the Jacobian at the next trial point is
		// then computed only if that step is taken.
		withJac = taken
		if taken {
			slow++
			if math.Max(st.predicted, before-s.cost) > set.CostTol*before {
				slow = 0
			}
			if slow == slowSteps {
				return Converged
			}
		}
		if !taken && (s.delta <= stepTol*size || s.tooShort()) {
			return s.atStandstill()
		}
	}
	return IterationLimit
}

// try evaluates x + p, moves there if the cost falls, and sets the bound on
// the next step. It reports whether it moved.
func (s *Solver) try(p *Problem, st step, withJac bool) bool {
	for j, v := range s.p {
		s.trialX[j] = s.x[j] + v
	}
	cost := s.evaluate(p, s.trialR, s.trialX, withJac)
	if good := s.cost-cost >= enough*st.predicted; good && !withJac {
		cost = s.evaluate(p, s.trialR, s.trialX, true)
	}
	good := s.cost-cost >= enough*st.predicted
	s.resize(st, cost)
	if good {
		s.accept(cost)
	}
	return good
}

// resize sets the bound on the next step from the cost at the end of this one, which is NaN if it
// cannot be computed.
func (s *Solver) resize(st step, cost float64) {
	fall := s.cost - cost
	if math.IsNaN(cost) || cost > 100*s.cost {
		fall = math.Inf(-1)
	}
	switch {
	case !(fall > st.predicted/4):
		factor := s.shrink(st, fall)
		s.delta = factor * math.Min(s.delta, 10*st.length)
		s.lambda = st.lambda / factor
	case st.full || fall >= st.predicted*3/4:
		s.delta = 2 * st.length
		s.lambda = st.lambda / 2
	default:
		s.lambda = st.lambda
	}
}

// shrink returns the factor on the bound after a poor step: where the parabola through cost, slope
// and fall has its minimum, between 0.1 and 0.5.
func (s *Solver) shrink(st step, fall float64) float64 {
	if fall >= 0 {
		return 0.5
	}
	return math.Max(0.1, st.slope/2/(st.slope-fall/2))
}

// tooShort reports whether the bound lets no residual change by more than its rounding. It serves
// at x = 0, where a bound relative to x says nothing.
func (s *Solver) tooShort() bool {
	return s.gain*s.delta <= epsilon*math.Sqrt(s.cost)
}

// atStandstill judges a point from which no step of useful length lowers the cost. It is a minimum
// if the whole promised fall could be rounding.
func (s *Solver) atStandstill() Status {
	promised, terms := 0.0, 0.0
	for j, norm := range s.norms {
		q := s.qr.rhs(j)
		promised += q * q
		terms += norm * math.Abs(s.x[j])
	}
	if promised <= roundingFall*s.cost || math.Sqrt(s.cost) <= roundingCost*terms {
		return Converged
	}
	return Stalled
}
