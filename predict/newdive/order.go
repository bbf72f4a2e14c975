package newdive

import (
	"slices"
	"strings"

	"sagline/session"
	"sagline/session/units"
)

// A kind is what lines with the same readings have in common.
type kind struct {
	thrusters string
	held      bool
}

func kindOf(row session.Row) kind {
	names := strings.Split(row["thrusters"], "+")
	for i := range names {
		names[i] = strings.TrimSpace(names[i])
	}
	slices.Sort(names)
	return kind{strings.Join(names, "+"), row["held"] == "yes"}
}

// Order returns the columns that a line's numbers without a unit go into, in the log's order, with
// that of the thrusters: those that recent lines with the same thrusters filled, else those of
// similar lines, else all that make sense on the line. A length that is always the same is left
// out.
func (d *Dive) Order(row session.Row) []*session.Column {
	this := kindOf(row)
	alike := func(k kind) bool { // at rest, held or under way
		return k.held == this.held && (k.thrusters == "off") == (this.thrusters == "off")
	}
	for i, same := range []func(kind) bool{func(k kind) bool { return k == this }, alike, func(kind) bool { return true }} {
		list := d.filled(same)
		if i == 2 {
			list = d.sensible(row, list)
		}
		if len(list) > 0 && len(d.recent) > 0 { // a first dive's lines say little of those to come
			return slices.DeleteFunc(list, func(c *session.Column) bool { return timeOf[c.Quantity] != "" && d.Course(timeOf[c.Quantity]) != "" })
		}
	}
	return d.sensible(row, d.each(func(c *session.Column) bool { return slices.Contains(d.Log.Columns, c.Name) }))
}

// sensible returns the columns of a list that make sense with a row's thrusters; all if the
// thrusters are not known.
func (d *Dive) sensible(row session.Row, list []*session.Column) []*session.Column {
	row = session.Row{"thrusters": row["thrusters"], "held": row["held"]}
	line, expected := d.Line(row)
	if !line.Electrical {
		return list
	}
	return slices.DeleteFunc(list, func(c *session.Column) bool {
		switch c.Quantity { // their lengths and seconds are typed together
		case "run time", "run back":
			c = d.columnOf("run")
		case "climb time":
			c = d.columnOf("climbed")
		}
		return !MakesSense(c, line, row, expected)
	})
}

// timeOf is the column of the seconds that a length was covered in.
var timeOf = map[string]string{"run": "run_s", "climbed": "climb_s"}

// TimeOf returns the column of the seconds that go with a length, "" for any other column.
func TimeOf(c *session.Column) string { return timeOf[c.Quantity] }

// course returns the length, by column and cell, that all recent lines with these seconds have; nil
// if there are several lengths.
func (d *Dive) course(seconds string) (c *session.Column, text string) {
	for _, row := range append(slices.Clip(d.recent), d.Rows...) {
		for _, o := range d.Reader.Columns {
			if row[seconds] == "" || timeOf[o.Quantity] != seconds || row[o.Name] == "" {
				continue
			}
			if text != "" && text != row[o.Name] {
				return nil, ""
			}
			c, text = o, row[o.Name]
		}
	}
	return c, text
}

// Course returns the length that all recent lines with these seconds have, as "run_m=10"; "" if
// there are several lengths.
func (d *Dive) Course(seconds string) string {
	if c, text := d.course(seconds); c != nil {
		return c.Name + "=" + text
	}
	return ""
}

// Measure adds the length of course to a row that has only the seconds.
func (d *Dive) Measure(row session.Row) {
	for quantity, seconds := range timeOf {
		c, text := d.course(seconds)
		if c != nil && row[seconds] != "" && row[session.ColumnIn(quantity, units.Metric).Name] == "" && row[session.ColumnIn(quantity, units.Imperial).Name] == "" {
			row[c.Name] = text
		}
	}
}

// Untimed returns the column of a row's length that has no seconds beside it, and the column of
// those seconds; nil if there is none.
func Untimed(row session.Row) (length, seconds *session.Column) {
	for _, c := range session.Columns() {
		if name := timeOf[c.Quantity]; name != "" && row[c.Name] != "" && row[name] == "" {
			return c, session.Named(name)
		}
	}
	return nil, nil
}

// filled returns the columns that recent lines of the kinds that same accepts filled.
func (d *Dive) filled(same func(kind) bool) []*session.Column {
	used := map[string]bool{}
	for _, row := range append(slices.Clip(d.recent), d.Rows...) {
		if same(kindOf(row)) {
			for name := range row {
				used[name] = true
			}
		}
	}
	if len(used) == 0 {
		return nil
	}
	return d.each(func(c *session.Column) bool { return used[c.Name] })
}

// each returns the log's columns of a line's numbers, thrusters and clock that is accepts.
func (d *Dive) each(is func(*session.Column) bool) (out []*session.Column) {
	for _, c := range d.Reader.Columns {
		if (c.Unit != "" && !c.Once || c.Quantity == "thrusters" || c.Quantity == "clock") && is(c) {
			out = append(out, c)
		}
	}
	return out
}

// First returns the columns asked for once, before a dive's first line: serviced, and those that
// recent dives filled.
func (d *Dive) First() (out []*session.Column) {
	for _, c := range d.Reader.Columns {
		if c.Once && (c.Quantity == "serviced" || d.used(c)) {
			out = append(out, c)
		}
	}
	return out
}

// used reports whether recent dives filled a column or, without any, whether the log has it.
func (d *Dive) used(c *session.Column) bool {
	if len(d.recent) == 0 {
		return slices.Contains(d.Log.Columns, c.Name)
	}
	return slices.ContainsFunc(d.recent, func(row session.Row) bool { return Has(row, c.Name) })
}

// Kinds returns the different thrusters and held cells of recent lines.
func (d *Dive) Kinds() (out []session.Row) {
	seen := map[kind]bool{}
	for _, row := range d.recent {
		if k := kindOf(row); row["thrusters"] != "" && !seen[k] {
			seen[k] = true
			out = append(out, session.Row{"thrusters": row["thrusters"], "held": row["held"]})
		}
	}
	return out
}

// Next returns the likeliest thrusters and held cells of the next line: those of this line of the
// dive before.
func (d *Dive) Next() session.Row {
	k := len(d.Rows)
	switch {
	case k < len(d.Plan):
		return session.Row{"thrusters": d.Plan[k]["thrusters"], "held": d.Plan[k]["held"]}
	case k > 0:
		return session.Row{"thrusters": d.Rows[k-1]["thrusters"], "held": d.Rows[k-1]["held"]}
	}
	return session.Row{"thrusters": "off"}
}
