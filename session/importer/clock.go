package importer

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"sagline/session"
	"sagline/session/problem"
)

// Forms of a Match that tells a time in text or as a count.
const (
	minSec   = "mm:ss"
	hourMin  = "hh:mm"
	unixS    = "unix s" // seconds since 1970 in UTC
	unixMS   = "unix ms"
	leastRun = 946_684_800 // 2000-01-01 in unix seconds; no count of seconds in a dive is as large
)

// readClock is a time of day in seconds after midnight.
func readClock(text string) (float64, error) {
	t := strings.ToLower(strings.TrimSpace(text))
	after := 0.0
	for suffix, hours := range map[string]float64{"am": 0, "pm": 12, "a.m.": 0, "p.m.": 12} {
		if rest, ok := strings.CutSuffix(t, suffix); ok {
			t, after = strings.TrimSpace(rest), hours+1 // 1 marks a clock of twelve hours
		}
	}
	t = strings.TrimSuffix(strings.TrimSuffix(t, " uhr"), "z")
	if i := strings.LastIndexAny(t, "+-"); i > 4 { // an offset from UTC
		t = t[:i]
	}
	p := strings.Split(strings.Replace(t, "h", ":", 1), ":")
	parts, ok := sexagesimal(p)
	h := parts[0]
	if after > 0 {
		ok = ok && h >= 1 && h <= 12
		h = math.Mod(h, 12) + after - 1
	}
	if !ok || len(p) < 2 || h > 23 {
		return 0, fmt.Errorf("found %s, want a clock as 14:05", problem.Quote(text))
	}
	return 3600*h + 60*parts[1] + parts[2], nil
}

// readElapsed is a duration in seconds, of two parts as form says or of three.
func readElapsed(text, form string) (float64, error) {
	p := strings.Split(strings.TrimSpace(text), ":")
	parts, ok := sexagesimal(p)
	if !ok || len(p) < 2 {
		return 0, fmt.Errorf("found %s, want a time as %s", problem.Quote(text), orElse(form, minSec))
	}
	if len(p) == 2 && form != hourMin {
		return 60*parts[0] + parts[1], nil
	}
	return 3600*parts[0] + 60*parts[1] + parts[2], nil
}

func orElse(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}

// sexagesimal reads up to three parts, all but the first below sixty, the last
// with decimals.
func sexagesimal(p []string) (out [3]float64, ok bool) {
	if len(p) > 3 {
		return out, false
	}
	for i, s := range p {
		whole, part, _ := strings.Cut(strings.Replace(s, ",", ".", 1), ".")
		if !digitsOnly(whole) || len(whole) > 6 || part != "" && (!digitsOnly(part) || i < len(p)-1) {
			return out, false
		}
		out[i], _ = strconv.ParseFloat(whole+"."+part+"0", 64)
		if i > 0 && out[i] >= 60 {
			return out, false
		}
	}
	return out, true
}

// readStamp is a date with a time, as far as it has them.
func readStamp(text, order, form string) (day time.Time, clock float64, timed bool, err error) {
	if form == unixS || form == unixMS {
		x, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
		if form == unixMS {
			x /= 1000
		}
		if err != nil || !(x >= 0 && x < 8e9) {
			return time.Time{}, 0, false, fmt.Errorf("found %s, want a count of time since 1970", problem.Quote(text))
		}
		clock = math.Mod(x, 86400)
		return time.Unix(int64(x-clock), 0).UTC(), clock, true, nil
	}
	date, rest := splitStamp(text)
	if day, err = readDate(date, order); err != nil {
		return day, 0, false, err
	}
	if (order == Serial || order == Serial1904) && rest == "" {
		x, _ := strconv.ParseFloat(strings.Replace(date, ",", ".", 1), 64)
		_, part := math.Modf(x)
		return day, math.Round(part*86400*1000) / 1000, part != 0, nil
	}
	if rest == "" {
		return day, 0, false, nil
	}
	clock, err = readClock(rest)
	return day, clock, true, err
}

// time fills in a match with the date, the clock or the minutes, as its unit
// or the cells say.
func (m Match) time(h heading, c *session.Column, sure, why string, cells []string) Match {
	if f := countForm(cells); f != "" && (h.unit == nil || h.unit.dimension == seconds) {
		m.To, m.Form, m.Sure, m.Why = stamp, f, Likely, "as large as counts since 1970, in UTC"
		return m
	}
	stamps := every(cells, func(s string) bool { _, clock := splitStamp(s); return clock != "" })
	switch {
	case stamps:
		m.To, m.Sure, m.Why = stamp, sure, "dates with times"
	case c.Quantity == "date":
		m.To, m.Sure, m.Why = "date", sure, why
	case h.unit != nil && h.unit.dimension == elapsedText:
		m.To, m.Form, m.Sure, m.Why = "minute", minSec, sure, why
	case h.unit != nil && h.unit.dimension == seconds:
		column, _ := session.Find("minute")
		m.To, m.Sure, m.Why = "minute", sure, why
		m.Times, m.Plus = h.unit.to(column)
	case c.Name == "time" && why == "its own name" && first(cells) != "" && !every(cells, isClock):
		return m.clockOrMinute(h, c, cells)
	case why == "its own name" || h.unit != nil && h.unit.dimension == clockOfDay:
		m.To, m.Sure, m.Why = c.Name, sure, why
	default:
		return m.clockOrMinute(h, c, cells)
	}
	return m
}

// clockOrMinute decides by the cells.
func (m Match) clockOrMinute(h heading, c *session.Column, cells []string) Match {
	colons := every(cells, isClock)
	elapsed := every(cells, func(s string) bool { _, err := readElapsed(s, minSec); return err == nil })
	early := len(cells) > 0 && elapsed && func() bool { x, _ := readElapsed(first(cells), hourMin); return x < 3600 }()
	switch {
	case colons && !early && (c.Quantity != "minute" || len(h.words) == 1 && !foreign(h.words, "clock")):
		m.To, m.Sure, m.Why = "time", Likely, "words; a clock as hh:mm assumed"
	case elapsed:
		m.To, m.Sure, m.Why = Asked, Asked, `minutes since the start (to "minute", form "mm:ss" or "hh:mm") or the clock (to "time")?`
	default:
		m.To, m.Sure, m.Why = Asked, Asked, `no unit: to "minute" with times 1 for minutes, 0.0166666666667 for seconds, 0.0000166666666667 for ms?`
	}
	return m
}

func isClock(s string) bool {
	_, err := readClock(s)
	return err == nil
}

// countForm recognises counts since 1970.
func countForm(cells []string) string {
	large := func(least float64) bool {
		return every(cells, func(s string) bool {
			x, err := strconv.ParseFloat(s, 64)
			return err == nil && x >= least && x < 4*least
		})
	}
	switch {
	case large(leastRun):
		return unixS
	case large(leastRun * 1000):
		return unixMS
	}
	return ""
}

func first(cells []string) string {
	for _, c := range cells {
		if c != "" {
			return c
		}
	}
	return ""
}

// every says whether there are cells and is holds for all that are not empty.
func every(cells []string, is func(string) bool) bool {
	n := 0
	for _, c := range cells {
		if c == "" {
			continue
		}
		if !is(c) {
			return false
		}
		n++
	}
	return n > 0
}
