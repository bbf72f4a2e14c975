package lsq

import "fmt"

// Status says why a fit ended, and so whether its answer may be believed.
type Status int

const (
	// Converged: a minimum, within Settings or within rounding.
	Converged Status = iota + 1
	// Stalled: no step lowers the cost although the derivatives promise one
	// that does. The derivatives are wrong, or the residuals jump or are not
	// finite next to the answer.
	Stalled
	// IterationLimit: Settings.MaxIter steps were tried.
	IterationLimit
)

// Early reports whether the fit ended before a minimum was found.
func (s Status) Early() bool { return s != Converged }

func (s Status) String() string {
	switch s {
	case Converged:
		return "converged"
	case Stalled:
		return "stalled"
	case IterationLimit:
		return "iteration limit"
	}
	return fmt.Sprintf("status %d", int(s))
}
