package plotting

import (
	"math"
	"slices"
	"strings"

	"sagline/predict/findings"
)

// A Trace is the content of a picture of one quantity, in the reader's units: the estimate from
// each dive alone, the level estimated from all dives, and events.
type Trace struct {
	Title, Unit     string
	Says            string              // its trend in words
	Points          []findings.Estimate // unread where the dive has no reading of it
	Bands           []Band              // one for each period between services, oldest first
	Begun           []float64           // for each dive, the probability that the trend began there
	Ahead           []findings.Ahead    // of a ramp: now, then after each further dive
	Baseline, Limit float64             // Limit is NaN if there is none
	Low, High       float64             // range of y to draw
	Marks           []Mark
}

// A Band is the level, with its 95 % range, at each dive from dive From on.
type Band struct {
	From   int
	Levels []findings.Estimate
	Open   bool // readings cannot tell whether it is sound
}

// A Mark is an alarm, or a service or rebuild that concerns the quantity, at a dive.
type Mark struct {
	Dive  int // from 0
	Alarm bool
	Words string
	Short string // words for less room
}

// fitting returns the words that a position has room for.
func (m *Mark) fitting(at Position) string {
	if at.Short {
		return m.Short
	}
	return m.Words
}

// ReadTrace returns the trace of one of a report's quantities.
func ReadTrace(rep *findings.Report, quantity string) *Trace {
	unit := rep.Unit(quantity)
	q := new(rep.Trend(quantity).In(unit))
	t := &Trace{Unit: unit.Name, Says: Says(q, unit.Name) + before(rep, q, unit.Name), Begun: q.Begun, Ahead: q.Ahead[:horizon(q)],
		Baseline: q.Baseline, Limit: math.NaN()}
	if q.Limit != nil {
		t.Limit = *q.Limit
	}
	t.Title = SafeText(q.Cause.Words, 60)
	for _, d := range rep.Dives {
		e, known := d.Estimates[quantity]
		switch {
		case !known && len(d.Estimates) > 0:
			e = unread
		case !known: // the first dives are themselves the baseline
			e = findings.Estimate{Value: q.Baseline, Low: q.Baseline, High: q.Baseline}
			t.Says = Says(q, unit.Name) + ": a first dive stands at sound, compared with nothing"
		}
		t.Points = append(t.Points, e.In(unit))
	}
	for _, e := range q.Eras {
		t.Bands = append(t.Bands, Band{From: e.From, Levels: e.Levels})
	}
	if len(q.Levels) == len(t.Points) {
		t.Bands = append(t.Bands, Band{q.From, q.Levels[q.From:], q.State == findings.CannotTell})
	}
	t.Low, t.High = t.heights()
	t.Marks = marks(rep, q)
	return t
}

// unread stands for a dive's estimate of a quantity that it has no reading of.
var unread = findings.Estimate{Value: math.NaN(), Low: math.NaN(), High: math.NaN()}

func isUnread(e findings.Estimate) bool { return math.IsNaN(e.Value) }

// leastAhead is the least number of dives ahead for which a ramp is drawn.
const leastAhead = 3

// horizon returns the number of points ahead that are drawn: until the limit is passed with a
// probability of 95 %.
func horizon(t *findings.Trend) int {
	for k, a := range t.Ahead {
		if k > leastAhead && a.Past > 0.95 {
			return k + 1
		}
	}
	return len(t.Ahead)
}

// far is the largest distance of a limit that is drawn, in widths of the range of points. It is so
// large that sound quantities look sound beside their limits.
const far = 30.0

// heights returns the range of y that shows all points, bands, the baseline and, unless it is far
// away, the limit. The range grows by up to a quarter at each end for bars and levels ahead.
func (t *Trace) heights() (lo, hi float64) {
	lo, hi = t.Baseline, t.Baseline
	outer := slices.DeleteFunc(slices.Clone(t.Points), isUnread)
	for _, p := range outer {
		lo, hi = min(lo, p.Value), max(hi, p.Value)
	}
	for _, b := range t.Bands {
		for _, l := range b.Levels {
			lo, hi = min(lo, l.Low), max(hi, l.High)
		}
	}
	width := hi - lo
	for _, p := range outer {
		width = max(width, p.High-p.Low)
	}
	for _, a := range t.Ahead {
		outer = append(outer, a.Level)
	}
	// the first dives are their own baseline, so that the range may have no width
	none := width < 1e-9
	if width = max(width, 1e-6); none && !math.IsNaN(t.Limit) || t.Limit > lo-far*width && t.Limit < hi+far*width {
		lo, hi = min(lo, t.Limit), max(hi, t.Limit)
	}
	low, high, room := lo, hi, (hi-lo)/4
	for _, p := range outer {
		low, high = min(low, max(p.Low, lo-room)), max(high, min(p.High, hi+room))
	}
	pad := max((high-low)*0.05, 1e-6)
	return low - pad, high + pad
}

// limited reports whether there is a limit.
func (t *Trace) limited() bool { return !math.IsNaN(t.Limit) }

// limitDrawn reports whether the limit is in the range to draw.
func (t *Trace) limitDrawn() bool { return t.Limit >= t.Low && t.Limit <= t.High }

// marks lists a quantity's alarms, newest first, then the services and rebuilds that concern it.
// Words are placed in this order while there is room.
func marks(rep *findings.Report, q *findings.Trend) []Mark {
	index, cleared := map[string]int{}, map[string]bool{}
	for i, d := range rep.Dives {
		index[d.Dive] = i
	}
	var out []Mark
	for _, a := range slices.Backward(rep.Alarms) {
		if a.Quantity != q.Quantity {
			continue
		}
		out = append(out, Mark{index[a.RaisedDive], true, "alarm, dive " + DiveLabel(a.RaisedDive, 20), "alarm"})
		if a.ClearedDive != nil {
			cleared[*a.ClearedDive] = true
		}
	}
	for i, d := range rep.Dives {
		if len(d.Rebuilt) > 0 && (q.From == i || slices.ContainsFunc(q.Eras, func(e findings.Era) bool { return e.To == i })) {
			out = append(out, Mark{i, false, SafeText(strings.Join(d.Rebuilt, ", "), 40) + " rebuilt", "rebuilt"})
		}
		parts := slices.DeleteFunc(slices.Clone(d.Serviced), func(p string) bool { return !slices.Contains(q.Cause.Cleared, p) })
		if len(parts) == 0 {
			continue
		}
		m := Mark{i, false, strings.Join(slices.Compact(parts), ", ") + " serviced", "serviced"}
		if cleared[d.Dive] {
			m.Words += ", alarm cleared"
		}
		out = append(out, m)
	}
	return out
}
