package plotting

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"sagline/predict/findings"
)

// A Gauge holds how far a quantity has gone from its sound value (0) to its limit (1), with the
// 95 % range.
type Gauge struct {
	Cause, Title     string // the cause's name and its quantity in words
	State            string // of package findings
	Says             string // level and limit in the reader's units
	Share, Low, High float64
}

// ReadGauges returns the gauges of all quantities with a limit, in the order of the report. There
// are none before dives are judged.
func ReadGauges(rep *findings.Report) []Gauge {
	var out []Gauge
	for _, t := range rep.Trends {
		if t.Limit == nil || !rep.Judged {
			continue
		}
		unit := rep.Unit(t.Quantity)
		size := t.Size()
		low, high := WayToLimit(&t, size.Low), WayToLimit(&t, size.High)
		g := Gauge{Cause: t.Cause.Name, Title: SafeText(t.Cause.Words, 60), State: t.State, Share: WayToLimit(&t, size.Value), Low: min(low, high), High: max(low, high)}
		t = t.In(unit)
		g.Says = Minus(t.LevelSaid(unit.Name)) + ", limit " + Number(*t.Limit, unit.Name)
		out = append(out, g)
	}
	return out
}

// WayToLimit returns the share of the way from a trend's sound value to its limit at which a
// level is; factors are compared by their logarithms. If the sound value is itself past the
// limit, it returns 1 plus the share of the limit by which the level exceeds it.
func WayToLimit(t *findings.Trend, level float64) float64 {
	way := *t.Limit - t.Baseline
	if t.Cause.Scale.Negative {
		way = -way
	}
	switch past := way*t.Cause.Worse < 0 || way == 0; {
	case past && t.Cause.Scale.Factor:
		return 1 + t.Cause.Worse*math.Log(level / *t.Limit)
	case past:
		return level / *t.Limit
	case t.Cause.Scale.Factor:
		return math.Log(level/t.Baseline) / math.Log(*t.Limit/t.Baseline)
	}
	return (level - t.Baseline) / (*t.Limit - t.Baseline)
}

// Percent words the share; a negative one is 0 %.
func (g *Gauge) Percent() string {
	if g.Share > mostShare {
		return fmt.Sprintf("> %.0f %%", 100*mostShare)
	}
	return fmt.Sprintf("%.0f %%", 100*max(g.Share, 0))
}

// mostShare is the largest share of the way to a limit that is written as a number; beyond it,
// Percent only says that it is more.
const mostShare = 10.0

// Nearest returns the gauge nearest to its limit, nil if there is none.
func Nearest(gauges []Gauge) *Gauge {
	if len(gauges) == 0 {
		return nil
	}
	return new(slices.MaxFunc(gauges, func(a, b Gauge) int { return cmp.Compare(a.Share, b.Share) }))
}

// Picture draws a quantity between its sound value and its limit, with its 95 % range, which is
// hatched if the readings cannot tell sound from past the limit.
func (g *Gauge) Picture() *Picture {
	const from, to, y, beyond = 78.0, 264.0, 12.0, 0.08
	at := func(share float64) float64 { return from + min(max(share, -beyond), 1+beyond)*(to-from) }
	p := &Picture{Title: g.Title, Says: g.State + ": " + g.Says, Width: OnPage.Width, High: 24,
		Alt: fmt.Sprintf("%s: %s, %s of the way to its limit; %s.", g.Title, g.State, g.Percent(), g.Says)}
	p.path("quiet", append(line(from, y, to, y), line(from, y-6, from, y+6)...))
	p.path("limit", line(to, y-8, to, y+8))
	low, high := at(g.Low), at(g.High)
	if g.State == findings.CannotTell {
		p.path("measured", append(box(low, y-5, high, y+5), hatch(low, y-5, high, y+5)...))
	} else {
		p.path("measured full", box(low, y-3, max(high, low+1), y+3))
	}
	p.path("empty measured", box(at(g.Share)-1.5, y-5, at(g.Share)+1.5, y+5)) // stands out on its range
	p.text("quiet", "sound", 0, y+4)
	p.text("e limit", "limit", OnPage.Width, y+4)
	return p
}
