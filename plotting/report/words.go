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

// period words how many dives there are, and from when to when.
func period(dives []findings.Dive, dated bool) string {
	out := problem.Count(len(dives), "dive")
	if !dated || len(dives) == 0 {
		return out
	}
	from, to := dives[0].Date, dives[len(dives)-1].Date
	switch {
	case from == "" || to == "":
		return out
	case from == to:
		return out + ", " + plotting.Day(to, "2 January 2006")
	case from[:4] == to[:4]:
		return fmt.Sprintf("%s, %s to %s", out, plotting.Day(from, "2 January"), plotting.Day(to, "2 January 2006"))
	}
	return fmt.Sprintf("%s, %s to %s", out, plotting.Day(from, "2 January 2006"), plotting.Day(to, "2 January 2006"))
}

// when names a dive with its day.
func when(rep *findings.Report, label string, dated bool) string {
	for i := range rep.Dives {
		if rep.Dives[i].Dive == label && dated && rep.Dives[i].Date != "" {
			return fmt.Sprintf("%s (dive %s)", plotting.Day(rep.Dives[i].Date, "2 January 2006"), plotting.ShortName(label))
		}
	}
	return "dive " + plotting.ShortName(label)
}

// happened lists a dive's services, rebuilds, alarms and cells set aside, "" if there are none.
func happened(rep *findings.Report, d int) string {
	var out []string
	dive := &rep.Dives[d]
	if len(dive.Serviced) > 0 {
		out = append(out, strings.Join(slices.Compact(slices.Clone(dive.Serviced)), ", ")+" serviced")
	}
	if len(dive.Rebuilt) > 0 {
		out = append(out, plotting.SafeText(strings.Join(dive.Rebuilt, ", "), 60)+" rebuilt")
	}
	for _, a := range rep.Alarms {
		words := plotting.SafeText(a.Cause.Words, 40)
		if a.RaisedDive == dive.Dive {
			out = append(out, "alarm: "+words)
		}
		if a.ClearedDive != nil && *a.ClearedDive == dive.Dive {
			out = append(out, "alarm cleared: "+words)
		}
	}
	if n := len(dive.SetAside); n > 0 {
		out = append(out, fmt.Sprintf("%d set aside", n))
	}
	return strings.Join(out, "; ")
}

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
