package prompt

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
	rest := strings.TrimRight(d.Label, "0123456789")
	digits := d.Label[len(rest):]
	number, err := strconv.Atoi(digits)
	if err != nil {
		return d.Label + "-2", today
	}
	return fmt.Sprintf("%s%0*d", rest, len(digits), number+1), today
}
