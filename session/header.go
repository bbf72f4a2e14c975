package session

import (
	"fmt"
	"strings"

	"sagline/session/problem"
)

// heading is the first line of a file, judged.
type heading struct {
	line  int
	names []string // as found, without empty ones at the end
	width int
	has   map[string]*Column // the column used for each quantity
	used  []*Column          // by place in a row; nil where a column is not to be used
}

// mostWarned is how many unknown columns are warned of.
const mostWarned = mostWorded

// longestName bounds the work of finding the nearest name.
const longestName = 40

// judgeHeader matches a header line to the table of columns.
func judgeHeader(row []string, line int, p *problems) (*heading, []error) {
	h := &heading{line: line, has: map[string]*Column{}}
	var warnings []error
	unknown := 0
	for i, cell := range row[:filled(row)] {
		name := clean(cell)
		h.names, h.used = append(h.names, name), append(h.used, nil)
		c, known := Find(name)
		switch {
		case known && h.take(c, p):
			h.used[i] = c
		case !known:
			if unknown++; unknown <= mostWarned {
				warnings = append(warnings, p.unknown(line, i, name))
			}
		}
	}
	if unknown > mostWarned {
		warnings = append(warnings, &problem.Problem{File: p.file, Line: line, Text: fmt.Sprintf("… and %d more unknown columns", unknown-mostWarned)})
	}
	h.width = len(h.names)
	return h, warnings
}

// take uses c for its quantity unless another column is used for it.
func (h *heading) take(c *Column, p *problems) bool {
	o := h.has[c.Quantity]
	switch {
	case o == nil:
		h.has[c.Quantity] = c
		return true
	case o == c:
		p.add(h.line, c, "stands twice, want it once")
	default:
		p.add(h.line, c, "found beside %q, want one of them", o.Name)
	}
	return false
}

func (p *problems) unknown(line, i int, name string) error {
	if name == "" {
		return p.warning(line, numbered(i), "has no name, kept but not used")
	}
	near := ""
	if len(name) <= longestName {
		near = problem.Suggest(name, names)
	}
	return p.warning(line, named(name), "unknown, kept but not used"+near)
}

// place is how a problem names the i-th column: as found, else its number.
func (h *heading) place(i int) string {
	if i < h.width && h.names[i] != "" {
		return named(h.names[i])
	}
	return numbered(i)
}

func numbered(i int) string { return fmt.Sprintf("column %d", i+1) }

// usable says whether rows can be read under h: whether they say which dive
// they are of.
func (h *heading) usable(p *problems) bool {
	if h.has["dive"] != nil {
		return true
	}
	near := ""
	for _, n := range h.names {
		if _, known := Find(n); !known && len(n) <= longestName && problem.Nearest(n, []string{"dive"}) != "" {
			near = fmt.Sprintf(" (nearest: %s)", problem.Quote(n))
			break
		}
	}
	if h.width == 1 {
		near += "; columns are set apart by commas, semicolons or tabs"
	}
	p.add(h.line, nil, `found the header %s, want a column "dive" in it%s`, h.quoted(), near)
	return false
}

// quoted shows the first columns of a header.
func (h *heading) quoted() string {
	const most = 4
	var out []string
	for _, n := range h.names[:min(most, h.width)] {
		out = append(out, problem.Quote(n))
	}
	if h.width > most {
		out = append(out, "…")
	}
	return strings.Join(out, ", ")
}
