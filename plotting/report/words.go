package report

import (
	"fmt"
	"slices"
	"strings"

	"sagline/plotting"
	"sagline/predict/findings"
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
