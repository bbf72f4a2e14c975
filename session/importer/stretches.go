package importer

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"sagline/session"
	"sagline/session/problem"
	"sagline/session/steady"
)

// A Stretch is what a line of a logger's file rests on.
type Stretch struct {
	StartS, EndS float64 // since the first sample
	Samples      int
	Means        []Reading
}

// A Reading is one column's mean over a stretch, in the column's unit.
type Reading struct {
	Column string
	steady.Mean
}

// tell says what was odd about the samples, as problems where it is too much.
func (r *recording) tell() {
	t := r.t
	n := len(r.record.Time)
	if n == 0 || float64(r.badRows) > badShare*float64(r.rows) {
		for _, p := range r.bad {
			t.out.Problems = append(t.out.Problems, p)
		}
		t.problem(0, "", "%d of %d samples cannot be read", r.badRows, r.rows)
		return
	}
	for _, p := range r.bad {
		t.remark("%v; sample left out", p)
	}
	if more := r.badRows - len(r.bad); more > 0 {
		t.remark("… and %d more that cannot be read, of %d samples", more, r.rows)
	}
	if r.backward > 0 {
		t.remark("%s with a time before the one above, left out", problem.Count(r.backward, "sample"))
	}
	if len(r.resets) > 0 {
		t.remark("the clock began again at %s: minutes are counted on from there", few(r.resets))
	}
	r.gaps()
}

// gaps finds where samples are missing.
func (r *recording) gaps() {
	interval := steady.Interval(&r.record)
	longest, n := 0.0, 0
	for i := 1; i < len(r.record.Time); i++ {
		gap := r.record.Time[i] - r.record.Time[i-1]
		if gap > max(longGap, 10*interval) {
			if !slices.Contains(r.record.Breaks, i) {
				r.record.Breaks = append(r.record.Breaks, i)
				n++
				longest = max(longest, gap)
			}
		}
	}
	slices.Sort(r.record.Breaks)
	if n > 0 {
		r.t.remark("%s without samples, the longest %s", problem.Count(n, "gap"), lasting(longest))
	}
}

// lines makes a line of each stretch.
func (r *recording) lines(o Options) {
	t := r.t
	settings := t.m.settings()
	found := steady.Cut(&r.record, settings)
	began := r.record.Time[0]
	kept := 0.0
	for _, st := range found {
		l := r.line(st)
		kept += l.Stretch.EndS - l.Stretch.StartS
		t.constants(l.Cells, o)
		t.out.Lines = append(t.out.Lines, l)
	}
	if t.m.Dives == ByFile && len(t.out.Lines) > 0 && t.out.Lines[0].Cells["date"] != "" {
		for _, l := range t.out.Lines[1:] {
			delete(l.Cells, "date") // a night's dive stays one
		}
	}
	whole := r.record.Time[len(r.record.Time)-1] - began
	t.remark("%d samples over %s: %s, %s in all; the rest is switching, settling or shorter than %g s", len(r.record.Time), lasting(whole),
		problem.Count(len(found), "steady stretch"), lasting(kept), settings.LeastS)
	r.proposeLevels(found)
}

// line is a stretch as a line, at the middle of its time.
func (r *recording) line(st steady.Stretch) Line {
	began := r.record.Time[0]
	s := &Stretch{StartS: r.record.Time[st.From] - began, EndS: r.record.Time[st.To-1] - began, Samples: st.To - st.From}
	cells := map[string]string{"minute": fixed((s.StartS+s.EndS)/120, 3)}
	if !r.day.IsZero() {
		cells["date"] = r.day.AddDate(0, 0, int(r.record.Time[st.From]/86400)).Format(time.DateOnly)
	}
	for i, m := range st.Means {
		s.Means = append(s.Means, Reading{r.columns[i].Name, m})
		if m.N > 0 {
			r.mean(cells, i, m)
		}
	}
	if to := r.t.level(s); to != "" {
		cells["thrusters"] = to
	}
	cells["note"] = r.note(s)
	return Line{Number: int(r.lineOf[st.From]), Cells: cells, Stretch: s}
}

// mean writes a channel's mean with no more decimals than its standard error
// bears out. Noise about zero may put it a little below what a column takes.
func (r *recording) mean(cells map[string]string, i int, m steady.Mean) {
	c := r.columns[i]
	x := m.Value
	if x < c.Lowest && x > c.Lowest-max(3*m.SD, r.t.k.SD[c.Name]) {
		x = c.Lowest
	}
	decimals := 3
	if m.SE > 0 {
		decimals = min(4, max(1, int(math.Ceil(-math.Log10(m.SE)))))
	}
	cells[c.Name] = fixed(x, decimals)
}

// note says what a line's numbers are.
func (r *recording) note(s *Stretch) string {
	var sds []string
	aside := 0
	var drifts []string
	for i, m := range s.Means {
		c := r.columns[i]
		if m.N == 0 {
			continue
		}
		sds = append(sds, significant(m.SD, 2)+" "+c.Unit)
		aside = max(aside, m.SetAside)
		if d := math.Abs(m.Drift); d > 10*m.SE && d > r.t.k.SD[c.Name] && !math.IsInf(r.record.Channels[i].Least, 1) {
			word := "rises"
			if m.Drift < 0 {
				word = "falls"
			}
			drifts = append(drifts, fmt.Sprintf("%s %s %s", word, significant(d, 2), c.Unit))
		}
	}
	text := fmt.Sprintf("mean of %d samples over %s s, sd %s", s.Samples, fixed(s.EndS-s.StartS, 1), strings.Join(sds, ", "))
	if len(drifts) > 0 {
		text += ", " + strings.Join(drifts, ", ")
	}
	if aside > 0 {
		text += fmt.Sprintf(", %d set aside", aside)
	}
	return text
}

// significant is a number to so many digits, without exponent.
func significant(x float64, n int) string {
	if !(math.Abs(x) > 0) || math.IsInf(x, 0) {
		return "0"
	}
	return fixed(x, max(0, n-1-int(math.Floor(math.Log10(math.Abs(x))))))
}

func lasting(s float64) string {
	switch {
	case s < 120:
		return fixed(s, 1) + " s"
	case s < 7200:
		return fixed(s/60, 1) + " min"
	}
	return fixed(s/3600, 2) + " h"
}

// level is which thrusters a stretch ran with by the mapping's levels, "" where
// none holds it.
func (t *taking) level(s *Stretch) string {
	for _, l := range t.m.Levels {
		for _, m := range s.Means {
			if m.Column == l.Column && m.Value >= l.From && m.Value <= l.To {
				return l.Thrusters
			}
		}
	}
	return ""
}

// proposeLevels finds the levels that the currents of the stretches lie at,
// for a person to say which thrusters each is.
func (r *recording) proposeLevels(found []steady.Stretch) {
	at := slices.IndexFunc(r.columns, func(c *session.Column) bool { return c.Quantity == "current_a" })
	if at < 0 || len(r.t.m.Levels) > 0 || r.t.m.Constant["thrusters"] != "" {
		return
	}
	var x []float64
	for _, st := range found {
		if m := st.Means[at]; m.N > 0 {
			x = append(x, m.Value)
		}
	}
	slices.Sort(x)
	var said []string
	for i := 0; i < len(x); {
		k := i + 1
		for k < len(x) && x[k]-x[k-1] < max(0.5, 3*r.t.k.SD["current_a"], 0.1*x[k]) {
			k++
		}
		lo, hi := x[i], x[k-1]
		room := max(0.25, 0.05*hi)
		r.t.m.Levels = append(r.t.m.Levels, Level{r.columns[at].Name, tidy(math.Floor((lo-room)*10) / 10), tidy(math.Ceil((hi+room)*10) / 10), ""})
		said = append(said, fmt.Sprintf("%s A (%s)", fixed((lo+hi)/2, 1), problem.Count(k-i, "line")))
		i = k
	}
	if len(said) > 0 {
		r.t.remark("the current lies at %s: say under [[level]] in the mapping which thrusters those are, or leave it unsaid", strings.Join(said, ", "))
	}
}
