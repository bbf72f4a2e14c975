package prompt

import (
	"slices"
	"strings"

	"sagline/predict/fit"
	"sagline/session"
	"sagline/session/quantity"
	"sagline/session/units"
)

// columns are those to ask for, in the order of the table: those in use, or
// one of every quantity. once are those that are asked for before a dive's
// first line, the others are asked for on each.
func (v *Interview) columns(once bool) []*session.Column {
	var out []*session.Column
	for _, c := range session.Columns() {
		wanted := columnOf(c.Quantity, v.Log, v.Units) == c && c.Once == once && c.Name != "dive" && c.Name != "date"
		if wanted && (v.used[c.Name] || v.all) {
			out = append(out, c)
		}
	}
	return out
}

// columnOf is the column for a quantity: the log's own, which says in which
// unit the person writes, else the one in the person's units.
func columnOf(quantity string, log *session.Log, in units.System) *session.Column {
	var first *session.Column
	for _, c := range session.Columns() {
		if c.Quantity != quantity {
			continue
		}
		if log != nil && slices.Contains(log.Columns, c.Name) {
			return c
		}
		if first == nil || c.Unit == in.In(first.Unit).Name {
			first = c
		}
	}
	return first
}

// recentDives is how many dives say which columns are in use: common practice,
// no source.
const recentDives = 10

// inUse are the columns that recent dives have filled in; those of the header
// where there are none.
func (v *Interview) inUse() map[string]bool {
	used := map[string]bool{}
	for i := max(0, len(v.Log.Dives)-recentDives); i < len(v.Log.Dives); i++ {
		rows, _ := v.rows(&v.Log.Dives[i]) // of a log with problems there are none
		for _, row := range rows {
			for name := range row {
				used[name] = true
			}
		}
	}
	if len(used) == 0 {
		for _, name := range v.Log.Columns {
			used[name] = true
		}
	}
	return used
}

// wanted says whether a question makes sense on a line as far as it is typed:
// there is no speed to time when the vehicle is held. expected is what the
// readings should be, nil where nothing is known of the vehicle.
func wanted(c *session.Column, l *session.Line, e session.Row, expected []fit.Expected) bool {
	running, off := expects(expected, quantity.Speed) || expected == nil, len(l.Drives) == 0
	switch c.Quantity {
	case "held", "pull_n":
		return !off && (c.Quantity == "held" || l.Held)
	case "current_a", "vehicle_v":
		return l.Electrical && (!off || l.Lights)
	case "battery_v":
		return l.Electrical
	case "run", "run time", "run back", "speed_m_s":
		return !off && !l.Held && running && (c.Quantity != "run back" || has(e, "run_s"))
	case "climbed", "climb time", "climb_m_s":
		return !l.Held && (off || !expects(expected, quantity.Speed)) && (c.Quantity != "climb time" || has(e, "climb_m", "climb_ft"))
	case "trim_g":
		return off
	case "loop_ohm", "insulation_megohm":
		return off && !l.Lights
	}
	return true
}

func expects(all []fit.Expected, q quantity.Quantity) bool {
	return slices.ContainsFunc(all, func(e fit.Expected) bool { return e.Quantity == q })
}

func has(e session.Row, names ...string) bool {
	return slices.ContainsFunc(names, func(n string) bool { return strings.TrimSpace(e[n]) != "" })
}

// says whether a line says more than under which circumstances nothing was
// read.
func says(e session.Row) bool {
	for name, text := range e {
		_, reading := session.QuantityOf(name)
		if text != "" && (reading || slices.Contains([]string{"run_s", "climb_s", "note", "serviced", "ballast_g", "ballast_oz"}, name)) {
			return true
		}
	}
	return false
}
