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

// How dates may be written. Days before months and months before days look
// alike until the thirteenth; days with the year first, or with the month's
// name, are understood whatever is set.
const (
	YearFirst  = "year-month-day"
	DayFirst   = "day.month.year"
	MonthFirst = "month/day/year"
)

var DateForms = []string{YearFirst, DayFirst, MonthFirst}

// DateForm is the one form in which all cells are dates; "" where several
// would do and differ, or none does.
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

// layouts are the orders of year, month and day by the form of a date; what has
// the month's name may have the day or the year first, whatever is set. Years of
// two digits are as POSIX has them: 69 to 99 are of the last century.
var layouts = map[string][]string{
	YearFirst: {"2006-1-2"}, DayFirst: {"2006-1-2", "2-1-2006", "2-1-06"}, MonthFirst: {"2006-1-2", "1-2-2006", "1-2-06"},
}

// AnyYear is a leap year, for dates of which it does not matter.
const AnyYear = 2024

// ReadDate is a day as written in form, of a year where it has none, 0 for
// unknown; the error says what is wanted.
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

// The years that dives are of.
const firstYear, lastYear = 1970, 2200

// SplitStamp parts a date from the time after it.
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

// offset is what may follow a clock: how far it is from UTC.
var offset = regexp.MustCompile(`(z|[+-]\d\d:?\d\d)$`)

// ReadClock is a time of day in seconds after midnight.
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

func IsClock(s string) bool {
	_, err := ReadClock(s)
	return err == nil
}

// ReadElapsed is a duration in seconds, as mm:ss or h:mm:ss, with decimals.
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
