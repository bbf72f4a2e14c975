package session

import (
	"maps"
	"slices"
	"strings"

	"sagline/session/problem"
)

// An Entry is one line to be written: cells by column name, in that column's
// unit. Numbers have a decimal point; what was not measured is left out.
type Entry map[string]string

// Judge reads an entry as the one line of a log: what it says, and every
// problem that it has by itself, with the column but without a place in a
// file. A dive or date that is not in it is not missed.
func Judge(e Entry) (Line, problem.List) {
	e = maps.Clone(e)
	for name, text := range map[string]string{"dive": "-", "date": "2000-01-01"} {
		if clean(e[name]) == "" {
			e[name] = text
		}
	}
	var list problem.List
	var header, cells []string
	for _, c := range columns {
		if text, ok := e[c.Name]; ok {
			header, cells = append(header, c.Name), append(cells, spell(c.cell(text, false), ';', "\n"))
		}
	}
	for _, name := range slices.Sorted(maps.Keys(e)) {
		if _, ok := Find(name); !ok {
			list.Add("", 0, named(name), "unknown%s", problem.Suggest(name, names))
		}
	}
	log, err := Read(strings.NewReader(strings.Join(header, ";")+"\n"+strings.Join(cells, ";")+"\n"), "")
	if err != nil {
		for _, p := range problem.Listed(err) {
			list.Add("", 0, p.Column, "%s", p.Text)
		}
		return Line{}, list
	}
	return log.Dives[0].Lines[0], list
}

// cell is a text as it is written into a cell of c, with a decimal comma where
// the file has those. What c takes for text can then be run by no spreadsheet.
func (c *Column) cell(text string, commas bool) string {
	if c.Unit == "" {
		return harmless(lineEnds.Replace(strings.TrimSpace(text)))
	}
	text = clean(text)
	if x, err := c.number(text, false); err == nil && strings.HasPrefix(text, "+") {
		text = decimals(x)
	}
	if commas {
		text = strings.Replace(text, ".", ",", 1)
	}
	return text
}
