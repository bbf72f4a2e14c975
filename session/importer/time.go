package importer

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"sagline/session"
	"sagline/session/problem"
)

// How dates may be written. Days before months and months before days look
// alike until the thirteenth; days with the year first, or with the month's
// name, are understood whatever is set.
const (
	YearFirst  = "year-month-day"
	DayFirst   = "day.month.year"
	MonthFirst = "month/day/year"
)

var dateForms = []string{YearFirst, DayFirst, MonthFirst}

// months begin so in English, German, French, Spanish or Dutch, without
// accents.
var months = map[string]time.Month{"jan": 1, "ene": 1, "janv": 1, "feb": 2, "fev": 2, "fevr": 2, "mar": 3, "mae": 3, "maa": 3, "mrt": 3, "mrz": 3,
	"apr": 4, "avr": 4, "abr": 4, "may": 5, "mai": 5, "mei": 5, "jun": 6, "juin": 6, "jul": 7, "juil": 7, "aug": 8, "aou": 8, "ago": 8,
	"sep": 9, "oct": 10, "okt": 10, "nov": 11, "dec": 12, "dez": 12, "dic": 12}

// dateForm is the one form in which all cells are dates; Asked where several
// would do and differ, or none does.
func dateForm(cells []string) string {
	fit := slices.DeleteFunc(slices.Clone(dateForms), func(form string) bool {
		return !every(cells, func(s string) bool { _, _, _, err := readStamp(s, form); return err == nil })
	})
	switch {
	case len(fit) == 1, len(fit) > 0 && fit[0] == YearFirst:
		return fit[0]
	case every(cells, func(s string) bool { d, _ := splitStamp(s); return strings.Count(d, ".") == 2 }):
		return DayFirst // no country writes the month first with dots
	}
	return Asked
}

// readDate is a day as written in form; the error says what is wanted.
func readDate(text, form string) (time.Time, error) {
	parts := strings.FieldsFunc(text, func(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune("./-,", r) })
	if len(parts) == 1 && len(text) == 8 {
		parts = []string{text[:4], text[4:6], text[6:]}
	}
	if len(parts) == 3 {
		y, m, d := orderOf(parts, form)
		year, month := yearOf(y), monthOf(m)
		day, _ := strconv.Atoi(d)
		at := time.Date(year, month, day, 0, 0, 0, 0, time.UTC)
		if year >= 1970 && year <= 2200 && month != 0 && at.Day() == day && at.Month() == month {
			return at, nil
		}
	}
	example := map[string]string{DayFirst: "31.5.2026", MonthFirst: "5/31/2026"}[form]
	return time.Time{}, fmt.Errorf("found %s, want a day as %s", problem.Quote(text), cmp.Or(example, "2026-05-31"))
}

// orderOf says which of three parts is the year, the month and the day.
func orderOf(p []string, form string) (y, m, d string) {
	switch {
	case len(p[0]) == 4 && digitsOnly(p[0]):
		return p[0], p[1], p[2]
	case !digitsOnly(p[0]), form == MonthFirst && digitsOnly(p[1]):
		return p[2], p[0], p[1]
	case !digitsOnly(p[1]), form == DayFirst:
		return p[2], p[1], p[0]
	}
	return "", "", ""
}

// yearOf understands years of two digits as POSIX does: 69 to 99 are of the
// last century.
func yearOf(s string) int {
	layout := "2006"
	if len(s) == 2 {
		layout = "06"
	}
	at, _ := time.Parse(layout, s) // the year 1 where it is none
	return at.Year()
}

func monthOf(s string) time.Month {
	if m, err := strconv.Atoi(s); err == nil && m >= 1 && m <= 12 {
		return time.Month(m)
	}
	w := strings.Join(wordsOf(s), "")
	for n := min(4, len(w)); n >= 3; n-- {
		if m, ok := months[w[:n]]; ok {
			return m
		}
	}
	return 0
}

// splitStamp parts a date from the time after it.
func splitStamp(text string) (date, clock string) {
	text = strings.TrimSpace(text)
	for i, r := range text {
		if (r == 'T' || r == ' ' || r == ',') && i > 0 && strings.Contains(text[i:], ":") {
			rest := strings.TrimLeft(text[i+1:], " ")
			if rest != "" && rest[0] >= '0' && rest[0] <= '9' && strings.IndexAny(rest, ":") <= 2 {
				return strings.TrimRight(text[:i], " ,"), rest
			}
		}
	}
	return text, ""
}

// readStamp is a date with a time, as far as it has them.
func readStamp(text, form string) (day time.Time, clock float64, timed bool, err error) {
	date, rest := splitStamp(text)
	if day, err = readDate(date, form); err != nil || rest == "" {
		return day, 0, false, err
	}
	clock, err = readClock(rest)
	return day, clock, true, err
}

// offset is what may follow a clock: how far it is from UTC.
var offset = regexp.MustCompile(`(z|[+-]\d\d:?\d\d)$`)

// readClock is a time of day in seconds after midnight.
func readClock(text string) (float64, error) {
	t := strings.ToLower(strings.TrimSpace(text))
	t = strings.NewReplacer("a.m.", "am", "p.m.", "pm", " ", "", "uhr", "", ",", ".").Replace(t)
	t = offset.ReplaceAllString(t, "")
	for _, layout := range []string{"15:04", "15:04:05", "15h04", "3:04pm", "3:04:05pm"} {
		if at, err := time.Parse(layout, t); err == nil {
			return at.Sub(at.Truncate(24 * time.Hour)).Seconds(), nil
		}
	}
	return 0, fmt.Errorf("found %s, want a clock as 14:05", problem.Quote(text))
}

func isClock(s string) bool {
	_, err := readClock(s)
	return err == nil
}

// readElapsed is a duration in seconds, as mm:ss or h:mm:ss, with decimals.
func readElapsed(text string) (float64, error) {
	parts := strings.Split(strings.Replace(strings.TrimSpace(text), ",", ".", 1), ":")
	total, ok := 0.0, len(parts) == 2 || len(parts) == 3
	for i, p := range parts {
		x, err := strconv.ParseFloat(p, 64)
		ok = ok && err == nil && x >= 0 && x < 1e6 && (i == 0 || x < 60) && (i == len(parts)-1 || digitsOnly(p))
		total = 60*total + x
	}
	if !ok {
		return 0, fmt.Errorf("found %s, want a time as mm:ss", problem.Quote(text))
	}
	return total, nil
}

// time fills in a match with the date, the clock or the minutes, as its unit
// or the cells say.
func (m Match) time(h heading, c *session.Column, sure, why string, cells []string) Match {
	is := func(d dimension) bool { return h.unit != nil && h.unit.dimension == d }
	own := why == ownWords && (c.Name != "time" || len(cells) == 0 || every(cells, isClock))
	switch {
	case every(cells, func(s string) bool { _, clock := splitStamp(s); return clock != "" }):
		m.To, m.Sure, m.Why = stamp, sure, "dates with times"
	case c.Quantity == "date":
		m.To, m.Sure, m.Why = "date", sure, why
	case is(elapsedText):
		m.To, m.Sure, m.Why = "minute", sure, why
	case is(seconds):
		column, _ := session.Find("minute")
		m.To, m.Sure, m.Why = "minute", sure, why
		m.Times, m.Plus = h.unit.to(column)
	case own, is(clockOfDay):
		m.To, m.Sure, m.Why = c.Name, sure, why
	default:
		return m.clockOrMinute(h, c, cells)
	}
	return m
}

// clockOrMinute decides by the cells.
func (m Match) clockOrMinute(h heading, c *session.Column, cells []string) Match {
	elapsed := every(cells, func(s string) bool { _, err := readElapsed(s); return err == nil })
	early := elapsed && (strings.HasPrefix(cells[0], "0:") || strings.HasPrefix(cells[0], "00:")) // no one dives at midnight
	switch {
	case every(cells, isClock) && !early && (c.Quantity != "minute" || len(h.words) == 1 && !foreign(h.words, "clock")):
		m.To, m.Sure, m.Why = "time", Likely, "words; a clock as hh:mm assumed"
	case elapsed:
		m.To, m.Sure, m.Why = Asked, Asked, `mm:ss since the start (to "minute") or the clock (to "time")?`
	default:
		m.To, m.Sure, m.Why = Asked, Asked, `no unit: to "minute" with times 1 for minutes, 0.0166666666667 for seconds, 0.0000166666666667 for ms?`
	}
	return m
}

func digitsOnly(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }

// every says whether there are cells and is holds for all.
func every(cells []string, is func(string) bool) bool {
	for _, c := range cells {
		if !is(c) {
			return false
		}
	}
	return len(cells) > 0
}
