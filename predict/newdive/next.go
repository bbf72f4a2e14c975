package newdive

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"sagline/session"
)

// NextDive is the dive that a line written today belongs to: the newest if it
// is of today, else a new one with the next number.
func NextDive(log *session.Log, today time.Time) (label string, day time.Time) {
	n := len(log.Dives)
	if n == 0 {
		return "1", today
	}
	d := &log.Dives[n-1]
	if d.Date.Format(time.DateOnly) == today.Format(time.DateOnly) {
		return d.Label, d.Date
	}
	if today.Before(d.Date) {
		today = d.Date
	}
	return After(log, d.Label), today
}

// After is the label of a new dive after one: its number counted on until the
// log has no dive of that label.
func After(log *session.Log, label string) string {
	for label = after(label); log.Find(label) >= 0; {
		label = after(label)
	}
	return label
}

// after is a label with its number counted on.
func after(label string) string {
	rest := strings.TrimRight(label, "0123456789")
	digits := label[len(rest):]
	number, err := strconv.Atoi(digits)
	if err != nil {
		return label + "-2"
	}
	return fmt.Sprintf("%s%0*d", rest, len(digits), number+1)
}

// ClockBehind says that this computer's day is before the newest dive, so that
// the day of that one is taken for today's; "" where it is not.
func ClockBehind(log *session.Log, today time.Time) string {
	n := len(log.Dives)
	if n == 0 || !today.Before(log.Dives[n-1].Date) {
		return ""
	}
	return fmt.Sprintf("this computer's clock says %s, before the newest dive of %s: a day that is not given is that dive's; is the clock right?",
		today.Format(time.DateOnly), log.Dives[n-1].Date.Format(time.DateOnly))
}
