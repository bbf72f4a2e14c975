package prompt

import (
	"slices"
	"strings"

	"sagline/predict/fit"
	"sagline/session"
	"sagline/session/quantity"
	"sagline/session/units"
)

// asked are the quantities of a line in the order they come up on the water:
// first what was done, then what was read.
var asked = []string{"minute", "clock", "thrusters", "lights", "held", "depth", "tether",
	"battery_v", "current_a", "vehicle_v", "run", "run time", "run back", "speed_m_s", "climbed", "climb time", "climb_m_s",
	"trim_g", "pull_n", "loop_ohm", "insulation_megohm", "note"}

// begun are those that are asked once, before a dive's first line.
var begun = []string{"battery", "serviced", "ballast", "water", "salinity"}

// columnsFor are the columns to ask for a list of quantities: those in use,
// or one of every quantity.
func (v *Interview) columnsFor(quantities []string) []*session.Column {
	var out []*session.Column
	for _, q := range quantities {
		if c := columnOf(q, v.Log, v.Units); c != nil && (v.used[c.Name] || v.all) {
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

// recent is how many dives tell which columns are in use.
const recent = 10

// inUse are the columns that recent dives have filled in; those of the header
// where there are none.
func inUse(log *session.Log) map[string]bool {
	used := map[string]bool{}
	if len(log.Dives) == 0 {
		for _, name := range log.Columns {
			used[name] = true
		}
		return used
	}
	mark := func(v session.Value) {
		if v.Measured() {
			used[v.Column.Name] = true
		}
	}
	ballast := 0.0
	for i := max(0, len(log.Dives)-recent); i < len(log.Dives); i++ {
		used["battery"] = used["battery"] || log.Dives[i].Battery != ""
		for k := range log.Dives[i].Lines {
			l := &log.Dives[i].Lines[k]
			for q := range quantity.Count {
				v := l.Readings[q]
				mark(v)
				if v.Run > 0 {
					markRun(used, log, v)
				}
			}
			for _, v := range []session.Value{l.Minute, l.Depth, l.TetherOut, l.WaterC} {
				mark(v)
			}
			used["thrusters"] = used["thrusters"] || l.Electrical
			used["lights"] = used["lights"] || l.Lights
			used["held"] = used["held"] || l.Held
			used["note"] = used["note"] || l.Note != ""
			used["salinity_psu"] = used["salinity_psu"] || l.Salinity != 0
			used["serviced"] = used["serviced"] || len(l.Serviced) > 0
			if l.BallastG != ballast {
				used[columnOf("ballast", log, "").Name], ballast = true, l.BallastG
			}
		}
	}
	return used
}

// markRun marks the columns that go with a timed run or climb.
func markRun(used map[string]bool, log *session.Log, v session.Value) {
	with := []string{"climbed"}
	if v.Column.Quantity == "run time" {
		with = []string{"run", "run back"}
	}
	for _, q := range with {
		if c := columnOf(q, log, units.Metric); slices.Contains(log.Columns, c.Name) {
			used[c.Name] = true
		}
	}
}

// wanted says whether a question makes sense on a line as far as it is told:
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

// says whether a line tells more than under which circumstances nothing was
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
