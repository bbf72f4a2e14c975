package importer

import (
	"strconv"
	"time"

	"sagline/session"
	"sagline/session/problem"
	"sagline/session/quantity"
)

// against holds the dives against those of the log: those that it has already
// are left out, and a label of another dive is told.
func (t *taking) against(log *session.Log, o Options) {
	fresh, _ := t.log()
	if fresh == nil {
		return
	}
	has := divesOf(log)
	drop, rename := map[string]bool{}, map[string]string{}
	for i := range fresh.Dives {
		d := &fresh.Dives[i]
		old, same := has.like(d)
		switch {
		case old == nil:
		case o.Again:
			rename[d.Label] = ""
		case !old.Date.Equal(d.Date):
			t.problem(t.lineOf(d.Lines[0].Number), "",
				`dive %s is another dive in the log, of %s; prefix = "old-" in the mapping tells them apart, dives = "date" numbers anew`,
				problem.Quote(d.Label), old.Date.Format(time.DateOnly))
		default:
			drop[d.Label] = true
			t.out.Skipped = append(t.out.Skipped, Skip{d.Label, t.lineOf(d.Lines[0].Number), old.Label, same})
		}
	}
	t.keep(drop, rename)
	t.inOrder(log)
}

// diveIndex finds dives by label and by day.
type diveIndex struct {
	label map[string]*session.Dive
	day   map[time.Time][]*session.Dive
}

func divesOf(log *session.Log) diveIndex {
	x := diveIndex{map[string]*session.Dive{}, map[time.Time][]*session.Dive{}}
	for i := range log.Dives {
		d := &log.Dives[i]
		x.label[d.Label] = d
		x.day[d.Date] = append(x.day[d.Date], d)
	}
	return x
}

// like is the dive that d may be once more: one of its day that reads alike,
// whatever its label, else the one of its label; nil without any.
func (x diveIndex) like(d *session.Dive) (old *session.Dive, same bool) {
	for _, o := range x.day[d.Date] {
		if sameReadings(o, d) {
			return o, true
		}
	}
	return x.label[d.Label], false
}

// keep leaves dives out and gives others the next free numbers.
func (t *taking) keep(drop map[string]bool, rename map[string]string) {
	next := t.nextLabel()
	for _, l := range t.out.Lines {
		if n, err := strconv.Atoi(l.Cells["dive"]); err == nil && n >= next {
			next = n + 1
		}
	}
	kept := t.out.Lines[:0]
	for _, l := range t.out.Lines {
		label := l.Cells["dive"]
		if drop[label] {
			continue
		}
		if to, ok := rename[label]; ok {
			if to == "" {
				to = strconv.Itoa(next)
				rename[label] = to
				next++
			}
			l.Cells["dive"] = to
		}
		kept = append(kept, l)
	}
	t.out.Lines = kept
	if t.m.Dives != ByColumn && len(drop) > 0 {
		t.renumber()
	}
}

// renumber closes the gaps that dropped dives leave in labels that were given
// here.
func (t *taking) renumber() {
	next, to := t.nextLabel(), map[string]string{}
	for _, l := range t.out.Lines {
		label := l.Cells["dive"]
		if to[label] == "" {
			to[label] = strconv.Itoa(next)
			next++
		}
		l.Cells["dive"] = to[label]
	}
}

// inOrder tells of dives before the log's newest.
func (t *taking) inOrder(log *session.Log) {
	if len(log.Dives) == 0 {
		return
	}
	newest := log.Dives[len(log.Dives)-1].Date.Format(time.DateOnly)
	for _, l := range t.out.Lines {
		if d := l.Cells["date"]; d != "" && d < newest {
			t.problem(l.Number, "",
				"dive of %s is before the log's newest, %s, and a log is in order of dates; import older dives into a logbook of their own", d, newest)
			return
		}
	}
}

// sameReadings says whether two dives read alike, line by line.
func sameReadings(a, b *session.Dive) bool {
	if len(a.Lines) != len(b.Lines) {
		return false
	}
	some := false
	for i := range a.Lines {
		for q := range quantity.Count {
			x, y := a.Lines[i].Readings[q], b.Lines[i].Readings[q]
			if x.Measured() != y.Measured() || !near(x.X, y.X) {
				return false
			}
			some = some || x.Measured()
		}
	}
	return some
}

func near(x, y float64) bool {
	d := x - y
	return max(d, -d) <= 1e-9*max(1, x, -x)
}
