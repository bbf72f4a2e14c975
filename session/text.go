package session

import (
	"slices"
	"strings"

	"sagline/session/problem"
)

// A textColumn says how a text column is read into a line and written from one.
type textColumn struct {
	read  func(b *builder, c *Column, l *Line)
	write func(l *Line) string
}

// textColumns are the text columns by quantity, except dive, date, battery and clock.
var textColumns = map[string]textColumn{
	"thrusters": {
		func(b *builder, c *Column, l *Line) { l.Electrical, l.Drives = b.thrusters(c) },
		(*Line).Thrusters},
	"lights": {
		func(b *builder, c *Column, l *Line) { l.Lights = b.yes(c, "on", "off") },
		func(l *Line) string { return wordIf(l.Lights, "on") }},
	"held": {
		func(b *builder, c *Column, l *Line) { l.Held = b.yes(c, "yes", "no") },
		func(l *Line) string { return wordIf(l.Held, "yes") }},
	"serviced": {
		func(b *builder, c *Column, l *Line) { l.Serviced = b.services(c) },
		func(l *Line) string { return strings.Join(l.Serviced, "+") }},
	"note": {
		func(b *builder, c *Column, l *Line) { l.Note = unescapeFormula(strings.TrimSpace(b.text(c))) },
		func(l *Line) string { return l.Note }},
}

func wordIf(is bool, word string) string {
	if is {
		return word
	}
	return ""
}

// Serviceable lists what can be worked on: parts of the vehicle, and meters that were replaced,
// zeroed or checked.
var Serviceable = []string{"tether", "joint", "thruster", "propeller", "seal", "battery", "ballast", "hull", "lights", "camera",
	"clamp", "voltmeter", "ohmmeter", "tape", "scale"}

// mostDrives bounds the number of different thrusters cells kept in builder.drives; a log has a
// dozen.
const mostDrives = 256

// thrusters reads which thrusters ran. filled reports whether the cell was filled.
func (b *builder) thrusters(c *Column) (filled bool, out []Drive) {
	text := b.word(c)
	if text == "" || strings.EqualFold(text, "off") {
		return text != "", nil
	}
	if known, ok := b.drives[text]; ok {
		return true, known
	}
	out, ok := b.names(c, text)
	if ok && len(b.drives) < mostDrives {
		b.drives[text] = out
	}
	return true, out
}

// names parses names joined by +. ok is false if one of them is a problem.
func (b *builder) names(c *Column, text string) (out []Drive, ok bool) {
	ok = true
	for part := range strings.SplitSeq(text, "+") {
		d := drive(part)
		switch {
		case d.Name == "":
			b.bad(c, "found %s, want names joined by +", problem.Quote(text))
			return nil, false
		case strings.EqualFold(d.Name, "off"):
			b.bad(c, "found %s, want off alone or names joined by +", problem.Quote(text))
			return nil, false
		case slices.ContainsFunc(out, func(o Drive) bool { return o.Name == d.Name }):
			b.bad(c, "found %s twice, want it once", problem.Quote(d.Name))
			ok = false
		}
		out = append(out, d)
	}
	return out, ok
}

// drive parses a name that may be followed by astern or down.
func drive(text string) Drive {
	name := strings.TrimSpace(text)
	if strings.ContainsAny(name, "\t\n") || strings.Contains(name, "  ") {
		name = strings.Join(strings.Fields(name), " ")
	}
	if i := strings.LastIndexByte(name, ' '); i > 0 {
		last := name[i+1:]
		if strings.EqualFold(last, "astern") || strings.EqualFold(last, "down") {
			return Drive{name[:i], true}
		}
	}
	return Drive{Name: name}
}

// Thrusters returns which thrusters ran, as a cell.
func (l *Line) Thrusters() string {
	if !l.Electrical {
		return ""
	}
	if len(l.Drives) == 0 {
		return "off"
	}
	parts := make([]string, len(l.Drives))
	for i, d := range l.Drives {
		parts[i] = d.Name
		if d.Reversed {
			parts[i] += " astern"
		}
	}
	return strings.Join(parts, " + ")
}

// Services returns the parts that a cell of the serviced column names, in lower case and without
// space; ok is false if any is no part.
func Services(cell string) (parts []string, ok bool) {
	ok = true
	for part := range strings.SplitSeq(cell, "+") {
		p := strings.ToLower(strings.TrimSpace(part))
		parts, ok = append(parts, p), ok && slices.Contains(Serviceable, p)
	}
	return parts, ok
}

// services parses which parts were worked on, each once.
func (b *builder) services(c *Column) []string {
	text := b.word(c)
	if text == "" {
		return nil
	}
	var out []string
	parts, _ := Services(text)
	for i, written := range strings.Split(text, "+") {
		p := parts[i]
		switch i := slices.Index(Serviceable, p); {
		case i < 0:
			suggestion := ""
			if len(p) <= longestName {
				suggestion = problem.Suggest(p, Serviceable)
			}
			b.bad(c, "found %s, want parts from %s%s", problem.Quote(strings.TrimSpace(written)), strings.Join(Serviceable, ", "), suggestion)
		case !slices.Contains(out, Serviceable[i]):
			out = append(out, Serviceable[i])
		}
	}
	return out
}
