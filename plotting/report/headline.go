package report

import (
	"fmt"
	"slices"
	"strings"

	"sagline/plotting"
	"sagline/predict/audit"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/session/problem"
)

// headlines returns the state of the vehicle if nothing has been found, and where it differs from
// vehicle.toml.
func headlines(r *fit.Result, rep *findings.Report) []string {
	var out []string
	for _, m := range audit.Mismatches(r) {
		out = append(out, plotting.Capital(plotting.Sentence(m.Said())))
	}
	switch {
	case len(rep.Reported()) > 0:
		return out
	case len(r.Dives) == 0:
		return []string{"No dives yet: the first ones will be the baseline that later ones are judged by."}
	}
	return append([]string{plotting.Capital(plotting.Sentence(rep.Verdict())) + "."}, out...)
}

// remarks returns, as sentences, a report's remarks that are not among the headlines.
func remarks(r *fit.Result, rep *findings.Report) (out []string) {
	said := audit.Mismatches(r)
	for _, text := range rep.Remarks {
		if slices.ContainsFunc(said, func(m audit.Mismatch) bool { return m.Text == text }) {
			continue
		}
		if !strings.HasSuffix(text, "?") {
			text += "."
		}
		out = append(out, text)
	}
	return out
}

// mostHistory is the largest number of ended alarms that are listed.
const mostHistory = 3

// history lists alarms that have ended, and what was rebuilt.
func history(rep *findings.Report, dated bool) []string {
	var out []string
	for _, a := range rep.Alarms {
		if a.ClearedDive == nil {
			continue
		}
		out = append(out, fmt.Sprintf("%s: alarm for a change since %s, %s.", plotting.Capital(plotting.SafeText(a.Cause.Words, 60)), when(rep, a.OnsetDive, dated), a.Ended(plotting.ShortName(*a.ClearedDive))))
	}
	if more := len(out) - mostHistory; more > 0 {
		out = append(out[more:], fmt.Sprintf("%s before these ended too.", problem.Count(more, "alarm")))
	}
	for _, b := range rep.Rebuilt {
		out = append(out, plotting.Sentence("Rebuilt "+b+"."))
	}
	return out
}
