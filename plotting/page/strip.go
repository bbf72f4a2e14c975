package page

import (
	"fmt"

	"sagline/plotting"
	"sagline/predict/drift"
)

// gaugePicture draws where a quantity stands between its sound value and its
// limit, with its 95 % range: hatched where that leaves both open.
func gaugePicture(g *plotting.Gauge) Picture {
	const from, to, y = 78.0, 280.0, 12.0
	at := func(share float64) float64 { return from + min(max(share, -0.15), 1.15)*(to-from) }
	p := Picture{Title: g.Title, Says: g.State + ": " + g.Says, High: 24,
		Alt: fmt.Sprintf("%s: %s, %s of the way to its limit; %s.", g.Title, g.State, g.Percent(), g.Says)}
	p.path("axis", "M"+xy(from, y)+"H"+n(to)+"M"+xy(from, y-6)+"v12")
	p.path("limit", "M"+xy(to, y-8)+"v16")
	low, high := at(g.Low), at(g.High)
	if g.State == drift.CannotTell {
		p.path("measured", area(low, y-5, high, y+5)+hatch(low, y-5, high, y+5))
	} else {
		p.path("measured full", fmt.Sprintf("M%sH%sv6H%sz", xy(low, y-3), n(max(high, low+1)), n(low)))
	}
	p.path("dot", dot(at(g.Share), y))
	p.text("s", "sound", 0, y+4)
	p.text("limit", "limit", to+6, y+4)
	return p
}
