package session

import (
	"slices"
	"strings"

	"sagline/session/problem"
)

// Parts are what a service can be done to.
var Parts = []string{"tether", "joint", "thruster", "propeller", "seal", "battery", "ballast"}

// drives reads which thrusters ran; filled says whether the cell was.
func (b *builder) drives(r *row) (filled bool, out []Drive) {
	text := r.word(b.in.thrusters)
	if text == "" || strings.EqualFold(text, "off") {
		return text != "", nil
	}
	out = make([]Drive, 0, 1+strings.Count(text, "+"))
	for part := range strings.SplitSeq(text, "+") {
		d := drive(part)
		switch {
		case d.Name == "":
			r.bad(b.in.thrusters, "found %s, want names joined by +", problem.Quote(text))
			return true, nil
		case strings.EqualFold(d.Name, "off"):
			r.bad(b.in.thrusters, "found %s, want off alone or names joined by +", problem.Quote(text))
			return true, nil
		case slices.ContainsFunc(out, func(o Drive) bool { return o.Name == d.Name }):
			r.bad(b.in.thrusters, "found %s twice, want it once", problem.Quote(d.Name))
		}
		d.Name = b.copyOf(d.Name)
		out = append(out, d)
	}
	return true, out
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

// copyOf is the one copy kept of a name, so that a line does not hold on to
// the row it was read from.
func (b *builder) copyOf(name string) string {
	if kept, ok := b.once[name]; ok {
		return kept
	}
	kept := strings.Clone(name)
	b.once[kept] = kept
	return kept
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
		switch i := slices.Index(Parts, p); {
		case i < 0:
			near := ""
			if len(p) <= longestName {
				near = problem.Suggest(p, Parts)
			}
			r.bad(c, "found %s, want parts from %s%s", problem.Quote(strings.TrimSpace(part)), strings.Join(Parts, ", "), near)
		case !slices.Contains(out, Parts[i]):
			out = append(out, Parts[i])
		}
	}
	return out
}
