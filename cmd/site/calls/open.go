package calls

import (
	"errors"
	"maps"
	"slices"
	"strings"

	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/predict/forecast"
	"sagline/predict/newdive"
	"sagline/predict/outlook"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/problem"
)

// A State is what the page shows of a logbook and of the dive being written.
type State struct {
	Vehicle  string   `json:"vehicle"`
	Dives    int      `json:"dives"`
	Newest   string   `json:"newest"`
	Label    string   `json:"label"`
	Date     string   `json:"date"`  // "" if it is not known
	Dated    bool     `json:"dated"` // a new dive gets its day
	Begun    bool     `json:"begun"` // the dive has lines
	Another  string   `json:"another"`
	Lines    [][]Cell `json:"lines"`
	Expects  bool     `json:"expects"` // ranges are known
	Problems []string `json:"problems"`
	Remarks  []string `json:"remarks"`
	Mind     []string `json:"mind"` // readings of the dive that show a danger
}

// A Cell is one cell of a line.
type Cell struct {
	Column string `json:"column"`
	Text   string `json:"text"`
}

// open reads the bytes of vehicle.toml, of dives.csv and of the unasked lines that keep returned.
func (b *Logbook) open(a *Arguments) (Answer, error) {
	*b = Logbook{today: day(a.Today), had: map[string]int{}, unasked: unaskedIn(a.Files[2:])}
	v, err := vehicle.Read(strings.NewReader(a.Files[0]), vehicle.FileName)
	b.vehicle, b.wrong[0] = v, lines(err)
	if err := b.read(a.Files[1]); err != nil {
		return Answer{}, err
	}
	b.opened = b.log
	if b.vehicle != nil && len(b.wrong[1]) == 0 && len(b.log.Dives) == 0 {
		b.forecast = forecast.AsBuilt(b.vehicle)
	}
	label, date := newdive.NextDive(b.log, b.today)
	b.write(label, date)
	return b.state()
}

// read reads dives.csv. It returns an error only if no line can be written into the file.
func (b *Logbook) read(bytes string) error {
	f, err := session.OpenText(session.FileName, bytes)
	if err != nil {
		return err
	}
	b.file, b.bytes = f, bytes
	log, err := session.Read(strings.NewReader(bytes), session.FileName)
	if b.log, b.wrong[1] = log, lines(err); err != nil {
		b.log = f.Seen()
	}
	return nil
}

// write begins a dive, or continues one that has lines.
func (b *Logbook) write(label, date string) {
	b.dive, b.date = b.written(label), date
	if had, before := b.had[label]; !before || had > len(b.dive.Rows) {
		b.had[label] = len(b.dive.Rows)
	}
}

// written returns a dive with the lines that the file has.
func (b *Logbook) written(label string) *newdive.Dive {
	d := newdive.New(b.log, b.forecast, b.vehicle, b.rows)
	d.Begin(label)
	return d
}

// rows returns a dive's lines as they are in the file.
func (b *Logbook) rows(d *session.Dive) []session.Row {
	rows, _ := b.file.Rows(d) // the file has all lines of the log
	return rows
}

// expect returns the forecast that expected takes. It is slow, so a second Logbook computes it while
// lines are written into the first.
func (b *Logbook) expect(*Arguments) (Answer, error) {
	if err := b.judge(); err != nil {
		return Answer{}, err
	}
	ranges, err := forecast.New(b.fitted, outlook.Present(b.fitted, b.report), b.report.Doubts(), b.report.Posterior).MarshalBinary()
	return Answer{Files: []string{string(ranges)}}, err
}

// expected takes the forecast that expect made of the files as they were opened, or why there is none.
// The returned state has the doubts about lines that were kept meanwhile.
func (b *Logbook) expected(a *Arguments) (Answer, error) {
	if len(a.Files) == 1 {
		var err error
		if b.forecast, err = forecast.Read(b.vehicle, b.opened, []byte(a.Files[0])); err != nil {
			return Answer{}, err
		}
	} else {
		b.wrong[1] = lines(errors.New(a.Wrong))
	}
	b.write(b.dive.Label, b.date)
	return b.state()
}

// judge fits and analyses the log, unless that is already done for the same bytes.
func (b *Logbook) judge() error {
	if b.vehicle == nil || len(b.wrong[1]) > 0 {
		return errors.New("the files have problems: nothing can be said of the dives until they are mended")
	}
	if b.fitted != nil && b.judging == b.bytes {
		return nil
	}
	r, err := fit.Fit(b.vehicle, b.log)
	if err != nil {
		return err
	}
	b.fitted, b.report, b.judging = r, drift.Analyse(r), b.bytes
	return nil
}

// begin begins another dive, or continues one.
func (b *Logbook) begin(a *Arguments) (Answer, error) {
	label := strings.TrimSpace(a.Label)
	if _, list := session.ParseRows(session.Row{"dive": label, "date": a.Date}); list != nil {
		return Answer{}, errors.New(list[0].Text)
	}
	if label == "" || day(a.Date).IsZero() && (a.Date != "" || b.log.KeepsDays()) {
		return Answer{}, errors.New("want a label and a day as 2026-05-31")
	}
	b.write(label, a.Date)
	return b.state()
}

// state returns what the page shows.
func (b *Logbook) state() (Answer, error) {
	s := State{Label: b.dive.Label, Date: b.date, Dated: b.log.KeepsDays(), Begun: len(b.dive.Rows) > 0, Dives: len(b.log.Dives), Expects: b.dive.Expects(), Problems: slices.Concat(b.wrong[0], b.wrong[1]),
		Another: newdive.After(b.log, b.dive.Label), Lines: [][]Cell{}}
	if b.vehicle != nil {
		s.Vehicle = problem.Visible(b.vehicle.Name)
	}
	if n := len(b.log.Dives); n > 0 {
		s.Newest = problem.Visible(b.log.Dives[n-1].Label)
	}
	if behind := newdive.ClockBehind(b.log, b.today); behind != "" {
		s.Remarks = append(s.Remarks, behind)
	}
	if another := newdive.Another(b.log); another != "" && !s.Begun {
		s.Remarks = append(s.Remarks, another)
	}
	if b.file.CutOff != "" {
		s.Remarks = append(s.Remarks, problem.Clean(b.file.CutOff))
	}
	for _, row := range b.dive.Rows {
		s.Lines = append(s.Lines, cells(row))
	}
	s.Remarks = append(s.Remarks, b.late()...)
	if i := b.log.Find(b.dive.Label); i >= 0 {
		d := &b.log.Dives[i]
		s.Date = d.Day()
		if b.fitted != nil && b.judging == b.bytes { // without a fit of these bytes all readings count
			d = b.fitted.WithoutOutliers(i)
		}
		if b.vehicle != nil {
			s.Mind = b.dangers(d)
		}
	}
	return Answer{Value: s}, nil
}

// cells returns the cells of a row that the page shows, in the order of the table of columns.
func cells(row session.Row) (out []Cell) {
	for _, c := range session.Columns() {
		if text := row[c.Name]; text != "" && c.Name != "dive" && c.Name != "date" {
			out = append(out, Cell{c.Name, problem.Visible(text)})
		}
	}
	for _, name := range slices.Sorted(maps.Keys(row)) {
		if _, known := session.Find(name); !known {
			out = append(out, Cell{problem.Visible(name), problem.Visible(row[name])})
		}
	}
	return out
}
