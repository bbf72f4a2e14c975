package plotting

import (
	"cmp"
	"image/color"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// A level is a horizontal line that says, right of the picture, what it is.
type level struct {
	y     float64
	words string
	tint  color.Color
	off   bool // y lies outside: the words alone
}

// levels draws horizontal lines across the canvas and their words beside it,
// apart from each other.
func levels(c draw.Canvas, ls []level, fy func(float64) vg.Length) {
	ls = slices.Clone(ls)
	slices.SortStableFunc(ls, func(a, b level) int { return cmp.Compare(a.y, b.y) })
	at := make([]float64, len(ls))
	for i, l := range ls {
		at[i] = float64(fy(l.y))
		if !l.off {
			line := stroke(l.tint, 1)
			line.Dashes = []vg.Length{5, 3}
			c.StrokeLine2(line, c.Min.X, vg.Length(at[i]), c.Max.X, vg.Length(at[i]))
		}
	}
	Apart(at, 30, float64(c.Min.Y)+8, float64(c.Max.Y)-15)
	for i, l := range ls {
		s := words(l.tint)
		s.YAlign = draw.YCenter
		c.FillText(s, vg.Point{X: c.Max.X + 5, Y: vg.Length(at[i])}, l.words)
	}
}

// levelBoxes keep room for the words of levels.
func levelBoxes(ls []level) []plot.GlyphBox {
	return []plot.GlyphBox{{X: 1, Y: 0.5, Rectangle: vg.Rectangle{Max: vg.Point{X: levelsWide(ls)}}}}
}

func levelsWide(ls []level) vg.Length {
	var wide vg.Length
	for _, l := range ls {
		wide = max(wide, words(ink).Width(l.words))
	}
	return wide + 6
}

// across are levels as a plotter, for pictures made of gonum's plotters.
type across []level

// Plot implements plot.Plotter.
func (a across) Plot(c draw.Canvas, p *plot.Plot) {
	_, fy := p.Transforms(&c)
	levels(c, a, fy)
}

// GlyphBoxes implements plot.GlyphBoxer.
func (a across) GlyphBoxes(*plot.Plot) []plot.GlyphBox { return levelBoxes(a) }
