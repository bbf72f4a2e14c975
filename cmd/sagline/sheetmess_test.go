package main

import (
	"fmt"
	"slices"
	"strings"

	"sagline/session"
	"sagline/session/quantity"
)

// grid writes a row for each line of the dives.
func (s *sheetMaker) grid(fields []field) (rows [][]string) {
	for d := range s.dives {
		dive := &s.dives[d]
		for i := range dive.Lines {
			truth := session.Row{"dive": dive.Label, "date": dive.Date.Format("2006-01-02")}
			row := make([]string, len(fields))
			for k, f := range fields {
				row[k] = f.cell(dive, i, truth)
			}
			rows = append(rows, row)
			s.truth = append(s.truth, truth)
		}
	}
	return rows
}

func heads(fields []field, brackets string) (out []string) {
	for _, f := range fields {
		text := f.heading
		if f.unit != "" && brackets != "" {
			text += " " + brackets[:1] + f.unit + brackets[1:]
		}
		out = append(out, text)
	}
	return out
}

// text joins rows with the tongue's separator.
func (s *sheetMaker) join(rows [][]string) {
	for _, r := range rows {
		for i, c := range r {
			if strings.ContainsAny(c, s.separator+"\"\n") {
				c = `"` + strings.ReplaceAll(c, `"`, `""`) + `"`
			}
			if i > 0 {
				s.text += s.separator
			}
			s.text += c
		}
		s.text += "\r\n"
	}
}

// timedRun writes the speed as a run of 10 m and its seconds.
func (s *sheetMaker) timedRun() []field {
	return []field{
		{s.run, "m", func(d *session.Dive, i int, truth session.Row) string {
			if !d.Lines[i].Readings[quantity.Speed].Measured() {
				return ""
			}
			truth["run_m"] = "10"
			return "10"
		}},
		{s.runTime, "s", func(d *session.Dive, i int, truth session.Row) string {
			v := d.Lines[i].Readings[quantity.Speed]
			v.X = 10 / v.X
			return s.number(truth, "run_s", v, 1, 0, 1)
		}},
	}
}

// both joins the cells of two fields into one.
func both(heading, between string, a, b field, units bool) field {
	return field{heading, "", func(d *session.Dive, i int, truth session.Row) string {
		x, y := a.cell(d, i, truth), b.cell(d, i, truth)
		if units && x != "" {
			x += a.unit
		}
		if units && y != "" {
			y += " " + b.unit
		}
		if x == "" || y == "" {
			return x + y
		}
		return x + between + y
	}}
}

// marks are a field for each thruster, with a mark where it ran.
func (s *sheetMaker) marks() (out []field) {
	for k, name := range []string{"port", "starboard", "vertical"} {
		out = append(out, field{[]string{s.port, s.starboard, s.up}[k], "", func(d *session.Dive, i int, truth session.Row) string {
			l := d.Lines[i]
			if k == 0 {
				s.driven(l.Drives, truth)
			}
			at := slices.IndexFunc(l.Drives, func(d session.Drive) bool { return d.Name == name })
			switch {
			case at < 0:
				return s.none
			case l.Drives[at].Reversed:
				return s.astern
			}
			return s.yes
		}})
	}
	return out
}

// remarks are notes of work, one on the first line of each dive, and the
// weather.
func (s *sheetMaker) remarks() []field {
	notes := make([]string, 0, len(s.work))
	for note := range s.work {
		notes = append(notes, note)
	}
	slices.Sort(notes)
	return []field{{s.weather, "", func(d *session.Dive, i int, truth session.Row) string {
		if i > 0 {
			return ""
		}
		truth["note"] = s.sunny
		return s.sunny
	}}, {s.note, "", func(d *session.Dive, i int, truth session.Row) string {
		if i > 0 {
			return ""
		}
		note := notes[slices.IndexFunc(s.dives, func(o session.Dive) bool { return o.Label == d.Label })%len(notes)]
		column, done, _ := strings.Cut(s.work[note], " ")
		truth[column] = done
		truth["note"] += "; " + note
		return note
	}}}
}

// make writes the sheet of a mess.
func (s *sheetMaker) make(mess int) {
	fields := s.base()
	switch mess {
	case 0: // clean but for a line on top
		rows := s.grid(append(fields, s.remarks()...))
		s.join(append([][]string{{"Simulated: an invented club's sheet"}, heads(append(fields, s.remarks()...), "()")}, rows...))
	case 1: // a run in metres beside its seconds
		fields = append(slices.Delete(fields, 2, 3), s.timedRun()...)
		s.join(append([][]string{heads(fields, "[]")}, s.grid(fields)...))
	case 2: // two readings in a cell, by their units
		amps := s.reading(s.amps, "A", "current_a", quantity.CurrentA, 1, 1)
		fields = append(slices.Delete(slices.Clone(fields), 5, 7), both(s.battery, " / ", fields[5], amps, true))
		s.join(append([][]string{heads(fields, "()")}, s.grid(fields)...))
	case 3: // two readings in a cell, by the heading's names; depth and temperature by their units
		cut := slices.Clone(fields)
		amps := s.reading(s.amps, "A", "current_a", quantity.CurrentA, 1, 1)
		fields = append(slices.Delete(fields, 5, 10), both(s.volts+"/"+s.amps, "/", cut[5], amps, false), cut[7], both(s.depth, " ", cut[8], cut[9], true))
		s.answers[s.volts+"/"+s.amps] = "battery_v / current_a"
		rows := s.grid(fields)
		for i := range rows { // lines with one number alone say which by nothing: left empty
			if k := 5 + 2; !strings.Contains(rows[i][k], "/") {
				rows[i][k] = ""
				delete(s.truth[i], "battery_v")
			}
		}
		s.join(append([][]string{heads(fields, "()")}, rows...))
	case 4: // a column for each line
		rows := s.grid(fields)
		all := append([][]string{heads(fields, "()")}, rows...)
		turned := make([][]string, len(fields))
		for k := range fields {
			for _, r := range all {
				turned[k] = append(turned[k], r[k])
			}
		}
		s.join(turned)
	case 5: // units in a row of their own, blank and total rows
		rows := append([][]string{heads(fields, ""), unitRow(fields)}, s.grid(fields)...)
		blank, total := make([]string, len(fields)), make([]string, len(fields))
		total[0], total[5] = s.total, "151"+s.decimal+"2"
		s.join(append(slices.Insert(rows, 9, blank, blank), total))
	case 6: // groups above the headings, a mark for each thruster, headings once more
		rest := slices.Delete(slices.Clone(fields), 3, 4)
		fields = slices.Concat(rest[:3], s.marks(), rest[3:])
		above := make([]string, len(fields))
		above[0], above[3], above[7] = s.dive, s.motors, s.battery
		rows := s.grid(fields)
		s.join(slices.Concat([][]string{above, heads(fields, "()")}, rows[:14], [][]string{heads(fields, "()")}, rows[14:]))
	case 7: // notes of work between the lines, a cell that cannot be read
		rows := s.grid(fields)
		notes := make([]string, 0, len(s.work))
		for note := range s.work {
			notes = append(notes, note)
		}
		slices.Sort(notes)
		column, done, _ := strings.Cut(s.work[notes[0]], " ")
		s.truth[6][column], s.truth[6]["note"] = done, notes[0]
		s.truth[3]["note"] = rows[3][5] + "?"
		rows[3][5] += "?"
		delete(s.truth[3], "battery_v")
		s.join(slices.Concat([][]string{heads(fields, "()")}, rows[:6], [][]string{{notes[0]}}, rows[6:]))
	case 8: // no units
		plainly := slices.Clone(fields)
		plainly[5].unit, plainly[6] = "", s.reading(s.amps, "", "current_a", quantity.CurrentA, 0.001, 0)
		plainly[7].unit, plainly[8], plainly[9] = "", s.depthField("", 1), s.tempField("")
		if s.name == "en" {
			plainly[8] = s.depthField("", 0.3048)
		}
		s.answers[s.amps], s.answers[s.depth], s.answers[s.temp] = "current_a in mA", "depth_m", "water_c"
		if s.name == "en" {
			s.answers[s.depth], s.answers[s.temp] = "depth_ft", "water_f"
		}
		s.join(append([][]string{heads(plainly, "()")}, s.grid(plainly)...))
	case 9: // a line above each dive that names it
		fields = fields[2:]
		rows := s.grid(fields)
		all, n := [][]string{heads(fields, "()")}, 0
		for _, d := range s.dives {
			all = append(all, []string{fmt.Sprintf("%s %s – %s", s.dive, d.Label, d.Date.Format(s.dates))})
			all = append(all, rows[n:n+len(d.Lines)]...)
			n += len(d.Lines)
		}
		s.join(all)
	}
}

func unitRow(fields []field) (out []string) {
	for _, f := range fields {
		out = append(out, f.unit)
	}
	return out
}
