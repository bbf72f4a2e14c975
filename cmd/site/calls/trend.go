package calls

import (
	"errors"

	"sagline/predict/advice"
	"sagline/predict/findings"
	"sagline/predict/outlook"
	"sagline/session"
	"sagline/session/problem"
)

// A Trend is what drifts over the dives, in words.
type Trend struct {
	Findings [][]string `json:"findings"` // the lines of each
	Verdict  string     `json:"verdict"`  // where there is none
	Alarms   []string   `json:"alarms"`
	Remarks  []string   `json:"remarks"`
	Head     []string   `json:"head"` // of the rows, a row a quantity
	Rows     [][]string `json:"rows"`
	Next     []string   `json:"next"` // readings of the next dive that say most, with what each should be
}

// nextReadings is how many readings are named: common practice, no source.
const nextReadings = 8

// trend says what drifts, and what to read on the next dive.
func (b *Logbook) trend(*Arguments) (Answer, error) {
	if len(b.log.Dives) == 0 {
		return Answer{}, errors.New("no dives yet")
	}
	if err := b.judge(); err != nil {
		return Answer{}, err
	}
	rep := b.report
	out := Trend{Findings: [][]string{}, Verdict: rep.Verdict(), Alarms: []string{}, Remarks: clean(rep.Remarks), Head: findings.TableHead, Rows: [][]string{},
		Next: clean(outlook.NextReadings(b.fitted, rep, len(b.log.Dives)-1, nextReadings))}
	for _, f := range rep.Told() {
		out.Findings = append(out.Findings, clean(f.Lines()))
	}
	for i := range rep.Alarms {
		out.Alarms = append(out.Alarms, problem.Visible(rep.Alarms[i].String()))
	}
	for _, row := range rep.Table() {
		out.Rows = append(out.Rows, clean(row))
	}
	return Answer{Value: out}, nil
}

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
	says := outlook.After(b.fitted, b.report, which)
	out := After{Says: problem.Clean(says.Says), Check: problem.Clean(says.Check), Read: problem.Clean(says.Read)}
	out.Mind = append([]string{}, b.dangers(b.fitted.WithoutOutliers(which))...)
	return Answer{Value: out}, nil
}

// dangers are the readings of a dive that say stop, in words.
func (b *Logbook) dangers(d *session.Dive) (out []string) {
	for _, danger := range advice.DiveDangers(b.vehicle.At(d.Label, b.log.Labels()), d) {
		out = append(out, danger.String())
	}
	return out
}
