package page

import (
	"fmt"
	"strings"
	"time"

	"sagline/plotting"
	"sagline/predict/drift"
	"sagline/session/problem"
)

// short cuts what a person wrote where room is short.
func short(s string) string { return plotting.SafeText(s, 13) }

// diveName is a dive with its day.
func diveName(d *drift.Dive, dated bool) string {
	if !dated {
		return "dive " + short(d.Dive)
	}
	return "dive " + short(d.Dive) + ", " + day(d.Date, "2 Jan 2006")
}

// day is an ISO day in another form.
func day(iso, layout string) string {
	t, err := time.Parse(time.DateOnly, iso)
	if err != nil {
		return iso
	}
	return t.Format(layout)
}

// span is how many dives, from when to when.
func span(dives []drift.Dive, dated bool) string {
	out := problem.Count(len(dives), "dive")
	if !dated || len(dives) == 0 {
		return out
	}
	from, to := dives[0].Date, dives[len(dives)-1].Date
	switch {
	case from == to:
		return out + ", " + day(to, "2 January 2006")
	case from[:4] == to[:4]:
		return fmt.Sprintf("%s, %s to %s", out, day(from, "2 January"), day(to, "2 January 2006"))
	}
	return fmt.Sprintf("%s, %s to %s", out, day(from, "2 January 2006"), day(to, "2 January 2006"))
}

// since is from when on.
func since(rep *drift.Report, label string, dated bool) string {
	return "since " + when(rep, label, dated)
}

// when is a dive with its day, by its label.
func when(rep *drift.Report, label string, dated bool) string {
	for i := range rep.Dives {
		if rep.Dives[i].Dive == label && dated {
			return fmt.Sprintf("%s (dive %s)", day(rep.Dives[i].Date, "2 January 2006"), short(label))
		}
	}
	return "dive " + short(label)
}

// plain is an identifier in words.
func plain(id string) string {
	return plotting.SafeText(strings.NewReplacer("_", " ", ":", " ").Replace(id), 60)
}
