package importer

import (
	"slices"
	"strings"

	"sagline/session"
)

// decimal is the file's decimal mark, Asked where its cells do not tell.
func (s *Source) decimal(m *Mapping) string {
	see := marks{commaParted: s.table.Separator == ','}
	for _, c := range m.Columns {
		if column, ok := session.Find(c.To); ok && column.Unit == "" {
			continue
		}
		if c.To == "" || c.To == stamp {
			continue
		}
		for _, cell := range s.column(c.Heading) {
			see.see(cell)
		}
	}
	mark, ask := see.mark()
	if ask {
		return Asked
	}
	return mark
}

// dateForm is how the file's dates are written.
func (s *Source) dateForm(m *Mapping) string {
	c := m.to("date")
	if c == nil || c.Form != "" {
		return YearFirst
	}
	return dateForm(s.sample(s.index(c.Heading), m.Empty))
}

// dateForm is the one form in which all cells are dates; Asked where several
// would do and differ.
func dateForm(cells []string) string {
	var fit []string
	for _, form := range []string{YearFirst, DayFirst, MonthFirst, Serial} {
		if every(cells, func(s string) bool { _, _, _, err := readStamp(s, form, ""); return err == nil }) {
			fit = append(fit, form)
		}
	}
	dotted := every(cells, func(s string) bool { d, _ := splitStamp(s); return strings.Count(d, ".") == 2 })
	switch {
	case len(fit) == 0 && dotted:
		return DayFirst // what cannot be read is told with its place
	case len(fit) == 0:
		return mostly(cells)
	case fit[0] == YearFirst, len(fit) == 1:
		return fit[0]
	case dotted: // no country writes the month first with dots
		return DayFirst
	}
	return Asked
}

// mostly is the form that reads most cells, where none reads all.
func mostly(cells []string) string {
	best, most := YearFirst, 0
	for _, form := range []string{YearFirst, DayFirst, MonthFirst, Serial} {
		n := 0
		for _, c := range cells {
			if _, _, _, err := readStamp(c, form, ""); err == nil {
				n++
			}
		}
		switch {
		case n > most:
			best, most = form, n
		case n == most && n > 0:
			best = Asked
		}
	}
	return best
}

// sampled says whether rows are a logger's samples: many, told by one time
// each, with volts or amps and nothing that a person writes down.
func (s *Source) sampled(m *Mapping) bool {
	const fewest = 200
	if len(s.first) < fewest {
		return false
	}
	for _, c := range []string{"thrusters", "note", "serviced", "held", "run_s", "trim_g", "dive"} {
		if m.to(c) != nil {
			return false
		}
	}
	electric := slices.ContainsFunc(m.Columns, func(c Match) bool {
		q := quantityOf(c.To)
		return q == "battery_v" || q == "current_a" || q == "vehicle_v" || c.To == Asked
	})
	return electric
}
