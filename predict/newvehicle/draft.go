// Package newvehicle asks an owner what a vehicle is made of, or what was rebuilt, one question at
// a time. It assumes that "not known" is an answer to all but a few questions, and that an answer
// about one thruster holds for all. It knows no screen.
package newvehicle

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"sagline/predict/vehicle"
)

// A Draft holds what has been answered so far.
type Draft struct {
	Steps []Step // in the order of asking
	Ends  bool   // the answer "done" ends the questions; what is not answered stays as it was
	From  string // of Rebuilt: the first dive of the rebuilt vehicle

	name    string              // preset of the vehicle's name
	trial   *vehicle.Vehicle    // each value is tried on it
	answers map[string][]string // assignments as Set takes them, by step
	names   map[string][]string // of thrusters, by axis
	meters  []string
}

// A Step is one question.
type Step struct {
	ID      string   `json:"id"`
	Text    string   `json:"text"`
	Help    string   `json:"help"`
	Preset  string   `json:"preset"` // the answer if nothing is entered
	Words   []string `json:"words"`
	Several bool     `json:"several"` // several of Words may be joined by +
	Need    string   `json:"-"`       // the error if it is not known; "": not known is an answer

	axis    bool // asks for names; ID is the axis of the thrusters
	keyHelp bool // Help is that of the key ID
	skip    func() bool
	take    func(answer string) ([]string, error)
}

// Begin returns the draft of a new vehicle; name is the preset for its name.
func Begin(name string) *Draft {
	d := &Draft{name: name, trial: vehicle.Example(), answers: map[string][]string{}, names: map[string][]string{}}
	d.Steps = d.steps()
	return d
}

// Skip reports whether a question is pointless after the answers so far.
func (d *Draft) Skip(s *Step) bool { return s.skip != nil && s.skip() }

// Answer records an answer, "" for not known. The error says what is wanted instead.
func (d *Draft) Answer(s *Step, answer string) error {
	if s.axis {
		d.names[s.ID] = nil
		if answer == "-" || strings.EqualFold(answer, "none") {
			answer = ""
		}
		if answer == "" && s.ID == "heave" && len(d.names["surge"]) == 0 {
			return errors.New("want at least one thruster, one that pushes ahead or one that pushes up")
		}
	}
	if answer == "" && s.Need != "" {
		return errors.New(s.Need)
	}
	var set []string
	if answer != "" {
		var err error
		if set, err = s.take(answer); err != nil {
			return err
		}
	}
	d.answers[s.ID] = set
	d.retell()
	return nil
}

// retell updates the help of a new vehicle's keys: what is assumed for one follows from the answers
// about others.
func (d *Draft) retell() {
	if d.Ends {
		return
	}
	d.trial = vehicle.Example()
	for i := range d.Steps {
		for _, set := range d.answers[d.Steps[i].ID] {
			_ = d.trial.Set(set) // fails for the names of the new vehicle's thrusters, on which no assumption depends
		}
	}
	for i := range d.Steps {
		if s := &d.Steps[i]; s.keyHelp {
			s.Help = help(d.trial.Describe(s.ID))
		}
	}
}

// try returns what is wrong with a value for its key.
func (d *Draft) try(set string) error {
	if err := d.trial.Clone().Set(set); err != nil {
		_, what, _ := strings.Cut(err.Error(), ": ")
		return errors.New(what)
	}
	return nil
}

// Build returns the vehicle that the answers describe and the columns of its log. Answers about one
// thruster hold for all.
func (d *Draft) Build() (*vehicle.Vehicle, []string, error) {
	var thrusters []vehicle.Thruster
	for _, axis := range []string{"surge", "heave"} {
		for _, n := range d.names[axis] {
			thrusters = append(thrusters, vehicle.Thruster{Name: n, Axis: axis})
		}
	}
	name := d.name
	for _, set := range d.answers["name"] {
		name = strings.TrimPrefix(set, "name=")
	}
	w := vehicle.Begin(name, thrusters)
	for i := range d.Steps {
		if d.Skip(&d.Steps[i]) { // answered before a later answer made it pointless
			continue
		}
		for _, set := range d.answers[d.Steps[i].ID] {
			key, ofOne := strings.CutPrefix(set, "thruster.port.")
			for j := range thrusters {
				if ofOne && d.Steps[i].ID != "apart" {
					set = "thruster." + thrusters[j].Name + "." + key
				} else if j > 0 {
					break
				}
				if err := w.Set(set); err != nil {
					return nil, nil, err
				}
			}
		}
	}
	whole, err := vehicle.Read(strings.NewReader(string(w.Text())), vehicle.FileName)
	return whole, d.columns(), err
}

// Columns returns the columns of a log with the usual instruments.
func Columns() []string { return (&Draft{meters: strings.Split(defaultMeters, " + ")}).columns() }

// columns returns the log's columns, in the order of the table of columns.
func (d *Draft) columns() []string {
	out := []string{"dive", "date", "minute", "thrusters", "held"}
	for _, m := range meters {
		if slices.Contains(d.meters, m.name) {
			out = append(out, m.columns...)
		}
	}
	return append(out, "serviced", "note")
}

// meant returns the only word that begins with an answer, else the only word that contains it, else
// the answer.
func meant(answer string, words []string) string {
	for _, fits := range []func(string, string) bool{strings.HasPrefix, strings.Contains} {
		var found []string
		for _, w := range words {
			if fits(normalised(w), normalised(answer)) {
				found = append(found, w)
			}
		}
		if len(found) == 1 {
			return found[0]
		}
	}
	return answer
}

// chosen returns the words that an answer names, joined by +, each once.
func chosen(answer string, words []string) (out []string, err error) {
	for part := range strings.SplitSeq(answer, "+") {
		word := meant(strings.TrimSpace(part), words)
		if !slices.Contains(words, word) {
			return nil, fmt.Errorf("found %q, want of %s", word, strings.Join(words, ", "))
		}
		if !slices.Contains(out, word) {
			out = append(out, word)
		}
	}
	return out, nil
}

// normalised returns a word without what people write in different ways: capitals, blanks, hyphens.
func normalised(word string) string {
	return strings.NewReplacer(" ", "", "-", "").Replace(strings.ToLower(word))
}
