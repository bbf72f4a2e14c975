package plotting

import (
	"slices"

	"sagline/predict/drift"
)

// bandPath is the edge of a band over dives at x.
func bandPath(f *frame, x []float64, levels []drift.Estimate) Path {
	x = x[:len(levels)]
	if len(x) < 2 {
		return nil
	}
	var edge []float64
	at := spaced(x, 1)
	for _, i := range at {
		edge = append(edge, x[i], f.y(levels[i].High))
	}
	for _, i := range slices.Backward(at) {
		edge = append(edge, x[i], f.y(levels[i].Low))
	}
	return outline(edge...)
}

// ahead draws the cone from the newest dive to those that follow.
func (p *Picture) ahead(f *frame, t *Trace, when *Timeline) {
	if len(t.Ahead) < 2 {
		return
	}
	var x, middle []float64
	var cone []drift.Estimate
	for k, a := range t.Ahead {
		x, cone = append(x, f.x(when.After(k))), append(cone, a.Level)
		middle = append(middle, x[k], f.y(a.Level.Value))
	}
	p.path("measured dotted", append(bandPath(f, x, cone), line(middle...)...))
	p.text("quiet", "ahead", x[0]+6, f.foot+began+1) // right of when it began
}

// begun draws when it began, a box a dive, the higher the likelier.
func (p *Picture) begun(f *frame, t *Trace, x []float64) {
	if t.Begun == nil {
		return
	}
	var boxes Path
	most, half := slices.Max(t.Begun), min(max(1.5, 0.45*spacing(x)), 5)
	for d, share := range t.Begun {
		if share > 0.02*most {
			foot := f.foot + began - 1
			boxes = append(boxes, box(x[d]-half, foot-max(1, (began-4)*share/most), x[d]+half, foot)...)
		}
	}
	p.path("limit full", boxes)
	p.text("e quiet", "began", f.left-5, f.foot+began+1)
}
