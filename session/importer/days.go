package importer

import (
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"sagline/session/wording"
)

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
	year := readYear(m.Year)
	if m.Year == yearAbove {
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

// findYear proposes the year of dates without one: that of the file's other
// dates, else that in its name; Asked where these do not say, or a year may end
// between two of the dates.
func (m *Mapping) findYear(s *Source) {
	if m.Year != "" && m.Year != Asked { // given
		return
	}
	m.Year = strconv.Itoa(wording.AnyYear)
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
	slices.Sort(years)
	switch years = slices.Compact(years); {
	case lacking == 0:
		m.Year = ""
		return
	case len(years) == 1:
		m.Year = strconv.Itoa(years[0])
	case !first:
		m.Year = yearAbove
	default:
		m.Year = Asked
	}
	if m.yearEnds(days) {
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
		if !last.IsZero() && (lacks || lacked && m.Year != yearAbove) && day.Sub(last).Abs() > farApart {
			return true
		}
		last, lacked = day, lacks
	}
	return false
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
			if short == "" && isDate(written, wording.AnyYear) && (strings.Count(written, ".") == 2 || strings.ContainsFunc(written, unicode.IsLower)) {
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
	return slices.ContainsFunc(wording.DateForms, func(form string) bool { _, err := wording.ReadDate(text, form, year); return err == nil })
}

// every says whether there are cells and is holds for all.
func every(cells []string, is func(string) bool) bool {
	return len(cells) > 0 && !slices.ContainsFunc(cells, func(c string) bool { return !is(c) })
}
