package plotting

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sagline/predict/drift"
)

// A Trace is what a picture of one quantity shows, ready to be drawn at any
// size, in the reader's units: each dive's own estimate, the level, and what happened.
type Trace struct {
	Title, Unit     string
	Says            string // the trend in words
	Points          []drift.Estimate
	Levels          []drift.Estimate // empty, or one a dive
	From            int              // first dive of the trend
	Baseline, Limit float64          // the limit NaN where there is none
	Low, High       float64          // range of y to draw
	Marks           []Mark
}

// A Mark is an alarm, or a service that touches the quantity, at a dive.
type Mark struct {
	Dive  int // from 0
	Alarm bool
	Words string
	Short string // for less room
}

// Fitting are the words that a place has room for.
func (m *Mark) Fitting(at Place) string {
	if at.Short {
		return m.Short
	}
	return m.Words
}

// ReadTrace finds a quantity in a report. Its error names those there are.
func ReadTrace(rep *drift.Report, quantity string) (*Trace, error) {
	q, err := find(rep, quantity)
	if err != nil {
		return nil, err
	}
	unit := rep.Unit(quantity)
	t := &Trace{Unit: unit.Name, Says: Says(q, unit.Name), From: q.From, Baseline: q.Baseline, Limit: math.NaN()}
	if q.Limit != nil {
		t.Limit = *q.Limit
	}
	t.Title = Shown(q.Cause.Words, 60)
	for _, d := range rep.Dives {
		e, known := d.Estimates[quantity]
		switch {
		case !known && !rep.Judged: // a dive by itself is where it is
			e = drift.Estimate{Value: q.Baseline, Low: q.Baseline, High: q.Baseline}
		case !known:
			return nil, fmt.Errorf("dive %q has no estimate of %s", d.Dive, quantity)
		}
		t.Points = append(t.Points, e.In(unit))
	}
	if len(q.Levels) == len(t.Points) {
		t.Levels = q.Levels
	}
	t.Low, t.High = t.span()
	t.Marks = marks(rep, q)
	return t, nil
}

// find is a quantity's trend, in the units that the report is shown in.
func find(rep *drift.Report, quantity string) (*drift.Trend, error) {
	var known []string
	for i := range rep.Trends {
		if rep.Trends[i].Quantity == quantity {
			t := rep.Trends[i].In(rep.Unit(quantity))
			return &t, nil
		}
		known = append(known, rep.Trends[i].Quantity)
	}
	return nil, fmt.Errorf("no quantity %q; there are %s", quantity, strings.Join(known, ", "))
}

// Says is a trend, held in unit, in words.
func Says(t *drift.Trend, unit string) string {
	switch {
	case t.Pattern == drift.Ramp && t.PerDive != nil:
		return strings.TrimSpace(fmt.Sprintf("%+.2g %s", t.PerDive.Value, unit)) + " a dive since dive " + Shown(t.OnsetDive, 20)
	case t.Pattern == drift.Step:
		return "step at dive " + Shown(t.OnsetDive, 20)
	case t.Pattern == drift.Intermittent:
		return "comes and goes within dives since dive " + Shown(t.OnsetDive, 20)
	}
	return t.State
}

// Amount is how far a trend, held in unit, is from its sound value.
func Amount(t *drift.Trend, unit string) string {
	switch s := t.Cause.Scale; {
	case s.Factor && t.Baseline != 0:
		return strings.Replace(fmt.Sprintf("%+.0f\u00a0%%", 100*(t.Level.Value/t.Baseline-1)), "-", "−", 1)
	case s.Absolute:
		return fmt.Sprintf("from %.2g to %s", t.Baseline, Number(t.Level.Value, unit))
	}
	return Number(t.Level.Value-t.Baseline, unit)
}

// far is how many times the width of the points the limit may lie away from
// them and still be drawn; so near, a sound quantity looks sound.
const far = 30.0

// span is the range that holds every point, the level's band, the baseline
// and, unless it is far away, the limit; bars may reach out by a quarter.
func (t *Trace) span() (lo, hi float64) {
	lo, hi = t.Baseline, t.Baseline
	for i, p := range t.Points {
		lo, hi = min(lo, p.Value), max(hi, p.Value)
		if t.Levels != nil && i >= t.From {
			lo, hi = min(lo, t.Levels[i].Low), max(hi, t.Levels[i].High)
		}
	}
	wide := hi - lo
	for _, p := range t.Points {
		wide = max(wide, p.High-p.Low)
	}
	// a first dive is its own baseline, and without any width
	bare := wide < 1e-9
	if wide = max(wide, 1e-6); bare && !math.IsNaN(t.Limit) || t.Limit > lo-far*wide && t.Limit < hi+far*wide {
		lo, hi = min(lo, t.Limit), max(hi, t.Limit)
	}
	low, high, room := lo, hi, (hi-lo)/4
	for _, p := range t.Points {
		low, high = min(low, max(p.Low, lo-room)), max(high, min(p.High, hi+room))
	}
	pad := max((high-low)*0.05, 1e-6)
	return low - pad, high + pad
}

// LimitShown says whether the limit lies within the range drawn.
func (t *Trace) LimitShown() bool { return t.Limit >= t.Low && t.Limit <= t.High }

// Clip brings a value into the range drawn.
func (t *Trace) Clip(y float64) float64 { return math.Min(math.Max(y, t.Low), t.High) }

// marks are a quantity's alarms, then the services that touch it: where words
// do not all fit, those of alarms come first.
func marks(rep *drift.Report, q *drift.Trend) []Mark {
	index, cleared := map[string]int{}, map[string]bool{}
	for i, d := range rep.Dives {
		index[d.Dive] = i
	}
	var out []Mark
	for _, a := range rep.Alarms {
		if a.Quantity != q.Quantity {
			continue
		}
		out = append(out, Mark{index[a.RaisedDive], true, "alarm, dive " + Shown(a.RaisedDive, 20), "alarm"})
		if a.ClearedDive != nil {
			cleared[*a.ClearedDive] = true
		}
	}
	for i, d := range rep.Dives {
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
