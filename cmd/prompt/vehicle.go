package prompt

import (
	"errors"
	"io"

	"sagline/predict/newvehicle"
)

// A Vehicle interview asks what a vehicle is made of, or what of it was rebuilt.
type Vehicle struct {
	Prompter
	Width int // of the terminal, columns
}

// Run asks all of a draft; opening says what Enter alone answers.
func (v *Vehicle) Run(d *newvehicle.Draft, opening string) error {
	v.Say("%s", Wrap("  ", opening, v.Width))
	for i := 0; i < len(d.Steps); {
		if d.Skip(&d.Steps[i]) {
			i++
			continue
		}
		switch err := v.ask(d, &d.Steps[i]); {
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

// ask asks until an answer passes.
func (v *Vehicle) ask(d *newvehicle.Draft, s *newvehicle.Step) error {
	for {
		answer, err := v.Ask(lastLine(v, s.Text, s.Preset, v.Width), s.Preset, s.Words)
		switch {
		case errors.Is(err, io.EOF):
			return errors.New("input has ended before the last question, nothing is written")
		case err != nil:
			return err
		case answer == helpWord:
			v.Say("%s", Wrap("  ", s.Help, v.Width))
			continue
		case answer == backWord:
			return errBack
		case answer == doneWord && d.Ends && s.Need == "":
			return errDone
		}
		if err := d.Answer(s, answer); err != nil {
			v.Say("%s", Wrap("  ", err.Error(), v.Width))
			continue
		}
		return nil
	}
}
