package wording

import (
	"cmp"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
)

// YearAbove is the setting for which a date without a year takes that of the date above it.
const YearAbove = "above"

// IsYear reports whether a text is a year in which a dive can be.
func IsYear(text string) bool { return readYear(text) > 0 }

// readYear parses a year in which a dive can be, 0 for any other text.
func readYear(text string) int {
	n, err := strconv.Atoi(text)
	if err != nil || n < firstYear || n > lastYear {
		return 0
	}
	return n
}

// A Calendar reads the dates of a file one after the other. Year is the year of the
// first date without one, or YearAbove. Further dates without a year take that of the
// date above, or the adjacent year if only that keeps the dates in order.
type Calendar struct {
	Form, Year string
	Lacking    []time.Time // dates read that are written without a year
	doubtful   bool        // the year of one of them is in doubt
	order      int         // 1: oldest first; −1: newest first; 0: unknown
	last       time.Time
	lacked     bool // last is written without a year
}

// A date that would lie further back than outOfOrder belongs to the next year, without
// doubt from nextYear on; common practice, no source.
const (
	outOfOrder = 31 * 24 * time.Hour
	nextYear   = 92 * 24 * time.Hour
	halfYear   = 183 * 24 * time.Hour
)

// NewCalendar finds the order of a file's dates from the sign of most steps that are
// shorter than half a year.
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

// back returns how far a day lies before the last one, in the file's order.
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

// Read reads the next date.
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

// FindYear finds the year of the first date without one, from the file's other dates or else from
// the years in the file's name. year is "" if these do not tell, or if it is in doubt between which
// dates a year ends. lacking is that first date, "" for none.
func FindYear(days []string, form, file string) (year, lacking string) {
	var years []int
	for _, text := range days {
		if day, err := ReadDate(text, form, 0); err == nil {
			years = append(years, day.Year())
		} else if _, err := ReadDate(text, form, AnyYear); err == nil && lacking == "" {
			lacking = text
		}
	}
	named, first := len(years) == 0, len(years) > 0 && lacking != days[0] // the first date has its year
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
	case len(years) > 0: // the first year that is written may begin after the first date
		tried = []string{strconv.Itoa(years[0]), strconv.Itoa(years[0] - 1), strconv.Itoa(years[0] + 1)}
	}
	for _, year := range tried {
		c := NewCalendar(days, form, year)
		for _, text := range days {
			_, _ = c.Read(text) // errors are reported when the table is read
		}
		if !c.doubtful && !(named && c.last.Year() != years[len(years)-1]) {
			return year, lacking
		}
	}
	return "", lacking
}
