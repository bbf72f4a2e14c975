package calls

import (
	"errors"

	"sagline/predict/advice"
	"sagline/session/problem"
)

// An After is what is said when a dive is complete.
type After struct {
	Says  string   `json:"says"`
	Check string   `json:"check"` // before the next dive
	Read  string   `json:"read"`  // what would tell more
	Mind  []string `json:"mind"`
}

// after says what a dive says.
func (b *Logbook) after(a *Arguments) (Answer, error) {
	which := b.log.Find(a.Label)
	if which < 0 {
		return Answer{}, errors.New("the dive has no line yet")
	}
	if err := b.judge(); err != nil {
		return Answer{}, err
	}
	says := b.report.After(b.fitted, which)
	out := After{Says: problem.Clean(says.Says), Check: problem.Clean(says.Check), Read: problem.Clean(says.Read), Mind: []string{}}
	for _, danger := range advice.DiveDangers(b.vehicle.Latest(), b.fitted.Kept(which)) {
		out.Mind = append(out.Mind, danger.String())
	}
	return Answer{Value: out}, nil
}
