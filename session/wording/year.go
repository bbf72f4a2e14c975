package wording

import (
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
	if err != nil || n < FirstYear || n > LastYear {
		return 0
	}
	return n
}

// A Calendar reads the dates of a file in its order. Year is that of those without
// one, or YearAbove.
type Calendar struct {
	Form, Year string
	Lacking    []time.Time // those without one
	last       time.Time
}

// Read is a day as written.
func (c *Calendar) Read(text string) (time.Time, error) {
	day, err := ReadDate(text, c.Form, 0)
	if err != nil {
		year := readYear(c.Year)
		if c.Year == YearAbove {
			year = c.last.Year()
		}
		if day, err = ReadDate(text, c.Form, year); err != nil {
			return day, err
		}
		c.Lacking = append(c.Lacking, day)
	}
	c.last = day
	return day, nil
}

// farApart are dates that are rather of two years, where one does not say its
// own.
const farApart = 183 * 24 * time.Hour

// FindYear is the year of the dates without one: that of the file's other dates,
// else that in its name. It is "" where these do not say, or a year may end
// between two of the dates. lacking is the first date without one, "" for none.
func FindYear(days []string, form, file string) (year, lacking string) {
	var years []int
	for _, text := range days {
		if day, err := ReadDate(text, form, 0); err == nil {
			years = append(years, day.Year())
		} else if _, err := ReadDate(text, form, AnyYear); err == nil && lacking == "" {
			lacking = text
		}
	}
	first := len(years) > 0 && lacking != days[0] // has its own
	if len(years) == 0 {
		for _, digits := range strings.FieldsFunc(filepath.Base(file), func(r rune) bool { return !unicode.IsDigit(r) }) {
			if n := readYear(digits); n > 0 {
				years = append(years, n)
			}
		}
	}
	slices.Sort(years)
	switch years = slices.Compact(years); {
	case len(years) == 1:
		year = strconv.Itoa(years[0])
	case first:
		year = YearAbove
	}
	if yearEnds(days, Calendar{Form: form, Year: year}) {
		year = ""
	}
	return year, lacking
}

// yearEnds says whether a year may end between two dates of which one has none.
func yearEnds(days []string, c Calendar) bool {
	last, lacked := time.Time{}, false
	for _, text := range days {
		n := len(c.Lacking)
		day, err := c.Read(text)
		if err != nil {
			continue
		}
		lacks := len(c.Lacking) > n
		if !last.IsZero() && (lacks || lacked && c.Year != YearAbove) && day.Sub(last).Abs() > farApart {
			return true
		}
		last, lacked = day, lacks
	}
	return false
}
