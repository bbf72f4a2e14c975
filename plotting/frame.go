package plotting

import (
	"cmp"
	"slices"
	"strings"
)

// A frame is the data area of a picture and its scales.
type frame struct {
	x0, x1, y0, y1         float64 // range of the data
	left, right, top, foot float64 // edges of the area in the picture; y1 is at top
	below                  float64 // room between the area and the labels of the x axis
}

func (f *frame) x(v float64) float64 { return f.left + (v-f.x0)/(f.x1-f.x0)*(f.right-f.left) }

func (f *frame) y(v float64) float64 {
	return f.foot - (min(max(v, f.y0), f.y1)-f.y0)/(f.y1-f.y0)*(f.foot-f.top)
}

// clipped returns the points of a line through values v at places x of the picture, as x and y in
// turn, up to where the line leaves the range of y.
func (f *frame) clipped(x, v []float64) (points []float64) {
	for i := range v {
		edge := min(max(v[i], f.y0), f.y1)
		if i > 0 && edge != v[i] {
			if share := (edge - v[i-1]) / (v[i] - v[i-1]); share > 0 {
				points = append(points, x[i-1]+share*(x[i]-x[i-1]), f.y(edge))
			}
			break
		}
		points = append(points, x[i], f.y(v[i]))
	}
	return points
}

// inUnit appends the unit to the last tick's label.
func inUnit(ticks []Tick, unit string) []Tick {
	if n := len(ticks); n > 0 && unit != "" {
		ticks[n-1].Label += " " + unit
	}
	return ticks
}

// leftOf returns the width that the labels of the ticks of y need.
func leftOf(ticks []Tick) float64 {
	width := 28.0
	for _, t := range ticks {
		width = max(width, 1.06*textWidth(t.Label, textSize))
	}
	return width + 8
}

// grid draws horizontal lines at ticks of y, with the labels left of them.
func (p *Picture) grid(f *frame, ticks []Tick) {
	var grid Path
	for _, t := range ticks {
		y := f.y(t.Value)
		grid = append(grid, line(f.left, y, f.right, y)...)
		if f.below == 0 || y < f.foot-6 { // clear of the words below
			p.text("e quiet", t.Label, f.left-5, y+4)
		}
	}
	p.path("line", grid)
}

// axis draws the axis at the foot with ticks of x, and its unit at the end.
func (p *Picture) axis(f *frame, ticks []Tick, unit string) {
	axis := line(f.left, f.foot, f.right, f.foot)
	for _, t := range ticks {
		x := f.x(t.Value)
		axis = append(axis, line(x, f.foot, x, f.foot+4)...)
		for i, words := range strings.Split(t.Label, "\n") {
			p.text("m quiet", words, x, f.foot+f.below+16+13*float64(i))
		}
	}
	p.path("quiet", axis)
	if unit != "" {
		p.text("e quiet", unit, f.right, f.foot+30)
	}
}

// A level is a value of y that is labelled right of the data, on one or more lines.
type level struct {
	y     float64
	class string
	lines []string
}

// named writes the labels of levels so that they do not overlap.
func (p *Picture) named(f *frame, levels []level) {
	slices.SortStableFunc(levels, func(a, b level) int { return cmp.Compare(b.y, a.y) })
	at, gap := make([]float64, len(levels)), 0.0
	for i, l := range levels {
		at[i], gap = f.y(l.y), max(gap, 2+13*float64(len(l.lines)))
	}
	Apart(at, gap, f.top+gap/2, f.foot-gap/4)
	for i, l := range levels {
		for k, words := range l.lines {
			p.text(l.class, words, f.right+4, at[i]+4+13*(float64(k)-float64(len(l.lines)-1)/2))
		}
	}
}
