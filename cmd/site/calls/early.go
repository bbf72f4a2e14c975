package calls

import (
	"sagline/predict/newdive"
	"sagline/predict/newvehicle"
	"sagline/session"
)

// early shows no logbook, and is the form of a line that is typed before there is
// one: the first of a log that has the columns of the usual instruments.
func (b *Logbook) early(*Arguments) (Answer, error) {
	*b = Logbook{log: &session.Log{Columns: newvehicle.Columns()}}
	b.dive = newdive.New(b.log, nil, nil, b.rows)
	b.dive.Begin("1")
	return b.line(&Arguments{})
}
