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

// monthNames are how months begin in English, German, French, Spanish and Dutch,
// without accents, as numbers.
var monthNames = strings.Fields("jan,ene feb,fev mar,mae,maa,mrt,mrz apr,avr,abr may,mai,mei jun,juin jul,juil aug,aou,ago sep oct,okt nov dec,dez,dic")

// layouts are the orders of year, month and day by the form of a date; what has
// the month's name may have the day or the year first, whatever is set. Years of
// two digits are as POSIX has them: 69 to 99 are of the last century.
var layouts = map[string][]string{
	YearFirst: {"2006-1-2"}, DayFirst: {"2006-1-2", "2-1-2006", "2-1-06"}, MonthFirst: {"2006-1-2", "1-2-2006", "1-2-06"},
}

// readDate is a day as written in form; the error says what is wanted.
func readDate(text, form string) (time.Time, error) {
	parts := strings.FieldsFunc(text, func(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune("./-,", r) })
	parts = slices.DeleteFunc(parts, func(p string) bool { return p == "de" || p == "del" || p == "of" })
	if len(parts) == 1 && len(text) == 8 && digitsOnly(text) {
		parts = []string{text[:4], text[4:6], text[6:]}
	}
	as := layouts[form]
	for i, p := range parts {
		w := folded(p)
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
		if at, err := time.Parse(layout, strings.Join(parts, "-")); err == nil && at.Year() >= 1970 && at.Year() <= 2200 {
			return at, nil
		}
	}
	example := map[string]string{DayFirst: "31.5.2026", MonthFirst: "5/31/2026"}[form]
	return time.Time{}, fmt.Errorf("found %s, want a day as %s", problem.Quote(text), cmp.Or(example, "2026-05-31"))
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
	minute, _ := session.Find("minute")
	m.Sure, m.Why = sure, why
	switch {
	case every(cells, func(s string) bool { _, clock := splitStamp(s); return clock != "" }):
		m.To, m.Why = stamp, "dates with times"
	case c.Quantity == "date":
		m.To = "date"
	case is(elapsedText):
		m.To = "minute"
	case is(seconds):
		m.To = "minute"
		m.Times, m.Plus = h.unit.to(minute)
	case own, is(clockOfDay):
		m.To = c.Name
	default:
		return m.clockOrMinute(h, c, cells)
	}
	return m
}

// clockOrMinute goes by the cells.
func (m Match) clockOrMinute(h heading, c *session.Column, cells []string) Match {
	elapsed := every(cells, func(s string) bool { _, err := readElapsed(s); return err == nil })
	early := elapsed && (strings.HasPrefix(cells[0], "0:") || strings.HasPrefix(cells[0], "00:")) // no one dives at midnight
	switch {
	case every(cells, isClock) && !early && (c.Quantity != "minute" || len(h.words) == 1 && !foreign(h.words, "clock")):
		m.To, m.Sure, m.Why = "time", Likely, "words; a clock as hh:mm assumed"
		return m
	case elapsed:
		return m.open("mm:ss since the start or the clock?", "minute", "time")
	}
	return m.open("no unit:", "minute", "minute in s", "minute in ms")
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
