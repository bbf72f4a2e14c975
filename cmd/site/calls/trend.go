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
	Findings [][]string `json:"findings"` // the lines of each finding
	Verdict  string     `json:"verdict"`  // for a log without findings
	Alarms   []string   `json:"alarms"`
	Remarks  []string   `json:"remarks"`
	Head     []string   `json:"head"` // headings of the columns of Rows
	Rows     [][]string `json:"rows"` // one for each quantity
	Next     []string   `json:"next"` // most informative readings for the next dive, with what each should be
}

// nextReadings is the largest number of readings for the next dive: common practice, no source.
const nextReadings = 8

// trend returns what drifts, and what to read on the next dive.
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
	for _, f := range rep.Reported() {
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

// An After is what the page shows when a dive is complete.
type After struct {
	Says  string   `json:"says"`
	Check string   `json:"check"` // what to check before the next dive
	Read  string   `json:"read"`  // the reading that would tell more
	Mind  []string `json:"mind"`
}

// after returns what a dive shows.
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

// dangers words the readings of a dive that show a danger.
func (b *Logbook) dangers(d *session.Dive) (out []string) {
	for _, danger := range advice.DiveDangers(b.vehicle.At(d.Label, b.log.Labels()), d) {
		out = append(out, danger.String())
	}
	return out
}
