package wording

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

// Orders in which dates are written. Dates with the year first or with the month's name
// are understood with any of them; for other dates the order must be known, since days
// up to the twelfth can be taken for months.
const (
	YearFirst  = "year-month-day"
	DayFirst   = "day.month.year"
	MonthFirst = "month/day/year"
)

// DateForms are all orders.
var DateForms = []string{YearFirst, DayFirst, MonthFirst}

// DateForm finds the order in which all cells are dates; "" if several orders give
// different dates, or none fits.
func DateForm(cells []string) string {
	fit := slices.DeleteFunc(slices.Clone(DateForms), func(form string) bool {
		return !all(cells, func(s string) bool { _, err := ReadDate(s, form, AnyYear); return err == nil })
	})
	switch {
	case len(fit) == 1, len(fit) > 0 && fit[0] == YearFirst:
		return fit[0]
	case all(cells, func(s string) bool {
		d, _ := SplitStamp(s)
		return strings.Contains(d, ".") && !strings.Contains(d, "/")
	}):
		return DayFirst // no country writes the month first with dots
	}
	return ""
}

// monthNames are how months begin in English, German, French, Spanish and Dutch,
// without accents, as numbers.
var monthNames = strings.Fields("jan,ene feb,fev mar,mae,maa,mrt,mrz apr,avr,abr may,mai,mei jun,juin jul,juil aug,aou,ago sep oct,okt nov dec,dez,dic")

// layouts are the layouts of package time for each order. A date with the month's name
// may begin with the day or the year in any of them. Years of two digits follow POSIX:
// 69 to 99 belong to the last century.
var layouts = map[string][]string{
	YearFirst: {"2006-1-2"}, DayFirst: {"2006-1-2", "2-1-2006", "2-1-06"}, MonthFirst: {"2006-1-2", "1-2-2006", "1-2-06"},
}

// AnyYear is a leap year, for reading dates whose year does not matter.
const AnyYear = 2024

// ReadDate reads a date written in the order form. year is taken if the text has none; 0:
// a date without a year is an error. The error says what is wanted.
func ReadDate(text, form string, year int) (time.Time, error) {
	parts := strings.FieldsFunc(text, func(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune("./-,", r) })
	parts = slices.DeleteFunc(parts, func(p string) bool { return p == "de" || p == "del" || p == "of" })
	if len(parts) == 1 && len(text) == 8 && session.DigitsOnly(text) {
		parts = []string{text[:4], text[4:6], text[6:]}
	}
	want := "a day"
	if len(parts) == 2 {
		if want = "the year too, of a day"; year > 0 {
			parts = append(parts, strconv.Itoa(year))
		}
	}
	as := layouts[form]
	for i, p := range parts {
		if session.DigitsOnly(p) {
			continue
		}
		w := Folded(p)
		month := 1 + slices.IndexFunc(monthNames, func(names string) bool {
			return slices.ContainsFunc(strings.Split(names, ","), func(n string) bool { return len(w) <= 10 && strings.HasPrefix(w, n) })
		})
		if month > 0 && len(parts) == 3 {
			parts[i], as = strconv.Itoa(month), layouts[DayFirst]
			if i == 0 {
				as = layouts[MonthFirst]
			}
		}
	}
	for _, layout := range as {
		if at, err := time.Parse(layout, strings.Join(parts, "-")); err == nil && at.Year() >= firstYear && at.Year() <= lastYear {
			return at, nil
		}
	}
	example := map[string]string{DayFirst: "31.5.2026", MonthFirst: "5/31/2026"}[form]
	return time.Time{}, fmt.Errorf("found %s, want %s as %s", problem.Quote(text), want, cmp.Or(example, "2026-05-31"))
}

// firstYear and lastYear bound the years in which a dive can be.
const firstYear, lastYear = 1970, 2200

// SplitStamp splits a time stamp into its date and its time of day, "" for none.
func SplitStamp(text string) (date, clock string) {
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

// offset is the offset from UTC that may follow a time of day.
var offset = regexp.MustCompile(`(z|[+-]\d\d:?\d\d)$`)

// ReadClock reads a time of day, in seconds after midnight; an offset from UTC is dropped.
func ReadClock(text string) (float64, error) {
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

// IsClock reports whether a text is a time of day.
func IsClock(s string) bool {
	_, err := ReadClock(s)
	return err == nil
}

// ReadElapsed reads a duration written as mm:ss or h:mm:ss, with decimals or without, in
// seconds.
func ReadElapsed(text string) (float64, error) {
	parts := strings.Split(strings.Replace(strings.TrimSpace(text), ",", ".", 1), ":")
	total, ok := 0.0, len(parts) == 2 || len(parts) == 3
	for i, p := range parts {
		x, err := strconv.ParseFloat(p, 64)
		ok = ok && err == nil && x >= 0 && x < 1e6 && (i == 0 || x < 60) && (i == len(parts)-1 || session.DigitsOnly(p))
		total = 60*total + x
	}
	if !ok {
		return 0, fmt.Errorf("found %s, want a time as mm:ss", problem.Quote(text))
	}
	return total, nil
}

func all(cells []string, is func(string) bool) bool {
	return !slices.ContainsFunc(cells, func(c string) bool { return !is(c) })
}
