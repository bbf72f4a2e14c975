package prompt

import (
	"errors"
	"io"

	"sagline/predict/newvehicle"
)

// Vehicle asks all questions of a draft, wrapped to a width in columns; opening says
// what Enter alone answers. Its error is ErrInterrupted or says that input has ended.
func Vehicle(p Prompter, width int, d *newvehicle.Draft, opening string) error {
	p.Say("%s", Wrap("  ", opening, width))
	for i := 0; i < len(d.Steps); {
		if d.Skip(&d.Steps[i]) {
			i++
			continue
		}
		switch err := askStep(p, width, d, &d.Steps[i]); {
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

// askStep asks until an answer passes.
func askStep(p Prompter, width int, d *newvehicle.Draft, s *newvehicle.Step) error {
	for {
		answer, err := p.Ask(lastLine(p, s.Text, s.Preset, width), s.Preset, s.Words)
		switch {
		case errors.Is(err, io.EOF):
			return errors.New("input has ended before the last question, nothing is written")
		case err != nil:
			return err
		case answer == helpWord:
			p.Say("%s", Wrap("  ", s.Help, width))
			continue
		case answer == backWord:
			return errBack
		case answer == doneWord && d.Ends && s.Need == "":
			return errDone
		}
		if err := d.Answer(s, answer); err != nil {
			p.Say("%s", Wrap("  ", err.Error(), width))
			continue
		}
		return nil
	}
}
