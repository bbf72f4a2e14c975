package lsq

import (
	"errors"
	"fmt"
)

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

// Errors of Status.Err.
var (
	ErrStalled        = errors.New("lsq: no step lowers the cost")
	ErrIterationLimit = errors.New("lsq: iteration limit reached")
)

// Early reports whether the fit ended before a minimum was found.
func (s Status) Early() bool { return s != Converged }

// Err returns nil for a fit that converged, else the reason why not.
func (s Status) Err() error {
	switch s {
	case Converged:
		return nil
	case Stalled:
		return ErrStalled
	case IterationLimit:
		return ErrIterationLimit
	}
	return fmt.Errorf("lsq: %v", s)
}

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
