package calls

import "sagline/predict/advice"

// cautions are what a person must have read before anything is switched on, and
// what to mind besides.
func (b *Logbook) cautions(*Arguments) (Answer, error) {
	return Answer{Value: map[string][]string{"basics": advice.Basics, "more": append(append([]string{}, advice.Handling...), advice.Batteries...)}}, nil
}
