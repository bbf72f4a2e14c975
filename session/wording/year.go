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
