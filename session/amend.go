package session

import (
	"fmt"
	"sagline/session/problem"
	"slices"
	"strings"
	"time"
)

// Replace puts other cells into the line that begins on a line of the file;
// those that e does not name stay as they are, and an empty one is emptied.
// was is written above as a comment with the old line, unless it is "".
func (s *File) Replace(line int, e Row, was string) error {
	i, err := s.record(line)
	if err != nil {
		return err
	}
	old := s.chunks[i]
	raw := old.raw(s.separator)
	for _, c := range columns {
		text, ok := e[c.Name]
		if !ok {
			continue
		}
		k, err := s.column(c)
		if err != nil {
			return err
		}
		for len(raw) <= k {
			raw = append(raw, "")
		}
		cell := ""
		if clean(text) != "" {
			if _, err := c.number(clean(text), false); c.Unit != "" && err != nil {
				return &problem.Problem{File: s.file, Line: line, Column: named(c.Name), Text: err.Error()}
			}
			cell = s.columns[k].cell(s.columns[k].from(c, text), s.commas)
		}
		raw[k] = spell(cell, s.separator, s.end)
	}
	end := old.end()
	if text := strings.Join(raw, string(s.separator)) + end; text != old.text {
		s.chunks[i].text = text
		if was != "" {
			s.insert(i, s.remark(was+": "+old.text))
		}
	}
	s.renumber()
	return nil
}

// lasting are the columns whose cells hold for later lines too.
var lasting = []string{"date", "tether", "water", "salinity"}

// Strike makes a comment of the line that begins on a line of the file. What
// it says that also holds for the dive's next line is written there. was
// begins the comment.
func (s *File) Strike(line int, was string) error {
	i, err := s.record(line)
	if err != nil {
		return err
	}
	old := s.chunks[i]
	if next := s.nextOf(i); next > 0 {
		s.carry(old, next)
	}
	s.chunks[i] = s.remark(was + ": " + old.text)
	s.renumber()
	return nil
}

// nextOf is the record of the same dive after the i-th chunk, 0 without one.
func (s *File) nextOf(i int) int {
	label := s.dive(s.chunks[i])
	for n := i + 1; n < len(s.chunks); n++ {
		if c := s.chunks[n]; !c.comment() && !c.blank(s.separator) {
			if s.dive(c) == label {
				return n
			}
			return 0
		}
	}
	return 0
}

func (s *File) carry(from chunk, to int) {
	old, raw := from.raw(s.separator), s.chunks[to].raw(s.separator)
	for k, c := range s.columns {
		if c == nil || !slices.Contains(lasting, c.Quantity) || k >= len(old) || clean(old[k]) == "" {
			continue
		}
		for len(raw) <= k {
			raw = append(raw, "")
		}
		if clean(raw[k]) == "" {
			raw[k] = old[k]
		}
	}
	s.chunks[to].text = strings.Join(raw, string(s.separator)) + s.chunks[to].end()
}

// Was words what a comment with an old line begins with.
func ChangeNote(what string, day time.Time) string {
	return fmt.Sprintf("%s %s, was", day.Format(time.DateOnly), what)
}
