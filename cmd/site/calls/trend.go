package calls

import (
	"errors"

	"sagline/predict/drift"
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
	out := Trend{Findings: [][]string{}, Verdict: rep.Verdict(), Alarms: []string{}, Remarks: clean(rep.Remarks), Head: drift.TableHead, Rows: [][]string{},
		Next: clean(rep.NextReadings(b.fitted, len(b.log.Dives)-1, nextReadings))}
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
