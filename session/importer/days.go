package importer

import (
	"cmp"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"sagline/session/spreadsheet"
	"sagline/session/wording"
)

// days are the dates of the file as they are written, in its order.
func (m *Mapping) days(s *spreadsheet.Sheet) (days []string) {
	date := m.to("date")
	if date == nil {
		return nil
	}
	for _, text := range s.Column(date.Heading, m.Empty) {
		if date.To == section {
			_, text = spreadsheet.NamedIn(text)
		}
		if text, _ = wording.SplitStamp(text); text != "" {
			days = append(days, text)
		}
	}
	return days
}

// yearAbove is the Year of a file whose dates without one are of that of the
// date above them.
const yearAbove = "above"

// readDay is a date of the file, above the year of the one before it; lacks says
// that it has no year of its own.
func (m *Mapping) readDay(text string, above int) (day time.Time, lacks bool, err error) {
	if day, err = wording.ReadDate(text, m.Date, 0); err == nil {
		return day, false, nil
	}
	year := readYear(cmp.Or(m.found, m.Year))
	if cmp.Or(m.found, m.Year) == yearAbove {
		year = above
	}
	day, err = wording.ReadDate(text, m.Date, year)
	return day, err == nil, err
}

// readYear is a year that dives can be of, 0 for none.
func readYear(text string) int {
	n, err := strconv.Atoi(text)
	if err != nil || n < wording.FirstYear || n > wording.LastYear {
		return 0
	}
	return n
}

// farApart are dates that are rather of two years, where one does not say its
// own.
const farApart = 183 * 24 * time.Hour

// findYear finds the year of dates without one: that of the file's other dates,
// else that in its name. Where these do not say, or a year may end between two of
// the dates, it is what the mapping says, which is
// asked for.
func (m *Mapping) findYear(s *spreadsheet.Sheet) {
	m.found = strconv.Itoa(wording.AnyYear)
	years, days := []int(nil), m.days(s)
	lacking, first := 0, true // the first date lacks it
	for i, text := range days {
		if day, lacks, err := m.readDay(text, 0); lacks {
			lacking++
		} else if err == nil {
			years, first = append(years, day.Year()), first && i > 0
		}
	}
	if len(years) == 0 {
		for _, digits := range strings.FieldsFunc(filepath.Base(s.File), func(r rune) bool { return !unicode.IsDigit(r) }) {
			if n := readYear(digits); n > 0 {
				years = append(years, n)
			}
		}
	}
	m.found = ""
	slices.Sort(years)
	switch years = slices.Compact(years); {
	case len(years) == 1:
		m.found = strconv.Itoa(years[0])
	case !first:
		m.found = yearAbove
	}
	if m.yearEnds(days) {
		m.found = ""
	}
	switch {
	case m.Year == Asked && (lacking == 0 || m.found != ""):
		m.Year = ""
	case m.Year == "" && lacking > 0 && m.found == "":
		m.Year = Asked
	}
}

// yearEnds says whether a year may end between two dates of which one has none.
func (m *Mapping) yearEnds(days []string) bool {
	last, lacked := time.Time{}, false
	for _, text := range days {
		day, lacks, err := m.readDay(text, last.Year())
		if err != nil {
			continue
		}
		if !last.IsZero() && (lacks || lacked && m.found != yearAbove) && day.Sub(last).Abs() > farApart {
			return true
		}
		last, lacked = day, lacks
	}
	return false
}
