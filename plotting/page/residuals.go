package page

import (
	"fmt"
	"strings"

	"sagline/plotting"
	"sagline/predict/drift"
)

// gridLeft is where the columns of the grid begin: what is left of it names the rows.
const gridLeft = 112.0

// gridPicture draws how far each dive's readings lie from a sound vehicle's.
func gridPicture(rep *drift.Report, g *plotting.Grid, dated bool) Picture {
	const row, top = 19.0, 34.0
	p := Picture{High: top + row*float64(len(g.Rows)) + 20}
	by := (wide - gridLeft) / float64(g.Dives)
	foot := top + row*float64(len(g.Rows))
	x := make([]float64, g.Dives)
	for d := range x {
		x[d] = gridLeft + by*(float64(d)+0.5)
	}
	var read, up, down, crosses strings.Builder
	for i, r := range g.Rows {
		y := top + row*(float64(i)+0.5)
		p.text("k", plotting.Fit(r.Name, textSize, gridLeft-8), 0, y+4)
		for d := range r.Cells {
			c := &r.Cells[d]
			if c.Readings == 0 {
				continue
			}
			left := x[d] - 0.42*by
			read.WriteString("M" + xy(left, y) + "h" + n(0.84*by))
			if h := c.Height() * row * 0.46; h > 0 && c.Z > 0 {
				up.WriteString(fmt.Sprintf("M%sv-%sh%sv%sz", xy(left, y), n(h), n(0.84*by), n(h)))
			} else if h > 0 {
				down.WriteString(fmt.Sprintf("M%sv%sh%sv-%sz", xy(left, y), n(h), n(0.84*by), n(h)))
			}
			if c.SetAside > 0 {
				crosses.WriteString("M" + xy(x[d]-3.5, y-3.5) + "l7 7m0-7l-7 7")
			}
		}
	}
	p.path("read", read.String())
	p.path("limit full", up.String())
	p.path("measured full", down.String())
	p.path("cross", crosses.String())
	for _, d := range apart(x, 36) {
		p.text("m", plotting.Fit(short(rep.Dives[d].Dive), textSize, 28), min(x[d], wide-16), foot+15)
	}
	p.text("s", "dive", gridLeft-30, foot+15)
	p.hits(x, distinct(x), gridLeft, wide, foot, func(d int) (string, string) {
		return fmt.Sprintf("M%sV%s", xy(x[d], top-4), n(foot)), diveName(&rep.Dives[d], dated) + ": " + g.Says(d)
	})
	all, far, setAside := g.Counts()
	p.Alt = fmt.Sprintf("Each dive’s readings beside those of a sound vehicle: %d of %d lie far from it, %d set aside.", far, all, setAside)
	for i := range rep.Dives {
		if says := g.Says(i); i >= len(rep.Dives)-mostSaid && says != plotting.AsPredicted {
			p.Alt += fmt.Sprintf(" %s: %s.", diveName(&rep.Dives[i], dated), says)
		}
	}
	return p
}

// mostSaid is how many of the newest dives a picture's words name.
const mostSaid = 5
