package page

import (
	"fmt"
	"strings"

	"sagline/plotting"
)

// vehiclePicture draws the vehicle with each part filled by how far it has
// gone to its limit, and hatched over what its range leaves open.
func vehiclePicture(d *plotting.Drawing) Picture {
	p := Picture{High: d.High, Alt: "The vehicle from the battery to the propellers, each part filled by how far it has gone to its limit."}
	p.path("axis", area(2, d.Frame, wide-2, d.High-2))
	for _, w := range d.Wires {
		line := "M" + xy(w[0], w[1])
		for i := 2; i < len(w); i += 2 {
			line += "L" + xy(w[i], w[i+1])
		}
		p.path("wire", line)
	}
	for i := range d.Parts {
		p.part(&d.Parts[i])
	}
	for _, x := range d.Joints {
		p.path("ink full", diamond(x, 32))
	}
	for i, note := range d.Notes {
		p.text("limit", "▲ "+note, 60, d.Frame-6-16*float64(len(d.Notes)-1-i))
		p.Alt += " Found: " + note + "."
	}
	return p
}

func (p *Picture) part(part *plotting.Part) {
	tint, words := "measured", "k"
	if part.Found {
		tint, words = "limit", "limit"
	}
	to, from, until := part.Fill()
	edge := area(part.X, part.Y, part.X+part.Wide, part.Y+part.High)
	p.path("empty", edge)
	if to > 0 {
		p.path(tint+" full", area(part.X, part.Y, part.X+to*part.Wide, part.Y+part.High))
	}
	if until > from {
		p.path(tint, hatch(part.X+from*part.Wide, part.Y, part.X+until*part.Wide, part.Y+part.High))
	}
	p.text(words, part.Label, part.LabelX, part.LabelY)
	if says := part.Says(); says != "" {
		p.Alt += " " + capital(says) + "."
		p.Hits = append(p.Hits, Hit{-1, edge, edge, says})
	}
}

// hatch is the path of slanting lines within a box.
func hatch(x0, y0, x1, y1 float64) string {
	var b strings.Builder
	for _, l := range plotting.Hatch(x0, y0, x1, y1) {
		fmt.Fprintf(&b, "M%sL%s", xy(l[0], l[1]), xy(l[2], l[3]))
	}
	return b.String()
}
