package newdive

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"sagline/session"
)

// NextDive returns the dive that a line written today belongs to: the newest if it is of today,
// else a new one with the next number. day is as ISO 8601, "" for a log that keeps none.
func NextDive(log *session.Log, today time.Time) (label, day string) {
	if log.KeepsDays() {
		day = slices.MaxFunc([]time.Time{today, log.Latest()}, time.Time.Compare).Format(time.DateOnly)
	}
	n := len(log.Dives)
	if n == 0 {
		return "1", day
	}
	d := &log.Dives[n-1]
	if d.Day() == today.Format(time.DateOnly) {
		return d.Label, d.Day()
	}
	return After(log, d.Label), day
}

// After returns the label of a new dive after one: its number is counted on until the log has no
// dive with that label.
func After(log *session.Log, label string) string {
	for label = after(label); log.Find(label) >= 0; {
		label = after(label)
	}
	return label
}

// after returns a label with its number counted on.
func after(label string) string {
	rest := strings.TrimRight(label, "0123456789")
	digits := label[len(rest):]
	number, err := strconv.Atoi(digits)
	if err != nil {
		return label + "-2"
	}
	return fmt.Sprintf("%s%0*d", rest, len(digits), number+1)
}

// ClockBehind warns that this computer's day is before the newest dive's, which is then taken for
// today; "" if it is not.
func ClockBehind(log *session.Log, today time.Time) string {
	latest := log.Latest()
	if !today.Before(latest) || !log.KeepsDays() {
		return ""
	}
	return fmt.Sprintf("this computer's clock says %s, before the newest dive of %s: a day that is not given is that dive's; is the clock right, and that dive's day?",
		today.Format(time.DateOnly), latest.Format(time.DateOnly))
}

// Ahead returns a doubt about a day after this computer's; "" if it is not, or none is given.
func Ahead(day string, today time.Time) string {
	if now := today.Format(time.DateOnly); day > now { // ISO 8601 days sort as text
		return fmt.Sprintf("date %s, after this computer's day, %s: a slip?", day, now)
	}
	return ""
}

// Another tells that NextDive begins a new dive because the newest has no day; "" if it has one.
func Another(log *session.Log) string {
	n := len(log.Dives)
	if n == 0 || log.Dives[n-1].Day() != "" {
		return ""
	}
	label := log.Dives[n-1].Label
	return fmt.Sprintf("dive %s has no day, so the next line is taken for one of a new dive, %s; name dive %s to go on with it", label, After(log, label), label)
}
