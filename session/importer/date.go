package importer

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"

	"sagline/session/problem"
)

// How dates may be written. Days before months and months before days look
// alike until the thirteenth; days with the year first, or with the month's
// name, are understood whatever is set.
const (
	YearFirst  = "year-month-day"
	DayFirst   = "day.month.year"
	MonthFirst = "month/day/year"
	Serial     = "serial"      // a spreadsheet's day number, 1 being 1900-01-01
	Serial1904 = "serial-1904" // the same, 0 being 1904-01-01
)

var dateForms = []string{YearFirst, DayFirst, MonthFirst, Serial, Serial1904}

// months begin so in English, German, French, Spanish or Dutch, without
// accents.
var months = map[string]time.Month{"jan": 1, "ene": 1, "janv": 1, "feb": 2, "fev": 2, "fevr": 2, "mar": 3, "mae": 3, "maa": 3, "mrt": 3, "mrz": 3,
	"apr": 4, "avr": 4, "abr": 4, "may": 5, "mai": 5, "mei": 5, "jun": 6, "juin": 6, "jul": 7, "juil": 7, "aug": 8, "aou": 8, "ago": 8,
	"sep": 9, "oct": 10, "okt": 10, "nov": 11, "dec": 12, "dez": 12, "dic": 12}

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

// readDate is a day as written in form; the error says what is wanted.
func readDate(text, form string) (time.Time, error) {
	wrong := fmt.Errorf("found %s, want a day as %s", problem.Quote(text), example(form))
	if form == Serial || form == Serial1904 {
		if day, ok := serialDay(text, form); ok {
			return day, nil
		}
	}
	parts := strings.FieldsFunc(text, func(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune("./-,", r) })
	if len(parts) == 1 && len(text) == 8 && digitsOnly(text) {
		parts = []string{text[:4], text[4:6], text[6:]}
	}
	if len(parts) == 4 && len(parts[0]) > 1 && !digitsOnly(parts[0]) { // a weekday
		parts = parts[1:]
	}
	if len(parts) != 3 {
		return time.Time{}, wrong
	}
	y, m, d := orderOf(parts, form)
	year, month, day := yearOf(y), monthOf(m), atoi(d)
	at := time.Date(year, month, day, 0, 0, 0, 0, time.UTC)
	if year < 1970 || month == 0 || at.Day() != day || at.Month() != month || at.Year() > 2200 {
		return time.Time{}, wrong
	}
	return at, nil
}

// orderOf says which of three parts is the year, the month and the day.
func orderOf(p []string, form string) (y, m, d string) {
	switch {
	case len(p[0]) == 4 && digitsOnly(p[0]):
		return p[0], p[1], p[2]
	case !digitsOnly(p[0]):
		return p[2], p[0], p[1]
	case !digitsOnly(p[1]), form == DayFirst:
		return p[2], p[1], p[0]
	case form == MonthFirst:
		return p[2], p[0], p[1]
	}
	return "", "", ""
}

// yearOf understands years of two digits as POSIX does: 69 to 99 are of the
// last century.
func yearOf(s string) int {
	y := atoi(s)
	switch {
	case len(s) == 4:
		return y
	case len(s) == 2 && y >= 69:
		return 1900 + y
	case len(s) == 2 && y >= 0:
		return 2000 + y
	}
	return -1
}

func monthOf(s string) time.Month {
	if digitsOnly(s) {
		if m := atoi(s); m >= 1 && m <= 12 {
			return time.Month(m)
		}
		return 0
	}
	w := strings.Join(wordsOf(s), "")
	for n := min(4, len(w)); n >= 3; n-- {
		if m, ok := months[w[:n]]; ok {
			return m
		}
	}
	return 0
}

// serialDay is a spreadsheet's day number. The count from 1900 has a 29
// February in that year, which was none: later days are one too high (ECMA-376
// part 1, 18.17.4.1, from memory).
func serialDay(text, form string) (time.Time, bool) {
	x, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	if err != nil || !(x > 60 && x < 110_000) {
		return time.Time{}, false
	}
	zero := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
	if form == Serial1904 {
		zero = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	return zero.AddDate(0, 0, int(math.Floor(x))), true
}

func example(form string) string {
	switch form {
	case DayFirst:
		return "31.5.2026"
	case MonthFirst:
		return "5/31/2026"
	case Serial, Serial1904:
		return "46173, a spreadsheet's day number"
	}
	return "2026-05-31"
}

func digitsOnly(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }

// atoi is a short number of digits, −1 where s is none.
func atoi(s string) int {
	if !digitsOnly(s) || len(s) > 9 {
		return -1
	}
	n, _ := strconv.Atoi(s)
	return n
}
