package importer

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"sagline/session"
	"sagline/session/problem"
)

// mass is a number of grams, or of times so many.
var mass = regexp.MustCompile(`(?i)(?:(\d+)\s*[x×*]\s*)?(\d+(?:[.,]\d+)?)\s*(kg|g|oz|lbs?|gramm?s?|gramos|grammes)\b`)

// andMore parts what one note says.
const andMore = ", "

// mostNotes is how many notes that speak of work are listed.
const mostNotes = 200

// workIn is what a note says was done: "serviced " and parts, or "ballast_g "
// and grams, "?" where it does not say how many; "" for neither. Plans are not
// done.
func workIn(text string) string {
	w := wordsOf(withoutHyphens(text))
	is := func(list string) bool {
		return slices.ContainsFunc(w, func(word string) bool { return stemOf(list, word) })
	}
	added, taken := slices.ContainsFunc(w, inList("added")), slices.ContainsFunc(w, inList("taken"))
	var out []string
	parts := partsIn(w)
	if len(w) < 2 || slices.ContainsFunc(w, inList("undone")) {
		return ""
	}
	if (is("part ballast") || slices.Contains(parts, "ballast")) && added != taken {
		parts = slices.DeleteFunc(parts, func(p string) bool { return p == "ballast" })
		out = append(out, "ballast_g "+massIn(text, taken))
	}
	if len(parts) > 0 && is("done") {
		out = append([]string{"serviced " + strings.Join(parts, "+")}, out...)
	}
	return strings.Join(out, andMore)
}

func inList(list string) func(string) bool { return func(w string) bool { return isOf(list, w) } }

// massIn is the grams that a text names, negative where they were taken off.
func massIn(text string, taken bool) string {
	all := mass.FindAllStringSubmatch(text, 2)
	if len(all) != 1 || strings.ContainsAny(text, "/½¼¾") { // a fraction, or several
		return Asked
	}
	u, _ := findUnit(all[0][3])
	x, err := strconv.ParseFloat(strings.Replace(all[0][2], ",", ".", 1), 64)
	if n, many := strconv.ParseFloat(all[0][1], 64); many == nil {
		x *= n
	}
	if err != nil || u.dimension != grams {
		return Asked
	}
	if taken {
		x = -x
	}
	return short(x * u.times)
}

// withoutHyphens makes one word of what is written as two.
func withoutHyphens(text string) string {
	return strings.NewReplacer("o-ring", "oring", "re-", "re", "joint torique", "torique", "joint d'étanchéité", "étanchéité").Replace(strings.ToLower(text))
}

// partsIn are the parts that words name.
func partsIn(w []string) []string {
	return slices.DeleteFunc(slices.Clone(session.Serviceable), func(part string) bool {
		return !slices.ContainsFunc(w, func(word string) bool { return begins(word, part) || stemOf("part "+part, word) })
	})
}

// putServiced finds the parts in free text, and keeps the text in the note
// where it says more.
func (c *converter) putServiced(cells session.Row, text string) {
	w := wordsOf(withoutHyphens(text))
	parts := partsIn(w)
	done := slices.ContainsFunc(w, func(word string) bool { return stemOf("done", word) })
	if slices.ContainsFunc(w, inList("undone")) || !done && len(parts) != len(w) {
		parts = nil
	}
	if len(parts) > 0 {
		cells["serviced"] = strings.Join(parts, "+")
	}
	if len(parts) != len(w) {
		addNote(cells, "serviced: "+text)
	}
}

// findWork proposes what the notes say was done.
func (m *Mapping) findWork(s *Source) {
	for _, r := range s.rows {
		for i, text := range r.cells {
			u := m.find(s.headings[i].text)
			lone := filled(r.cells) == 1
			if _, ok := m.Notes[text]; ok || u == nil || len(m.Notes) >= mostNotes || !lone && u.To != "note" && !u.gives("ballast_g") || u.gives("ballast_g") && isNumber(text) {
				continue
			}
			if work := workIn(text); work != "" {
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
	for work := range strings.SplitSeq(c.m.Notes[text], andMore) {
		if name, done, _ := strings.Cut(work, " "); c.m.Work == "yes" && done != "" && done != Asked && cells[name] == "" {
			cells[name] = done
		}
	}
}

// works are the notes of work done, each with what it says.
func (m *Mapping) works() (list []string) {
	for _, text := range slices.Sorted(maps.Keys(m.Notes)) {
		if work := m.Notes[text]; work != "" && work != "ballast_g ?" {
			list = append(list, fmt.Sprintf("%q is %s", text, work))
		}
	}
	return list
}

// askBallast asks how heavy the ballast was that a note does not weigh.
func (c *converter) askBallast() {
	for _, text := range slices.Sorted(maps.Keys(c.m.Notes)) {
		if before, open := strings.CutSuffix(c.m.Notes[text], "ballast_g ?"); open && c.m.Work != "no" {
			c.asks("notes."+text, fmt.Sprintf("%q: how many grams, − for taken off? %q for unknown: the note alone", text, ""), nil, func(a string) error {
				if _, err := strconv.ParseFloat(a, 64); a != "" && err != nil {
					return fmt.Errorf("found %s, want grams such as -200", problem.Quote(a))
				}
				if c.m.Notes[text] = strings.TrimSuffix(before, andMore); a != "" {
					c.m.Notes[text], c.m.Work = before+"ballast_g "+a, "yes"
				}
				return nil
			})
		}
	}
}

// addNote adds to a line's note.
func addNote(cells session.Row, text string) {
	if cells["note"] != "" {
		text = cells["note"] + "; " + text
	}
	cells["note"] = text
}

// Services are what a note says was worked on, joined by +; "" where it says
// nothing of that.
func Services(note string) string {
	done, _ := strings.CutPrefix(workIn(note), "serviced ")
	if strings.HasPrefix(done, "ballast_g ") {
		return ""
	}
	return done
}
