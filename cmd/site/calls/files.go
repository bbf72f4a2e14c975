package calls

import (
	"bytes"
	"fmt"
	"strings"

	"sagline/predict/newvehicle"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/problem"
)

// A Question is a question about a new vehicle.
type Question struct {
	*newvehicle.Step
	Need    bool   `json:"need"`
	Skip    bool   `json:"skip"`
	Problem string `json:"problem"`
}

// draft returns a draft with the answers given so far, its questions, and whether all answers are
// accepted.
func draft(a *Arguments) (d *newvehicle.Draft, out []Question, sound bool) {
	d, sound = newvehicle.Begin(a.Name), true
	for i := range d.Steps {
		s := &d.Steps[i]
		s.Words = append([]string{}, s.Words...) // never null
		q := Question{Step: s, Need: s.Need != "", Skip: d.Skip(s)}
		if answer, given := a.Answers[s.ID]; !q.Skip && (given || q.Need) {
			if err := d.Answer(s, answer); err != nil {
				q.Problem, sound = said(err), false
			}
		}
		out = append(out, q)
	}
	return d, out, sound
}

// ask returns the questions about a new vehicle.
func (b *Logbook) ask(a *Arguments) (Answer, error) {
	_, out, _ := draft(a)
	return Answer{Value: out}, nil
}

// make returns the two files of a new logbook, or the questions if an answer is not accepted.
func (b *Logbook) make(a *Arguments) (Answer, error) {
	d, out, sound := draft(a)
	if !sound {
		return Answer{Value: out}, nil
	}
	v, columns, err := d.Build()
	if err != nil {
		return Answer{}, err
	}
	var log bytes.Buffer
	if err := session.Write(&log, columns, &session.Log{}); err != nil {
		return Answer{}, err
	}
	return Answer{Value: problem.Visible(v.Name), Files: []string{string(v.Text()), log.String()}}, nil
}

// merge merges dives.csv with a copy. Its files are the log as it was last taken in, the log here,
// the copy and, optionally, the copy's vehicle.toml, which must be of this vehicle.
func (b *Logbook) merge(a *Arguments) (Answer, error) {
	if len(a.Files) > 3 {
		v, err := vehicle.Read(strings.NewReader(a.Files[3]), vehicle.FileName)
		if err != nil {
			return Answer{}, err
		}
		if b.vehicle != nil && v.Name != b.vehicle.Name {
			return Answer{}, fmt.Errorf("vehicle.toml is of %s, this logbook of %s", problem.Quote(v.Name), problem.Quote(b.vehicle.Name))
		}
	}
	m, err := session.MergeTexts(session.FileName, a.Files[0], a.Files[1], a.Files[2])
	if err != nil {
		return Answer{}, err
	}
	if m.Added, m.Conflicts = clean(m.Added), clean(m.Conflicts); len(m.Conflicts) > 0 {
		return Answer{Value: m}, nil
	}
	return Answer{Value: m, Files: []string{m.Text}}, nil
}

func clean(list []string) []string {
	out := []string{}
	for _, s := range list {
		out = append(out, problem.Visible(s))
	}
	return out
}
