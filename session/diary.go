package session

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"sagline/session/problem"
)

// diary gathers lines under the dives they belong to.
type diary struct {
	log     *Log
	began   map[string]int // label → line its dive began on
	header  int            // line
	latest  time.Time      // day of the newest dive whose date can be read
	dated   bool           // latest is set
	undated bool           // the newest dive's date is not known
	now     page           // of the newest dive
	astray  page           // takes the lines of no known dive
}

// page is the lines of one dive while they are gathered, on paper that the
// next dives go on with: a Line is large, and growing each dive's own
// slice would cost several times its size.
type page struct{ lines []Line }

// paper is how many lines there is room for at a time.
const paper = 256

// next is a fresh line, and the one before it or nil.
func (p *page) next() (l, before *Line) {
	n := len(p.lines)
	if n == cap(p.lines) {
		p.lines = append(make([]Line, 0, max(paper, n+n/4)), p.lines...)
	}
	p.lines = append(p.lines, Line{})
	if n > 0 {
		before = &p.lines[n-1]
	}
	return &p.lines[n], before
}

// page is where a row's line belongs: empty at the first line of a dive.
func (d *diary) page(r *row, in inFile) *page {
	labels, dates := in.dive, in.date
	label := r.word(labels)
	day, text, ok := d.day(r, dates)
	n := len(d.log.Dives)
	switch {
	case label == "":
		r.bad(labels, "empty, want the dive's label")
		d.astray.lines = d.astray.lines[:0]
		return &d.astray
	case n > 0 && d.log.Dives[n-1].Label == label:
		if day0 := d.log.Dives[n-1].Date; ok && !d.undated && !day.Equal(day0) {
			r.bad(dates, "found %s within a dive of %s, want one day a dive", text, day0.Format(time.DateOnly))
		}
		if given := r.word(in.battery); given != "" && given != d.log.Dives[n-1].Battery {
			r.bad(in.battery, "found %s within a dive of %s, want one battery a dive", problem.Quote(given), problem.Quote(d.log.Dives[n-1].Battery))
		}
		return &d.now
	}
	d.close()
	d.begin(r, labels, dates, label, text, day, ok)
	d.log.Dives = append(d.log.Dives, Dive{Label: strings.Clone(label), Date: day, Battery: d.battery(r, in.battery)})
	return &d.now
}

// battery is the label that a dive's first line gives, else that of the dive
// before.
func (d *diary) battery(r *row, c *Column) string {
	label := r.word(c)
	if !problem.Plain(label) {
		r.bad(c, "found %s, want a label on one line of plain text", problem.Quote(label))
	}
	if n := len(d.log.Dives); label == "" && n > 0 {
		return d.log.Dives[n-1].Battery
	}
	return strings.Clone(label)
}

// close gives the newest dive its lines.
func (d *diary) close() {
	if n := len(d.log.Dives); n > 0 {
		d.log.Dives[n-1].Lines = slices.Clip(d.now.lines)
	}
	d.now.lines = d.now.lines[len(d.now.lines):]
}

// begin judges the first line of a dive.
func (d *diary) begin(r *row, labels, dates *Column, label, text string, day time.Time, ok bool) {
	d.undated = !ok
	if !problem.Plain(label) {
		r.bad(labels, "found %s, want a label on one line of plain text", problem.Quote(label))
	}
	if at, again := d.began[label]; again {
		r.bad(labels, "dive %s began on line %d already, want the lines of a dive together", problem.Quote(label), at)
		return
	}
	d.began[strings.Clone(label)] = r.line
	switch {
	case dates == nil && len(d.log.Dives) == 0:
		r.told.add(d.header, nil, `no column "date", want the day of each dive`)
	case dates == nil:
	case text == "":
		r.bad(dates, "empty, want the day on a dive's first line")
	case ok && d.dated && day.Before(d.latest):
		r.bad(dates, "found %s after %s, want dates in order", text, d.latest.Format(time.DateOnly))
	case ok:
		d.latest, d.dated = day, true
	}
}

// day is the date of a row, if it has one that can be read.
func (d *diary) day(r *row, dates *Column) (day time.Time, text string, ok bool) {
	text = r.word(dates)
	if text == "" {
		return time.Time{}, "", false
	}
	day, err := time.Parse(time.DateOnly, text)
	if err != nil {
		r.bad(dates, "found %s, want a day as 2026-05-31", problem.Quote(text))
	}
	return day, text, err == nil
}

// String is the label and day of a dive.
func (d *Dive) String() string { return fmt.Sprintf("%s (%s)", d.Label, d.Date.Format(time.DateOnly)) }
