package prompt

import (
	"errors"
	"io"

	"sagline/predict/newvehicle"
)

// Vehicle asks all questions of a draft. opening says what Enter alone answers. The error is
// ErrInterrupted, or says that input has ended.
func (a *Asker) Vehicle(d *newvehicle.Draft, opening string) error {
	a.PrintWrapped("  ", opening)
	for i := 0; i < len(d.Steps); {
		if d.Skip(&d.Steps[i]) {
			i++
			continue
		}
		switch err := a.step(d, &d.Steps[i]); {
		case errors.Is(err, errDone):
			return nil
		case errors.Is(err, errBack):
			for i = max(i-1, 0); i > 0 && d.Skip(&d.Steps[i]); i-- {
			}
		case err != nil:
			return err
		default:
			i++
		}
	}
	return nil
}

// step asks one question of a draft until an answer passes.
func (a *Asker) step(d *newvehicle.Draft, s *newvehicle.Step) error {
	for {
		answer, err := a.Ask(a.lastLine(s.Text, s.Preset), s.Preset, s.Words)
		switch {
		case errors.Is(err, io.EOF):
			return errors.New("input has ended before the last question, nothing is written")
		case err != nil:
			return err
		case answer == helpWord:
			a.PrintWrapped("  ", s.Help)
			continue
		case answer == backWord:
			return errBack
		case answer == doneWord && d.Ends && s.Need == "":
			return errDone
		}
		if err := d.Answer(s, answer); err != nil {
			a.PrintWrapped("  ", err.Error())
			continue
		}
		return nil
	}
}
