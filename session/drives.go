package session

import (
	"slices"
	"strings"

	"sagline/session/problem"
)

// Serviceable are what can be worked on: parts of the vehicle, and meters that
// were replaced, zeroed or checked.
var Serviceable = []string{"tether", "joint", "thruster", "propeller", "seal", "battery", "ballast", "hull", "lights", "camera",
	"clamp", "voltmeter", "ohmmeter", "tape", "scale"}

// drives reads which thrusters ran; filled says whether the cell was.
func (b *builder) drives(r *row) (filled bool, out []Drive) {
	text := r.word(b.in.thrusters)
	if text == "" || strings.EqualFold(text, "off") {
		return text != "", nil
	}
	if known, ok := b.ran[text]; ok {
		return true, known
	}
	out, ok := b.parts(r, text)
	if ok && len(b.ran) < mostRan {
		b.ran[strings.Clone(text)] = out
	}
	return true, out
}

// mostRan bounds how many thrusters cells are remembered: a log has a dozen.
const mostRan = 256

// parts reads names joined by +; ok is false where something was told.
func (b *builder) parts(r *row, text string) (out []Drive, ok bool) {
	ok = true
	// The clone lets go of the rest of the row, whose text it is cut from.
	for part := range strings.SplitSeq(strings.Clone(text), "+") {
		d := drive(part)
		switch {
		case d.Name == "":
			r.bad(b.in.thrusters, "found %s, want names joined by +", problem.Quote(text))
			return nil, false
		case strings.EqualFold(d.Name, "off"):
			r.bad(b.in.thrusters, "found %s, want off alone or names joined by +", problem.Quote(text))
			return nil, false
		case slices.ContainsFunc(out, func(o Drive) bool { return o.Name == d.Name }):
			r.bad(b.in.thrusters, "found %s twice, want it once", problem.Quote(d.Name))
			ok = false
		}
		out = append(out, d)
	}
	return out, ok
}

// drive reads a name that astern or down may follow.
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

// services reads which parts were worked on, each once.
func services(r *row, c *Column) []string {
	text := r.word(c)
	if text == "" {
		return nil
	}
	var out []string
	for part := range strings.SplitSeq(text, "+") {
		p := strings.ToLower(strings.TrimSpace(part))
		switch i := slices.Index(Serviceable, p); {
		case i < 0:
			near := ""
			if len(p) <= longestName {
				near = problem.Suggest(p, Serviceable)
			}
			r.bad(c, "found %s, want parts from %s%s", problem.Quote(strings.TrimSpace(part)), strings.Join(Serviceable, ", "), near)
		case !slices.Contains(out, Serviceable[i]):
			out = append(out, Serviceable[i])
		}
	}
	return out
}
