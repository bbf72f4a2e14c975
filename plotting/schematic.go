package plotting

import "fmt"

// Picture draws a vehicle. Each part is filled by its share of the way to its limit and hatched
// over its 95 % range.
func (d *Drawing) Picture() *Picture {
	p := &Picture{Title: "how near each part is to its limit", Width: drawingWide, High: d.High,
		Says: "filled: share of the way; hatched: 95 % range; ?: cannot tell; ▲: found",
		Alt:  "The vehicle from the battery to the propellers, each part filled by how far it has gone to its limit."}
	if d.Yet != "" {
		p.Says = d.Yet
		p.Alt += " " + Capital(d.Yet) + "."
	}
	if d.Folded {
		p.Says += "; several in one: the farthest"
	}
	p.path("quiet", box(2, d.Frame, drawingWide-2, d.High-2))
	for _, w := range d.Wires {
		p.path("ink thick", line(w...))
	}
	for i := range d.Parts {
		p.part(&d.Parts[i])
	}
	for _, x := range d.Joints {
		p.path("ink full", diamond(x, tetherY))
	}
	for i, note := range d.Notes {
		p.Alt += " Found: " + note + "."
		if i >= d.Rows {
			continue
		}
		if more := len(d.Notes) - d.Rows; more > 0 && i == d.Rows-1 {
			note = Fit(note, textSize, 190) + fmt.Sprintf("; %d more", more)
		}
		p.text("limit", "▲ "+note, 60, d.Frame-6-16*float64(d.Rows-1-i))
	}
	return p
}

func (p *Picture) part(part *Part) {
	tint, words := "measured", "ink"
	if part.Found {
		tint, words = "limit", "limit"
	}
	to, from, until := part.Fill()
	edge := box(part.X, part.Y, part.X+part.Width, part.Y+part.High)
	p.path("empty ink", edge)
	if to > 0 {
		p.path(tint+" full", box(part.X, part.Y, part.X+to*part.Width, part.Y+part.High))
	}
	if until > from {
		p.path(tint, hatch(part.X+from*part.Width, part.Y, part.X+until*part.Width, part.Y+part.High))
	}
	p.text(words, part.Label, part.LabelX, part.LabelY)
	if says := part.Says(); says != "" {
		p.Alt += " " + Capital(says) + "."
		p.Hits = append(p.Hits, Hit{-1, edge, edge, says})
	}
}
