package plotting

import (
	"fmt"
	"math"

	"sagline/predict/drift"
)

// gridLeft is where the columns of the grid begin: what is left of it names the rows.
const gridLeft = 112.0

// mostSaid is how many of the newest dives the grid's words name.
const mostSaid = 5

// GridPicture draws a grid: a mark up where a dive's readings lie above a sound
// vehicle's, down where they lie below, the farther the higher.
func GridPicture(rep *drift.Report, g *Grid, dated bool, room Layout) *Picture {
	const top, under = 34.0, 20.0
	n := float64(len(g.Rows))
	row := 19.0
	if room.High > 0 {
		row = 14 // words stay as large where there is less room
	}
	p := &Picture{Title: "readings beside predictions", Width: room.Width, High: max(room.High, top+row*n+under)}
	by, foot := (p.Width-gridLeft)/float64(g.Dives), p.High-under
	x := make([]float64, g.Dives)
	for d := range x {
		x[d] = gridLeft + by*(float64(d)+0.5)
	}
	p.cells(g, x, 0.42*by, top, (foot-top)/n)
	for _, d := range spaced(x, 36) {
		p.text("m quiet", Fit(ShortName(rep.Dives[d].Dive), textSize, 28), min(x[d], p.Width-16), foot+15)
	}
	p.text("quiet", "dive", gridLeft-30, foot+15)
	p.hits(x, gridLeft, p.Width, foot, func(d int) (Path, string) {
		return line(x[d], top-4, x[d], foot), DiveName(&rep.Dives[d], dated) + ": " + g.Says(d)
	})
	g.words(p, rep, dated)
	return p
}

// cells draws a grid's rows from top on, each row high, with marks of twice half
// about the dives' x.
func (p *Picture) cells(g *Grid, x []float64, half, top, row float64) {
	var read, up, down, crosses Path
	for i, r := range g.Rows {
		y := top + row*(float64(i)+0.5)
		p.text("ink", Fit(r.Name, textSize, gridLeft-8), 0, y+4)
		for d := range r.Cells {
			c := &r.Cells[d]
			if c.Readings == 0 {
				continue
			}
			read = append(read, line(x[d]-half, y, x[d]+half, y)...)
			if h := c.Height() * row * 0.46; h > 0 && c.Z > 0 {
				up = append(up, box(x[d]-half, y-h, x[d]+half, y)...)
			} else if h > 0 {
				down = append(down, box(x[d]-half, y, x[d]+half, y+h)...)
			}
			if c.SetAside > 0 {
				crosses = append(crosses, cross(x[d], y)...)
			}
		}
	}
	p.path("quiet", read)
	p.path("limit full", up)
	p.path("measured full", down)
	p.path("ink bar", crosses)
}

// words says what a grid's picture shows.
func (g *Grid) words(p *Picture, rep *drift.Report, dated bool) {
	all, far, setAside := g.Counts()
	from := "a sound vehicle's"
	if !rep.Judged {
		from = "the fit of these dives"
	}
	p.Says = fmt.Sprintf("%d of %d readings lie far from %s: more than %g times their scatter", far, all, from, FarSD)
	p.Key = fmt.Sprintf("up: above the prediction; down: below; full height: %g times the usual scatter or more", mostSD)
	if setAside > 0 {
		p.Key += fmt.Sprintf("; crosses: %d set aside as slips", setAside)
	}
	p.Alt = fmt.Sprintf("Each dive’s readings beside their predictions: %d of %d lie far from %s, %d set aside.", far, all, from, setAside)
	for i := max(0, len(rep.Dives)-mostSaid); i < len(rep.Dives); i++ {
		if says := g.Says(i); says != AsPredicted {
			p.Alt += fmt.Sprintf(" %s: %s.", DiveName(&rep.Dives[i], dated), says)
		}
	}
}

// Height is how high a cell's mark is, as a share of the room above or below
// the row's middle: 0 for a reading that is as predicted.
func (c *GridCell) Height() float64 {
	z := math.Abs(c.Z)
	if z <= FarSD {
		return 0
	}
	return min(math.Log(z/leastSD)/math.Log(mostSD/leastSD), 1)
}
