package newdive

import (
	"slices"

	"sagline/predict/fit"
	"sagline/session"
	"sagline/session/quantity"
)

// Columns are those that a line is asked for one by one, in the order of the
// table: those in use, or one of every quantity.
func (d *Dive) Columns(all bool) (out []*session.Column) {
	for _, c := range session.Columns() {
		if slices.Contains(d.Reader.Columns, c) && c.Name != "dive" && c.Name != "date" && (all || d.Used(c) && !c.Once) {
			out = append(out, c)
		}
	}
	return out
}

// MakesSense says whether a question makes sense on a line as far as it is
// typed: there is no speed to time when the vehicle is held. expected is what the
// readings should be, nil where nothing is known of the vehicle.
func MakesSense(c *session.Column, l *session.Line, row session.Row, expected []fit.Expected) bool {
	running, off := expects(expected, quantity.Speed) || expected == nil, len(l.Drives) == 0
	switch c.Quantity {
	case "held", "pull_n":
		return !off && (c.Quantity == "held" || l.Held)
	case "current_a", "vehicle_v":
		return l.Electrical && (!off || l.Lights)
	case "battery_v":
		return l.Electrical
	case "run", "run time", "run back", "speed_m_s":
		return !off && !l.Held && running && (c.Quantity != "run back" || Has(row, "run_s"))
	case "climbed", "climb time", "climb_m_s":
		return !l.Held && (off || !expects(expected, quantity.Speed)) && (c.Quantity != "climb time" || Has(row, "climb_m", "climb_ft"))
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
