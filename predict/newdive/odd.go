package newdive

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"sagline/predict/forecast"
	"sagline/session"
	"sagline/session/units"
)

// remarks returns the doubts about a row by itself and beside the line before it.
func (d *Dive) remarks(row session.Row) (out []Doubt) {
	lines, _ := session.ParseRows(d.with(row)...)
	for i := range lines {
		lines[i].Number = i + 1
	}
	log := session.Log{Dives: []session.Dive{{Lines: lines}}}
	for _, p := range log.Remarks() {
		c, ok := session.Find(p.ColumnName())
		if ok && p.Line == len(lines) && slices.Contains([]string{"depth", "vehicle_v", "thrusters", "water", "salinity"}, c.Quantity) {
			out = append(out, Doubt{Column: c, Text: row[c.Name], Why: p.Text})
		}
	}
	return out
}

// sinking returns the doubts about ballast with which a vehicle that floats would surely sink, as
// happens when a weight was read, not added.
func (d *Dive) sinking(row session.Row) (out []Doubt) {
	for _, c := range session.Columns() {
		if c.Quantity != "ballast" || row[c.Name] == "" {
			continue
		}
		hover := func(added string) *forecast.Expected {
			_, expected := d.Line(session.Row{"thrusters": "off", c.Name: added})
			return expectedOf(session.Named("trim_g"), expected)
		}
		before, after := hover(""), hover(row[c.Name])
		if before != nil && after != nil && before.Value+2*before.SD > 0 && after.Value+2*after.SD < 0 {
			out = append(out, Doubt{Column: c, Text: row[c.Name], Why: fmt.Sprintf("was that added? it would sink, by about %s %s", units.Digits(-c.FromBase(after.Value), 2), c.Unit)})
		}
	}
	return out
}

// furthestBefore is how many times the greatest depth, tether or minute so far is asked about:
// common practice, no source.
const furthestBefore = 2

// most returns the greatest number that rows have in a column, 0 without one.
func most(c *session.Column, rows []session.Row) (x float64) {
	for _, r := range rows {
		if y, err := c.Number(r[c.Name]); err == nil {
			x = max(x, y)
		}
	}
	return x
}

// meant returns the reading that recent lines of a row's kind have, this one lacks and the number in
// column c fits, nil if there is none: numbers typed without their columns that begin with the depth.
func (d *Dive) meant(row session.Row, c *session.Column) *session.Column {
	without := maps.Clone(row)
	delete(without, c.Name)
	_, expected := d.Line(without)
	for _, o := range d.Order(row) {
		want := expectedOf(o, expected)
		if want == nil || row[o.Name] != "" {
			continue
		}
		if x, ok := value(o, row, row[c.Name]); ok && math.Abs(want.Off(x.X)) < someOff {
			return o
		}
	}
	return nil
}

// furthest returns the doubts about a depth, tether or minute far beyond recent dives', and about a
// depth or tether beyond the tether's length.
func (d *Dive) furthest(row session.Row) (out []Doubt) {
	for _, c := range session.Columns() {
		if !slices.Contains([]string{"depth", "tether", "minute"}, c.Quantity) || row[c.Name] == "" {
			continue
		}
		before := most(c, d.recent)
		if before > 0 { // a first dive's lines say little of those to come
			before = max(before, most(c, d.Rows))
		}
		x, err := c.Number(row[c.Name])
		var other *session.Column // that the number may be meant for
		if before > 0 && c.Quantity == "depth" && x > before {
			other = d.meant(row, c)
		}
		switch length, course := d.course("run_s"); {
		case err != nil:
		case before > 0 && c.Quantity == "depth" && x > before && length != nil && length.Unit == c.Unit && course == row[c.Name] && row["run_s"] != "":
			out = append(out, Doubt{Column: c, Text: row[c.Name], Why: fmt.Sprintf("no more than %g in recent dives: the run's length?", before), Instead: session.Row{c.Name: ""}})
		case other != nil:
			out = append(out, Doubt{Column: c, Text: row[c.Name], Why: fmt.Sprintf("no more than %g in recent dives, and it fits %s, which has none: that?", before, other.Name), Instead: session.Row{c.Name: "", other.Name: row[c.Name]}})
		case before > 0 && x > furthestBefore*before:
			out = append(out, Doubt{Column: c, Text: row[c.Name], Why: fmt.Sprintf("no more than %g in recent dives: decimal point?", before),
				Instead: session.Row{c.Name: units.Digits(x/10, 4)}})
		case d.tetherM > 0 && c.Quantity != "minute" && c.ToBase(x) > d.tetherM:
			b := Doubt{Column: c, Text: row[c.Name], Why: "on a tether of " + d.Units.Plain(d.tetherM, "m")}
			if c.ToBase(x/10) <= d.tetherM {
				b.Why, b.Instead = b.Why+": decimal point?", session.Row{c.Name: units.Digits(x/10, 4)}
			}
			out = append(out, b)
		}
	}
	return out
}
