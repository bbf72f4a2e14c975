package prompt

import (
	"errors"
	"io"

	"sagline/predict/newvehicle"
	"sagline/predict/vehicle"
)

// A Vehicle interview asks what a vehicle is made of. Enter alone is always an
// answer: not known, and then left out of vehicle.toml.
type Vehicle struct {
	Prompter
	Name  string // offered
	Width int    // of the terminal, columns
}

// Run asks, and returns the vehicle and the columns of its log.
func (v *Vehicle) Run() (*vehicle.Vehicle, []string, error) {
	d := newvehicle.Begin(v.Name)
	v.Say("%s", Wrap("  ", "Enter alone: not known, and left out; ? how to find out; back: the question before. "+
		"A range is an answer too, as 4 to 6. All of it can be changed in "+vehicle.FileName+" later.", v.Width))
	for i := 0; i < len(d.Steps); {
		if d.Skip(&d.Steps[i]) {
			i++
			continue
		}
		switch err := v.ask(d, &d.Steps[i]); {
		case errors.Is(err, errBack):
			for i = max(i-1, 0); i > 0 && d.Skip(&d.Steps[i]); i-- {
			}
		case err != nil:
			return nil, nil, err
		default:
			i++
		}
	}
	return d.Build()
}

// ask asks until an answer passes.
func (v *Vehicle) ask(d *newvehicle.Draft, s *newvehicle.Step) error {
	for {
		answer, err := v.Ask(s.Text, s.Preset, s.Words)
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
		}
		if err := d.Answer(s, answer); err != nil {
			v.Say("  %v\n", err)
			continue
		}
		return nil
	}
}
