package checklist

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/problem"
)

// A Due is when a part is to be worked on again.
type Due struct {
	Part    string
	Since   string // dive before which it was serviced last, "" where it never was
	Overdue bool
	Text    string
}

// DueParts are what the file's maintenance intervals say on a day, in the
// file's order; a part that was never serviced counts from the first dive.
func DueParts(v *vehicle.Vehicle, log *session.Log, today time.Time) (out []Due) {
	for i := range v.Maintenance {
		if m := &v.Maintenance[i]; m.Dives > 0 || m.Days > 0 {
			out = append(out, due(m, log, today))
		}
	}
	return out
}

func due(m *vehicle.Interval, log *session.Log, today time.Time) Due {
	d, first := Due{Part: m.Part}, 0
	for i := range log.Dives {
		if slices.ContainsFunc(log.Dives[i].Lines, func(l session.Line) bool { return slices.Contains(l.Serviced, m.Part) }) {
			d.Since, first = log.Dives[i].Label, i
		}
	}
	dives, days := len(log.Dives)-first, 0
	if len(log.Dives) > 0 {
		days = max(int(today.Sub(log.Dives[first].Date).Hours()/24), 0)
	}
	var left []string
	for _, x := range []struct {
		every, done int
		unit        string
	}{{m.Dives, dives, "dive"}, {m.Days, days, "day"}} {
		if x.every == 0 {
			continue
		}
		d.Overdue = d.Overdue || x.done >= x.every
		left = append(left, fmt.Sprintf("%d of %s", x.done, problem.Count(x.every, x.unit)))
	}
	since := "never serviced in this log"
	if d.Since != "" {
		since = "serviced before dive " + d.Since
	}
	word := "not yet due"
	if d.Overdue {
		word = "DUE"
	}
	d.Text = fmt.Sprintf("%s: %s; %s, %s since", m.Part, word, since, strings.Join(left, ", "))
	return d
}
