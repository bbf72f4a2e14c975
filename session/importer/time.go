package importer

import (
	"cmp"
	"fmt"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"sagline/session/problem"
	"sagline/session/wording"
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
		return !every(cells, func(s string) bool { _, err := readDate(s, form, anyYear); return err == nil })
	})
	switch {
	case len(fit) == 1, len(fit) > 0 && fit[0] == YearFirst:
		return fit[0]
	case every(cells, func(s string) bool {
		d, _ := splitStamp(s)
		return strings.Contains(d, ".") && !strings.Contains(d, "/")
	}):
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

// anyYear is a leap year, for dates of which it does not matter.
const anyYear = 2024

// readDate is a day as written in form, of a year where it has none, 0 for
// unknown; the error says what is wanted.
func readDate(text, form string, year int) (time.Time, error) {
	parts := strings.FieldsFunc(text, func(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune("./-,", r) })
	parts = slices.DeleteFunc(parts, func(p string) bool { return p == "de" || p == "del" || p == "of" })
	if len(parts) == 1 && len(text) == 8 && wording.DigitsOnly(text) {
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
		w := wording.Folded(p)
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

// A calendar reads the dates of a file in its order. One without a year is of
// the year of the one above it, the first of the year that is given; one that is
// then more than half a year before the one above it is of the next year, or in a
// file with the newest first the other way round.
type calendar struct {
	form    string
	year    int
	falls   bool // the newest stand first
	last    time.Time
	without []time.Time // dates that had no year
	turned  bool        // a year ends between two of them
}

func (c *calendar) read(text string) (time.Time, error) {
	const half = 183 * 24 * time.Hour
	behind := func(day time.Time) bool { // the date above it, in the file's order
		back := c.last.Sub(day)
		return !c.last.IsZero() && (back > half && !c.falls || back < -half && c.falls)
	}
	day, err := readDate(text, c.form, 0)
	if err == nil {
		n := len(c.without)
		c.turned = c.turned || n > 0 && c.without[n-1].Equal(c.last) && behind(day)
		c.last = day
		return day, nil
	}
	year := c.year
	if !c.last.IsZero() {
		year = c.last.Year()
	}
	if day, err = readDate(text, c.form, year); err == nil && behind(day) {
		c.turned = true
		if year++; c.falls {
			year -= 2
		}
		day, err = readDate(text, c.form, year)
	}
	if err == nil {
		c.last, c.without = day, append(c.without, day)
	}
	return day, err
}

// days are the dates of the file as they are written, in its order.
func (m *Mapping) days(s *Source) (days []string) {
	date := m.to("date")
	if date == nil {
		return nil
	}
	for _, text := range s.column(date.Heading, m.Empty) {
		if date.To == section {
			_, text = namedIn(text)
		}
		if text, _ = splitStamp(text); text != "" {
			days = append(days, text)
		}
	}
	return days
}

// calendar is the calendar of the file's dates.
func (m *Mapping) calendar(s *Source) calendar {
	falls, last := 0, time.Time{}
	for _, text := range m.days(s) {
		if day, err := readDate(text, m.Date, anyYear); err == nil {
			falls, last = falls+last.Compare(day), day
		}
	}
	year, _ := strconv.Atoi(m.Year)
	return calendar{form: m.Date, year: year, falls: falls > 0}
}

// yearIn is the year that a file's name has, 0 for none or several.
func yearIn(file string) (year int) {
	for _, run := range strings.FieldsFunc(filepath.Base(file), func(r rune) bool { return !unicode.IsDigit(r) }) {
		switch n, err := strconv.Atoi(run); {
		case err != nil || len(run) != 4 || n < firstYear || n > lastYear || n == year:
		case year > 0:
			return 0
		default:
			year = n
		}
	}
	return year
}

// findYear proposes the year of dates without one: that of the file's other
// dates, else that in its name; Asked where these do not say, or a year ends
// between them.
func (m *Mapping) findYear(s *Source) {
	if m.Year != "" && m.Year != Asked { // given
		return
	}
	days, years, lacking := m.days(s), []int(nil), 0
	firstHas := false
	for i, text := range days {
		if day, err := readDate(text, m.Date, 0); err == nil {
			years, firstHas = append(years, day.Year()), firstHas || i == 0
		} else if _, err := readDate(text, m.Date, anyYear); err == nil {
			lacking++
		}
	}
	if named := yearIn(s.File); len(years) == 0 && named > 0 {
		years = []int{named}
	}
	m.Year = ""
	if lacking == 0 {
		return
	}
	if m.Year = Asked; firstHas || len(slices.Compact(slices.Clone(years))) == 1 {
		c := m.calendar(s)
		c.year = years[0]
		for _, text := range days {
			_, _ = c.read(text)
		}
		if !c.turned {
			m.Year = strconv.Itoa(years[0])
		}
	}
}

// mostFields is more words than name a dive and its day: common practice, no
// source.
const mostFields = 10

// namedIn is the dive and the day, as written, that a line above a dive names;
// "" without. A day without its year may be any number where no dive is named.
func namedIn(text string) (dive, day string) {
	fields := strings.Fields(text[:min(len(text), longestHeading)])
	if !strings.ContainsAny(text, "0123456789") || len(fields) > mostFields {
		return "", ""
	}
	short := ""
	for i, f := range fields {
		for n := range min(3, len(fields)-i) {
			written := strings.Trim(strings.Join(fields[i:i+n+1], " "), "(),:;–-")
			if day == "" && isDate(written, 0) {
				day = written
			}
			if short == "" && isDate(written, anyYear) && (strings.Count(written, ".") == 2 || strings.ContainsFunc(written, unicode.IsLower)) {
				short = written
			}
		}
		h := readHeading(f)
		if best := candidates(h, h.whole); i+1 < len(fields) && dive == "" && len(best) == 1 && best[0].column.Name == "dive" {
			if label := strings.Trim(fields[i+1], "(),:;.–-#"); wording.DigitsOnly(label) {
				dive = label
			}
		}
	}
	if dive != "" && day == "" {
		day = short
	}
	return dive, day
}

// namesDive says whether a text names a dive or a day with other words.
func namesDive(text string) bool {
	dive, day := namedIn(text)
	return dive != "" || day != "" && day != text
}

func isDate(text string, year int) bool {
	return slices.ContainsFunc(dateForms, func(form string) bool { _, err := readDate(text, form, year); return err == nil })
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
		ok = ok && err == nil && x >= 0 && x < 1e6 && (i == 0 || x < 60) && (i == len(parts)-1 || wording.DigitsOnly(p))
		total = 60*total + x
	}
	if !ok {
		return 0, fmt.Errorf("found %s, want a time as mm:ss", problem.Quote(text))
	}
	return total, nil
}

// every says whether there are cells and is holds for all.
func every(cells []string, is func(string) bool) bool {
	for _, c := range cells {
		if !is(c) {
			return false
		}
	}
	return len(cells) > 0
}
