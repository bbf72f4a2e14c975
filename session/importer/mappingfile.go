package importer

import (
	"bytes"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"sagline/session"
	"sagline/session/problem"
	"sagline/session/tomlfile"
	"sagline/session/wording"
)

// FileName is a mapping's usual name in a logbook folder.
const FileName = "import.toml"

const mappingHeader = "# How a file becomes lines of dives.csv. sagline import made it; edit what differs.\n" +
	"# \"?\" stands where the file does not say: answer before anything is written.\n\n"

// Text returns a mapping as TOML, with comments on its keys.
func (m *Mapping) Text() ([]byte, error) {
	text, err := toml.Marshal(m)
	return append([]byte(mappingHeader), text...), err
}

// Edit writes a person's answers, and the questions still open, into the text of a mapping's file.
// Every other byte stays. The error says what could not be placed.
func (m *Mapping) Edit(text []byte, name string, asked []Question) ([]byte, error) {
	for _, q := range slices.Concat(m.answered, asked) {
		f, err := tomlfile.Parse(text, name)
		if err != nil {
			return nil, err
		}
		switch path := pathOf(q.key, f); {
		case q.key == "": // an answer that goes into the given cells
		case path != "":
			text, err = tomlfile.Set(text, name, path, quoted(q.value), nil)
		default:
			text, err = tomlfile.Insert(text, name, "column", "", []string{"[[column]]", "heading = " + quoted(strings.TrimPrefix(q.key, "column.")), "to = " + quoted(q.value)})
		}
		if err != nil {
			return nil, err
		}
	}
	_, err := ReadMapping(text, name)
	return text, err
}

// quoted returns a text as a TOML string.
func quoted(text string) string {
	out, _ := toml.Marshal(map[string]string{"x": text}) // cannot fail for strings
	return strings.TrimSpace(strings.TrimPrefix(string(out), "x = "))
}

// pathOf returns the path of a question's key in a mapping's file, "" for a heading that the file
// lacks.
func pathOf(key string, f *tomlfile.File) string {
	table, word, below := strings.Cut(key, ".")
	if !below || f.Find(key) != nil {
		return key
	}
	for i := 0; table == "column"; i++ {
		switch k := f.Find(fmt.Sprintf("column.%d.heading", i)); {
		case k == nil:
			return ""
		case k.Value == word:
			return fmt.Sprintf("column.%d.to", i)
		}
	}
	return table + "." + tomlfile.Spelt([]string{word})
}

// Line returns the line of a mapping's file that an answer changes, 0 for none.
func (q *Question) Line(f *tomlfile.File) int { return f.Line(pathOf(q.key, f)) }

// ReadMapping parses a mapping's file; name names it in problems. The error lists all problems.
func ReadMapping(text []byte, name string) (*Mapping, error) {
	m := newMapping()
	if err := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields().Decode(m); err != nil {
		return nil, problem.OfTOML(err, name, keys).Err()
	}
	return m, m.check(name).Err()
}

// keys are the names of a mapping's keys, for suggesting the nearest to an unknown one.
var keys = strings.Fields("dives date year decimal work alone yes no empty column heading to why times plus drive thrusters notes")

// check checks the values of a mapping's keys.
func (m *Mapping) check(name string) (list problem.List) {
	for _, s := range m.settings() {
		switch {
		case s.words == nil && !slices.Contains([]string{"", Asked, wording.YearAbove}, *s.value) && !wording.IsYear(*s.value):
			list.Add(name, 0, s.key, `found %s, want one such as "2026", or "above"`, problem.Quote(*s.value))
		case s.words != nil && !slices.Contains(s.words, *s.value):
			list.Add(name, 0, s.key, `found %s, want "%s"%s`, problem.Quote(*s.value), strings.Join(s.words, `", "`), problem.Suggest(*s.value, s.words))
		}
	}
	m.checkNotes(name, &list)
	for i := range m.Columns {
		c := &m.Columns[i]
		m.checkColumn(name, c, &list)
		c.Sure, c.given = Sure, c.To != Asked
	}
	return list
}

// checkNotes checks the work in [notes].
func (m *Mapping) checkNotes(name string, list *problem.List) {
	for _, text := range slices.Sorted(maps.Keys(m.Notes)) {
		for work := range strings.SplitSeq(m.Notes[text], wording.And) {
			column, done, _ := strings.Cut(work, " ")
			if work == "" || done == Asked {
				continue
			}
			if _, wrong := session.ParseRows(session.Row{column: done}); wrong != nil || column != "serviced" && column != "ballast_g" {
				list.Add(name, 0, "notes: "+problem.Quote(text), `found %s, want "serviced joint+seal", "ballast_g 200" or ""`, problem.Quote(m.Notes[text]))
			}
		}
	}
}

// checkColumn checks one column, also against those before it.
func (m *Mapping) checkColumn(name string, c *Match, list *problem.List) {
	what := "column " + problem.Quote(c.Heading)
	switch {
	case c.Heading == "":
		list.Add(name, 0, "column", "no heading, want the file's")
	case m.find(c.Heading) != c:
		list.Add(name, 0, what, "stands twice, want it once")
	case c.Drive != "" && !slices.Contains([]string{"thrusters", "note", "", Asked}, c.To):
		list.Add(name, 0, what, "drive is %s, want to = \"thrusters\" beside it", problem.Quote(c.Drive))
	}
	for text := range strings.SplitSeq(c.To, partTargets) {
		t, ok := readTarget(text)
		if all := append(session.ColumnNames(), "", Asked, stamp, section); !ok || text != c.To && !t.measured() && t.name != "note" {
			list.Add(name, 0, what+": to", `found %s, want "%s"%s`, problem.Quote(text), strings.Join(all, `", "`), problem.Suggest(text, all))
		}
	}
	if o := m.first(c.shares); o != nil && o != c { // o stands before c, since c shares with itself
		list.Add(name, 0, what, "to is %q, as %s is, want one of them", c.To, problem.Quote(o.Heading))
	}
}
