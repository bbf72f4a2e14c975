package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sagline/plotting"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/outlook"
	"sagline/session/problem"
)

// A Finding is a finding as the page shows it, with answers to what a reader asks first.
type Finding struct {
	Fault   string // in one or two words, for an overview
	What    string
	Answers []Answer
	Because []string
	Picture *plotting.Picture // nil if its quantity has no trend

	severity float64 // the higher, the worse
}

// An Answer is a named answer of a finding.
type Answer struct{ Name, Words string }

// finding words a finding. Vehicle.trends adds its picture.
func finding(r *fit.Result, rep *findings.Report, f *findings.Finding, dated bool) Finding {
	out := Finding{Fault: plotting.SafeText(f.Words(), 60), What: plotting.Capital(plotting.Sentence(f.What())), Because: texts(f.Evidence)}
	i := slices.IndexFunc(rep.Trends, func(t findings.Trend) bool { return t.Quantity == f.Cause.Quantity })
	out.severity = severity(rep, f, i)
	left, speed := "no limit is set for it", ""
	if f.Cause.Fails.Jam() {
		left = "not another second under power"
	}
	if i >= 0 {
		unit := rep.Unit(rep.Trends[i].Quantity)
		t := rep.Trends[i].In(unit)
		if (len(f.Cause.Amplitudes) > 0 || t.ComesBy != nil) && len(f.Either) == 0 {
			out.What += " (" + plotting.Amount(&t, unit.Name) + ")"
		}
		if words := untilLimit(&t, unit.Name); words != "" {
			left = words
		}
		speed = slower(r, rep, i)
	}
	out.What += "."
	out.Answers = []Answer{{"Since", onset(rep, f, dated)}, {"How sure", findings.Sure(f.Sure()) + plotting.Sentence(f.OrElse())}, {"How long", left}}
	if speed != "" {
		out.Answers = append(out.Answers, Answer{"Speed", speed})
	}
	if f.Test != nil {
		out.Answers = append(out.Answers, Answer{"To separate them", plotting.Sentence(f.Test.Words)})
	}
	out.Answers = append(out.Answers, Answer{"Check", plotting.Sentence(f.CheckNext)})
	return out
}

// severity orders findings, the worst highest: those of the vehicle above those of instruments and
// the log, and within each group by how far their quantity, trend i, has gone to its limit. Without
// a limit it counts as reached.
func severity(rep *findings.Report, f *findings.Finding, i int) float64 {
	share := 1.0
	if i >= 0 && rep.Trends[i].Limit != nil {
		share = max(plotting.WayToLimit(&rep.Trends[i], rep.Trends[i].Size().Value), 0)
	}
	if f.Cause.Kind != causes.Vehicle {
		return 1 + min(share, 1)
	}
	return 2 + share
}

// onset words since when a finding holds, and the range of dives in which it may have begun.
func onset(rep *findings.Report, f *findings.Finding, dated bool) string {
	out := when(rep, f.SinceDive, dated)
	if f.OnsetFrom != f.OnsetTo {
		out += fmt.Sprintf(", or from dive %s to %s", plotting.ShortName(f.OnsetFrom), plotting.ShortName(f.OnsetTo))
	}
	for _, again := range f.Again {
		out += ", and again since " + when(rep, again, dated)
	}
	return out
}

// slower words what a trend does to speed; "" if that is less than 3 %.
func slower(r *fit.Result, rep *findings.Report, i int) string {
	ahead, ok := outlook.Project(r, rep, i)
	if !ok || ahead.Now > 0.97*ahead.Sound {
		return ""
	}
	unit := rep.Units.In("m/s")
	out := fmt.Sprintf("%s ahead at the surface on a full battery, %s when sound", unit.Show(ahead.Now, 2), unit.Number(ahead.Sound, 2))
	if d := ahead.DivesToHalf; !math.IsNaN(d) && d >= 1 {
		out += fmt.Sprintf("; half of it gone in about %s", problem.Count(int(math.Round(d)), "dive"))
	}
	return out
}

// untilLimit words how far a trend, whose values are in unit, is from its limit; "" if it has none.
func untilLimit(t *findings.Trend, unit string) string {
	if t.Limit == nil {
		return ""
	}
	limit := "its limit of " + plotting.Number(*t.Limit, unit)
	if t.Cause.Scale.Factor && !t.Cause.Scale.Absolute {
		limit = plotting.Minus(fmt.Sprintf("its limit of %+.0f\u00a0%%", 100*(*t.Limit/t.Baseline-1)))
	}
	d := t.DivesToLimit
	switch {
	case t.ComesBy != nil && plotting.WayToLimit(t, t.ComesBy.High) < 1:
		return "it comes and goes, within " + limit
	case t.ComesBy != nil:
		return "it comes and goes, at its worst past " + limit
	case d == nil && plotting.WayToLimit(t, t.Level.Value) < 1:
		return fmt.Sprintf("it does not grow from dive to dive; %.0f\u00a0%% of the way to %s", 100*plotting.WayToLimit(t, t.Level.Value), limit)
	case d == nil && min(plotting.WayToLimit(t, t.Level.Low), plotting.WayToLimit(t, t.Level.High)) < 1:
		return "likely past " + limit + ", as far as these readings tell"
	case d == nil || d.High == 0:
		return "past " + limit
	case d.Low == 0:
		limit += ", which may be passed already"
	}
	if d.Value < 1 {
		return "less than a dive until " + limit + chances(t)
	}
	return "about " + problem.Count(int(math.Round(d.Value)), "dive") + " until " + limit + chances(t)
}

// chances words the probability that the limit is passed after one, two and three dives.
func chances(t *findings.Trend) string {
	var out []string
	for k, a := range t.Ahead {
		if k >= 1 && k <= 3 {
			out = append(out, fmt.Sprintf("%.0f", 100*a.Past))
		}
	}
	if len(out) == 0 {
		return ""
	}
	return "; odds that it is passed after 1, 2, 3 dives: " + strings.Join(out, ", ") + "\u00a0%"
}
