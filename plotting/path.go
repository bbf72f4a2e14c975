package plotting

import (
	"strconv"
	"strings"
)

// A Point is a place in a picture, y down.
type Point struct{ X, Y float64 }

// A Path is lines, dots of one point, and closed outlines.
type Path []stretch

type stretch struct {
	points []Point
	closed bool
}

// line is a line through x and y in turn; a dot where it has but one point.
func line(xy ...float64) Path {
	var s stretch
	for i := 0; i < len(xy); i += 2 {
		s.points = append(s.points, Point{xy[i], xy[i+1]})
	}
	return Path{s}
}

// outline is line, closed.
func outline(xy ...float64) Path {
	p := line(xy...)
	p[0].closed = true
	return p
}

func box(x0, y0, x1, y1 float64) Path { return outline(x0, y0, x1, y0, x1, y1, x0, y1) }

func diamond(x, y float64) Path { return outline(x, y-5, x-5, y, x, y+5, x+5, y) }

func triangle(x, y float64) Path { return outline(x, y-5, x-5, y+4, x+5, y+4) }

func cross(x, y float64) Path {
	return append(line(x-3.5, y-3.5, x+3.5, y+3.5), line(x+3.5, y-3.5, x-3.5, y+3.5)...)
}

// hatch are slanting lines within a box.
func hatch(x0, y0, x1, y1 float64) Path {
	const gap = 4.0
	var out Path
	high := y1 - y0
	for x := x0 + gap - high; x < x1; x += gap {
		from, to := max(x, x0), min(x+high, x1)
		out = append(out, line(from, y1-(from-x), to, y1-(to-x))...)
	}
	return out
}

// String is the path as SVG has it.
func (p Path) String() string {
	var b strings.Builder
	for _, s := range p {
		for i, at := range s.points {
			switch {
			case i == 0:
				b.WriteString("M" + short(at.X) + " " + short(at.Y))
			case short(at.X) == short(s.points[i-1].X):
				b.WriteString("V" + short(at.Y))
			case short(at.Y) == short(s.points[i-1].Y):
				b.WriteString("H" + short(at.X))
			default:
				b.WriteString("L" + short(at.X) + " " + short(at.Y))
			}
		}
		switch {
		case s.closed:
			b.WriteString("z")
		case len(s.points) == 1:
			b.WriteString("h0")
		}
	}
	return b.String()
}

// short is a coordinate in as few digits as matter.
func short(v float64) string { return strings.TrimSuffix(strconv.FormatFloat(v, 'f', 1, 64), ".0") }
