package session

import (
	"maps"
	"sagline/session/problem"
	"slices"
	"strconv"
	"strings"
)

// Append writes lines down, each at the end of its dive, a new dive at the end
// of the log. Columns that the file lacks are added to its header, unless it
// has the quantity in another unit: that stays, and the number is turned into
// it. The date is written on a dive's first line only.
func (s *File) Append(entries ...Row) error {
	p := s.places()
	for _, e := range entries {
		if err := s.append(e, p); err != nil {
			return err
		}
	}
	s.renumber()
	return nil
}

func (s *File) append(e Row, p *places) error {
	_, list := ParseRows(e)
	if list != nil {
		return list.Err()
	}
	row := s.row(e, &list)
	if list != nil {
		return list.Err()
	}
	at, first := p.next(clean(e["dive"]))
	if !first {
		s.clear(row, "date")
	}
	s.put(at, chunk{text: s.join(row)})
	return nil
}

// places are where lines go, found once for all that are appended.
type places struct {
	after map[string]int // the chunk after each dive's last record
	end   int            // after all but the blank lines at the end of a file
}

func (s *File) places() *places {
	p := &places{after: map[string]int{}, end: s.header + 1}
	for i := s.header + 1; i < len(s.chunks); i++ {
		c := s.chunks[i]
		if c.blank(s.separator) {
			continue
		}
		p.end = i + 1
		if !c.comment() {
			p.after[s.dive(c)] = i + 1
		}
	}
	return p
}

// next is where a dive's next line goes, and whether it is its first.
func (p *places) next(dive string) (at int, first bool) {
	at, again := p.after[dive]
	if !again {
		at = p.end
	}
	if at < p.end {
		for d, after := range p.after {
			if after > at {
				p.after[d] = after + 1
			}
		}
	}
	p.after[dive] = at + 1
	p.end++
	return at, !again
}

// dive is the label of a record.
func (s *File) dive(c chunk) string {
	for k, text := range c.cells(s.separator) {
		if k < len(s.columns) && s.columns[k] != nil && s.columns[k].Name == "dive" {
			return bare(clean(text))
		}
	}
	return ""
}

// row is an entry's cells under the header; what cannot be there is told of.
func (s *File) row(e Row, list *problem.List) []string {
	for _, name := range slices.Sorted(maps.Keys(e)) {
		if _, ok := Find(name); !ok {
			list.Add("", 0, named(name), "unknown%s", problem.Suggest(name, names))
		}
	}
	row := make([]string, len(s.columns))
	for _, c := range columns { // in the order of the table, so that new columns come in it
		text := e[c.Name]
		if clean(text) == "" {
			continue
		}
		k, err := s.column(c)
		if err != nil {
			list.Add("", 0, named(c.Name), "%v", err)
			continue
		}
		for len(row) <= k {
			row = append(row, "")
		}
		if row[k] != "" {
			list.Add("", 0, named(c.Name), "given beside another column of the %s, want one of them", c.Quantity)
		}
		row[k] = s.columns[k].cell(s.columns[k].from(c, text), s.commas)
	}
	return row
}

// from is a cell of o as a cell of c, which may be in another unit.
func (c *Column) from(o *Column, text string) string {
	if c == o {
		return text
	}
	x, err := o.number(clean(text), false)
	if err != nil {
		return text // told of where it is read
	}
	return strconv.FormatFloat(c.FromBase(o.ToBase(x)), 'g', 12, 64)
}

// column is the place in the header of c's quantity, made where there is none.
func (s *File) column(c *Column) (int, error) {
	for k, has := range s.columns {
		if has != nil && has.Quantity == c.Quantity {
			return k, nil
		}
	}
	if len(s.columns) >= MaxCells {
		return 0, whole(s.file, "%d columns already, none can be added", len(s.columns))
	}
	h := &s.chunks[s.header]
	raw := h.raw(s.separator)
	for len(raw) <= len(s.columns) {
		raw = append(raw, "")
	}
	raw[len(s.columns)] = c.Name
	h.text = strings.Join(raw, string(s.separator)) + h.end()
	s.columns = append(s.columns, c)
	return len(s.columns) - 1, nil
}

// ReplaceLast puts an entry in the place of a dive's last line; unknown columns
// keep their cells. It is for a line written a moment ago: the old one is not
// kept.
func (s *File) ReplaceLast(dive string, e Row) error {
	at, first := s.places().next(dive)
	if first {
		return whole(s.file, "no dive %s", problem.Quote(dive))
	}
	full := maps.Clone(e)
	for _, c := range s.columns {
		if c != nil && !slices.ContainsFunc(columns, func(o *Column) bool { _, ok := e[o.Name]; return ok && o.Quantity == c.Quantity }) {
			full[c.Name] = ""
		}
	}
	return s.Replace(s.chunks[at-1].line, full, "")
}

func (s *File) clear(row []string, name string) {
	for k, c := range s.columns {
		if c != nil && c.Name == name {
			row[k] = ""
		}
	}
}

// join is a row of cells as it stands in the file.
func (s *File) join(row []string) string {
	out := make([]string, max(len(row), len(s.columns)))
	for k, text := range row {
		out[k] = spell(text, s.separator, s.end)
	}
	return strings.Join(out, string(s.separator)) + s.end
}
