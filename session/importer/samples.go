package importer

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"sagline/session"
	"sagline/session/problem"
	"sagline/session/steady"
)

// mostSamples bounds the memory of a logger's file.
const mostSamples = 20_000_000

// recording gathers a logger's samples.
type recording struct {
	t        *taking
	time     *Match
	at       int    // the time's place in a row
	dates    *Match // nil: the file has none beside the time
	dateAt   int
	from     []int // the channels' places
	matches  []*Match
	columns  []*session.Column
	record   steady.Record
	day      time.Time // of the first sample, zero when the file does not say
	date     string    // that was read last, so that it is read once
	dateDay  time.Time
	lineOf   []int32 // of the samples
	last     float64 // s
	shift    float64 // s added to the file's clock since it began again
	bad      []*problem.Problem
	values   []float64 // of the row being read
	badRows  int
	rows     int
	resets   []string
	backward int // samples out of order
}

// mostBad is how many bad rows are told one by one, and badShare the share of
// them that makes a file one that cannot be read.
const (
	mostBad  = 5
	badShare = 0.1
)

// samples cuts a logger's file into steady stretches and makes a line of each.
func (t *taking) samples(o Options) {
	r := t.newRecording()
	if r == nil {
		return
	}
	for _, row := range t.s.first {
		r.row(row.cells, row.line)
	}
	for t.s.more {
		cells, line, ok := t.s.table.Next()
		if !ok {
			break
		}
		if r.rows > mostSamples {
			t.problem(line, "", "found more than %d samples, want at most that many", mostSamples)
			return
		}
		r.row(cells, line)
	}
	if r.tell(); len(t.out.Problems) == 0 {
		r.lines(o)
	}
}

// newRecording finds the time and the channels; nil where they are missing.
func (t *taking) newRecording() *recording {
	r := &recording{t: t}
	for i := range t.m.Columns {
		m := t.uses[t.m.Columns[i].Heading]
		at := t.s.index(m.Heading)
		c, ok := session.Find(m.To)
		switch {
		case at < 0:
		case m.To == "date":
			r.dates, r.dateAt = m, at
		case m.To == stamp || ok && (c.Quantity == "clock" || c.Quantity == "minute"):
			r.time, r.at = m, at
		case ok && c.Unit != "":
			r.from, r.matches, r.columns = append(r.from, at), append(r.matches, m), append(r.columns, c)
			r.record.Channels = append(r.record.Channels, steady.Channel{Least: t.least(c)})
		}
	}
	r.values = make([]float64, len(r.from))
	switch {
	case len(t.out.Asked) > 0:
		return nil
	case r.time == nil:
		t.problem(t.s.Line, "", `no column tells the time of a sample, want one that becomes "minute", "time" or "date time"`)
		return nil
	case len(r.columns) == 0:
		t.problem(t.s.Line, "", "no column of readings, want one that becomes battery_v or current_a")
		return nil
	}
	return r
}

// least is the change of a column that matters: one standard deviation of the
// instrument. What is not electric is averaged and never cuts.
func (t *taking) least(c *session.Column) float64 {
	switch c.Quantity {
	case "battery_v", "current_a", "vehicle_v":
		return t.k.SD[c.Name]
	}
	return math.Inf(1)
}

// row takes one sample in. A row without a time that can be read, or without
// any reading, is counted and told.
func (r *recording) row(cells []string, line int) {
	r.rows++
	at, err := r.when(cell(cells, r.at))
	if r.dates != nil && err == nil && r.time.To != stamp {
		at, err = r.onDay(cell(cells, r.dateAt), at)
	}
	if err != nil {
		r.wrong(line, r.time.Heading, err)
		return
	}
	values := r.values
	for i := range r.from {
		if values[i], err = r.value(i, cell(cells, r.from[i])); err != nil {
			r.wrong(line, r.matches[i].Heading, err)
			values[i] = math.NaN()
		}
	}
	if !r.follow(at, line) {
		return
	}
	for i, v := range values {
		r.record.Channels[i].X = append(r.record.Channels[i].X, v)
	}
}

func cell(cells []string, i int) string {
	if i < len(cells) {
		return cells[i]
	}
	return ""
}

func (r *recording) wrong(line int, heading string, err error) {
	if len(r.bad) < mostBad {
		r.bad = append(r.bad, problemAt(r.t.s.File, line, heading, "%v", err))
	}
	r.badRows++
}

// value is one reading in its column's unit; NaN where there is none.
func (r *recording) value(i int, text string) (float64, error) {
	m := r.matches[i]
	if x, ok := quick(text); ok && r.t.m.Decimal == "." {
		return x*times(m) + m.Plus, nil
	}
	if r.t.m.isEmpty(text) {
		return math.NaN(), nil
	}
	digits, err := r.t.number(m, r.columns[i], text)
	if err != nil {
		return math.NaN(), err
	}
	return strconv.ParseFloat(digits, 64)
}

func times(m *Match) float64 {
	if m.Times == 0 {
		return 1
	}
	return m.Times
}

// when is a sample's time in seconds, from midnight before the first where the
// file tells the day.
func (r *recording) when(text string) (float64, error) {
	switch {
	case text == "":
		return 0, fmt.Errorf("empty, want the time of the sample")
	case r.time.To == stamp:
		return r.stamped(text)
	case r.time.To == "time":
		return readClock(text)
	case strings.Contains(text, ":"):
		return readElapsed(text, r.time.Form)
	}
	if x, ok := quick(text); ok && r.t.m.Decimal == "." {
		return 60 * (x*times(r.time) + r.time.Plus), nil
	}
	digits, err := plain(text, orElse(r.t.m.Decimal, "."))
	if err != nil {
		return 0, err
	}
	x, err := strconv.ParseFloat(digits, 64)
	return 60 * (x*times(r.time) + r.time.Plus), err
}

func (r *recording) stamped(text string) (float64, error) {
	date, clock := splitStamp(text)
	day := r.dateDay
	var seconds float64
	var err error
	if date == r.date && clock != "" {
		seconds, err = readClock(clock)
	} else {
		day, seconds, _, err = readStamp(text, r.t.m.Date, r.time.Form)
	}
	if err != nil {
		return 0, err
	}
	r.date, r.dateDay = date, day
	if r.day.IsZero() {
		r.day = day
	}
	return seconds + day.Sub(r.day).Seconds(), nil
}

// onDay is a clock on the day of its row; minutes are counted from the first
// day as they are.
func (r *recording) onDay(text string, clock float64) (float64, error) {
	if text != r.date {
		day, _, _, err := readStamp(text, r.t.m.Date, r.dates.Form)
		if err != nil {
			return 0, err
		}
		r.date, r.dateDay = text, day
	}
	if r.day.IsZero() {
		r.day = r.dateDay
	}
	if r.time.To == "minute" {
		return clock, nil
	}
	return clock + r.dateDay.Sub(r.day).Seconds(), nil
}

// longGap is how many seconds without a sample, and back how many that a clock
// may go back, before the record counts as interrupted.
const (
	longGap = 1.0
	back    = 1.0
	halfDay = 43200
)

// follow puts a sample's time after the last; false for one out of order.
func (r *recording) follow(at float64, line int) bool {
	n := len(r.record.Time)
	at += r.shift
	if n > 0 && at < r.last {
		switch {
		case r.time.To == "time" && r.dates == nil && at < r.last-halfDay: // past midnight
			r.shift += 86400
			at += 86400
		case at >= r.last-back:
			r.backward++
			return false
		default:
			r.resets = append(r.resets, strconv.Itoa(line))
			r.shift += r.last + longGap - at
			at = r.last + longGap
			r.record.Breaks = append(r.record.Breaks, n)
		}
	}
	r.last = at
	r.record.Time = append(r.record.Time, at)
	r.lineOf = append(r.lineOf, int32(line))
	return true
}
