package importer

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"sagline/session"
	"sagline/session/problem"
	"sagline/session/spreadsheet"
	"sagline/session/wording"
)

// mostNotes is how many notes that speak of work are listed.
const mostNotes = 200

// findWork proposes what the notes say was done.
func (m *Mapping) findWork(s *spreadsheet.Sheet) {
	for _, h := range s.Headings {
		u := m.find(h.Text)
		for _, text := range s.Column(h.Text, nil) {
			_, had := m.Notes[text]
			if work := wording.Work(text); !had && work != "" && len(m.Notes) < mostNotes && u != nil && (u.To == "note" || u.gives("ballast_g") && !wording.IsNumber(text)) {
				m.Notes[text] = work
			}
		}
	}
	if m.Work == Asked && len(m.works()) == 0 {
		m.Work = "yes"
	}
}

// findWorkIn writes what a note says was done, where that was agreed to.
func (c *converter) findWorkIn(cells session.Row, text string) {
	for work := range strings.SplitSeq(c.m.Notes[text], wording.And) {
		if name, done, _ := strings.Cut(work, " "); c.m.Work == "yes" && done != "" && done != Asked && cells[name] == "" {
			cells[name] = done
		}
	}
}

// works are the notes of work done, each with what it says.
func (m *Mapping) works() (list []string) {
	for _, text := range slices.Sorted(maps.Keys(m.Notes)) {
		if work := m.Notes[text]; work != "" && work != wording.Unweighed {
			list = append(list, fmt.Sprintf("%q is %s", text, work))
		}
	}
	return list
}

// askBallast asks how heavy the ballast was that a note does not weigh.
func (c *converter) askBallast() {
	for _, text := range slices.Sorted(maps.Keys(c.m.Notes)) {
		if before, open := strings.CutSuffix(c.m.Notes[text], wording.Unweighed); open && c.m.Work != "no" {
			c.asks("notes."+text, c.m.Notes[text], fmt.Sprintf("%q: how many grams, − for taken off? %q for unknown: the note alone", text, ""), nil, func(a string) (string, error) {
				if _, err := strconv.ParseFloat(a, 64); a != "" && err != nil {
					return "", fmt.Errorf("found %s, want grams such as -200", problem.Quote(a))
				}
				if c.m.Notes[text] = strings.TrimSuffix(before, wording.And); a != "" {
					c.m.Notes[text], c.m.Work = before+"ballast_g "+a, "yes"
				}
				return c.m.Notes[text], nil
			})
		}
	}
}

// addNote adds to a line's note.
func addNote(cells session.Row, text string) {
	if before := cells["note"]; before != "" && text != "" {
		text = before + "; " + text
	}
	if text != "" {
		cells["note"] = text
	}
}
