package page

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sagline/plotting"
	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/session/problem"
)

// headlines say what has changed, in plain words, the most probable first;
// one line when nothing has.
func headlines(r *fit.Result, rep *drift.Report, dated bool) []string {
	var out []string
	slower := ""
	for _, f := range rep.Findings {
		line, speed := headline(r, rep, f, dated)
		if slower == "" {
			slower = speed
		}
		out = append(out, line)
	}
	if slower != "" {
		out = append(out, slower)
	}
	for _, m := range r.Mismatches() {
		out = append(out, "From the start: "+plotting.Shown(m.Text, 300))
	}
	if len(rep.Findings) > 0 {
		return out
	}
	if len(r.Dives) == 0 {
		return []string{"No dives yet: the first ones will be the baseline that later ones are judged against."}
	}
	verdict := rep.Verdict()
	return append(out, strings.ToUpper(verdict[:1])+plotting.Shown(verdict[1:], 400)+".")
}

// headline is a finding in plain words, and what it does to speed when that
// shows.
func headline(r *fit.Result, rep *drift.Report, f drift.Finding, dated bool) (line, slower string) {
	when := since(rep, f.SinceDive, dated)
	line = strings.ToUpper(f.Cause.What[:1]) + plotting.Shown(f.Cause.What[1:], 100)
	i := slices.IndexFunc(rep.Trends, func(t drift.Trend) bool { return t.Quantity == f.Cause.Quantity })
	if i < 0 || len(f.Cause.Amplitudes) == 0 {
		return line + " " + when + ".", ""
	}
	unit := rep.Unit(rep.Trends[i].Quantity)
	t := rep.Trends[i].In(unit)
	line += " (" + plotting.Amount(&t, unit.Name) + ") " + when + untilLimit(&t, unit.Name) + "."
	told, ok := drift.Project(r, rep, i)
	if !ok || told.Now > 0.97*told.Sound {
		return line, ""
	}
	speed := rep.Units.In("m/s")
	slower = fmt.Sprintf("Ahead on a full battery it makes %s now, %s when sound", speed.Show(told.Now, 2), speed.Number(told.Sound, 2))
	if d := told.DivesToHalf; !math.IsNaN(d) && d >= 1 {
		slower += fmt.Sprintf("; at this rate half the speed is gone in about %s", problem.Count(int(math.Round(d)), "dive"))
	}
	return line, slower + "."
}

// untilLimit is how far the limit of a trend, held in unit, still is.
func untilLimit(t *drift.Trend, unit string) string {
	d := t.DivesToLimit
	if d == nil || t.Limit == nil {
		return ""
	}
	limit := "its limit of " + plotting.Number(*t.Limit, unit)
	if t.Cause.Scale.Factor {
		limit = fmt.Sprintf("the limit of %+.0f\u00a0%%", 100*(*t.Limit/t.Baseline-1))
	}
	switch {
	case d.High == 0:
		return "; it is past " + limit
	case d.Value < 1:
		return "; less than a dive until " + limit
	default:
		return "; about " + problem.Count(int(math.Round(d.Value)), "dive") + " until " + limit
	}
}

// mostHistory is how many services that cleared an alarm are told of.
const mostHistory = 3

// history is what was found and mended before.
func history(rep *drift.Report, dated bool) []string {
	var out []string
	for _, a := range rep.Alarms {
		if a.ClearedDive == nil {
			continue
		}
		words := a.Cause.Words
		out = append(out, fmt.Sprintf("%s drifted %s until the service at dive %s cleared its alarm.",
			strings.ToUpper(words[:1])+plotting.Shown(words[1:], 60), since(rep, a.OnsetDive, dated), short(*a.ClearedDive)))
	}
	if more := len(out) - mostHistory; more > 0 {
		out = append(out[more:], fmt.Sprintf("%s before that had been cleared by a service too.", problem.Count(more, "alarm")))
	}
	return out
}

// Nearness is how near the worst quantity is to its limit.
type Nearness struct {
	Words string
	Share float64 // of the way from sound to the limit, 0 to 1
}

// Percent is Share for a person.
func (n Nearness) Percent() string { return fmt.Sprintf("%.0f %%", 100*n.Share) }

// Wide is Share as a length of 60.
func (n Nearness) Wide() string { return fmt.Sprintf("%.1f", 60*n.Share) }

func nearest(rep *drift.Report) Nearness {
	out := Nearness{Words: "none"}
	for _, t := range rep.Trends {
		if t.Limit == nil {
			continue
		}
		way := (t.Level.Value - t.Baseline) / (*t.Limit - t.Baseline)
		if way > out.Share || out.Words == "none" {
			words := t.Cause.Words
			out = Nearness{plotting.Shown(words, 60), min(max(way, 0), 1)}
		}
	}
	return out
}
