package wording

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

// YearAbove is the year of dates that are of that of the date above them.
const YearAbove = "above"

// IsYear says whether a text is a year that dates can be of.
func IsYear(text string) bool { return readYear(text) > 0 }

// readYear is a year that dates can be of, 0 for none.
func readYear(text string) int {
	n, err := strconv.Atoi(text)
	if err != nil || n < firstYear || n > lastYear {
		return 0
	}
	return n
}

// A Calendar reads the dates of a file in its order. Year is that of the first of
// those without one, or YearAbove: a date without a year has that of the date above
// it, or the next, as goes on with the order.
type Calendar struct {
	Form, Year string
	Lacking    []time.Time // those without one
	doubtful   bool        // whether one of them is of this year or the next
	order      int         // −1: newest first; 0: these dates do not say
	last       time.Time
	lacked     bool // last did
}

// Dates of one order: what lies further back than outOfOrder is of the next year, and
// surely so from nextYear on; common practice, no source.
const (
	outOfOrder = 31 * 24 * time.Hour
	nextYear   = 92 * 24 * time.Hour
	halfYear   = 183 * 24 * time.Hour
)

// NewCalendar finds the order of a file's dates: that of most steps that are shorter
// than half a year.
func NewCalendar(days []string, form, year string) *Calendar {
	c := &Calendar{Form: form, Year: year}
	last, steps := time.Time{}, 0
	for _, text := range days {
		at := AnyYear
		if !last.IsZero() {
			at = last.Year()
		}
		day, err := ReadDate(text, form, at)
		if err != nil {
			continue
		}
		if step := day.Sub(last); !last.IsZero() && step.Abs() < halfYear {
			steps += cmp.Compare(step, 0)
		}
		last = day
	}
	c.order = cmp.Compare(steps, 0)
	return c
}

// back is how far a day lies back against the order.
func (c *Calendar) back(day time.Time) time.Duration {
	switch step := day.Sub(c.last); {
	case c.last.IsZero():
		return 0
	case c.order < 0:
		return step
	default:
		return -step
	}
}

// Read is a day as written.
func (c *Calendar) Read(text string) (time.Time, error) {
	day, err := ReadDate(text, c.Form, 0)
	lacks := err != nil
	if lacks {
		year, next := readYear(c.Year), 1
		if (year > 0 || c.Year == YearAbove) && !c.last.IsZero() {
			year = c.last.Year()
		}
		if c.order < 0 {
			next = -1
		}
		if day, err = ReadDate(text, c.Form, year); err != nil || c.back(day) > outOfOrder {
			c.doubtful = c.doubtful || err == nil && c.back(day) < nextYear
			if day, err = ReadDate(text, c.Form, year+next); err != nil {
				return day, err
			}
		}
		c.Lacking = append(c.Lacking, day)
	}
	if back := c.back(day); lacks || c.lacked {
		c.doubtful = c.doubtful || back > outOfOrder || c.order == 0 && back.Abs() > outOfOrder
	}
	c.last, c.lacked = day, lacks
	return day, nil
}

// FindYear is the year of the first date without one, as goes on with the file's
// other dates, else with the years in its name. It is "" where these do not say, or
// it is in doubt between which dates a year ends. lacking is that date, "" for none.
func FindYear(days []string, form, file string) (year, lacking string) {
	var years []int
	for _, text := range days {
		if day, err := ReadDate(text, form, 0); err == nil {
			years = append(years, day.Year())
		} else if _, err := ReadDate(text, form, AnyYear); err == nil && lacking == "" {
			lacking = text
		}
	}
	named, first := len(years) == 0, len(years) > 0 && lacking != days[0] // has its own
	if named {
		for _, digits := range strings.FieldsFunc(filepath.Base(file), func(r rune) bool { return !unicode.IsDigit(r) }) {
			if n := readYear(digits); n > 0 {
				years = append(years, n)
			}
		}
	}
	if slices.Sort(years); NewCalendar(days, form, "").order < 0 {
		slices.Reverse(years)
	}
	years = slices.Compact(years)
	var tried []string
	switch {
	case first && len(years) > 1:
		tried = []string{YearAbove}
	case named && len(years) > 0:
		tried = []string{strconv.Itoa(years[0])}
	case len(years) > 0: // or that of the year that ends before the first that is said
		tried = []string{strconv.Itoa(years[0]), strconv.Itoa(years[0] - 1), strconv.Itoa(years[0] + 1)}
	}
	for _, year := range tried {
		c := NewCalendar(days, form, year)
		for _, text := range days {
			_, _ = c.Read(text) // who reads it says what is no date
		}
		if !c.doubtful && !(named && c.last.Year() != years[len(years)-1]) {
			return year, lacking
		}
	}
	return "", lacking
}
