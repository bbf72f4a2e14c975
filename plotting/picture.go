package plotting

import (
	"strconv"
	"strings"
)

// A Picture is a drawing with its words. Lengths are in units in which words are textSize high.
// The page draws it as SVG; Size.Save writes it to a file.
type Picture struct {
	Title, Says string
	Key         string // the meaning of its marks
	Alt         string // description in words
	Width, High float64
	Shapes      []Shape
	Hits        []Hit
}

// A Shape is a path, or words if Text is not empty. Class says how it is drawn (strokeOf,
// page.css).
type Shape struct {
	Class, Text string
	Path        Path
	At          Point // of the words
}

// A Hit is an area of a picture. Pointing at it shows a mark, and words in the strip at the top.
type Hit struct {
	Dive       int // from 0; −1 for none
	Area, Mark Path
	Words      string
}

// A Layout is the room for a picture. High is 0 if the picture may choose its height.
type Layout struct{ Width, High float64 }

// OnPage is the room on a page. On a phone a unit is about a pixel.
var OnPage = Layout{Width: 320}

const (
	textSize = 12.0
	lineHigh = 15.0
	strip    = 20.0 // height at the top that the words of a hit may cover

	headingShare = 0.92 // size of a heading's words relative to a picture's; the picture may shrink until they are equal
)

// X returns the x of words as SVG text.
func (s Shape) X() string { return short(s.At.X) }

// Y returns the y of words as SVG text.
func (s Shape) Y() string { return short(s.At.Y) }

// Box returns the picture's view box as SVG text.
func (p *Picture) Box() string { return "0 0 " + short(p.Width) + " " + short(p.High) }

func (p *Picture) path(class string, path Path) {
	if len(path) > 0 {
		p.Shapes = append(p.Shapes, Shape{Class: class, Path: path})
	}
}

// text adds words that begin at x, or end there with "e" in class, or are centred there with "m".
func (p *Picture) text(class, words string, x, y float64) {
	p.Shapes = append(p.Shapes, Shape{Class: class, Text: words, At: Point{x, y}})
}

// A TipLine is a line of the words of a hit.
type TipLine struct {
	Y     float64
	Words string
}

// Lines wraps a hit's words and cuts them to two lines of a page's picture.
func (h Hit) Lines() []TipLine {
	const rows, most = 2, 276.0 // browsers' fonts may be wider than ours
	lines := wrap(h.Words, textSize, most)
	if len(lines) > rows {
		lines = lines[:rows]
		lines[rows-1] = Fit(lines[rows-1], textSize, most-12) + " …"
	}
	var out []TipLine
	for i, words := range lines {
		out = append(out, TipLine{14 + lineHigh*float64(i), words})
	}
	return out
}

// Cover returns the height of the ground behind the words of hits.
func (p *Picture) Cover() float64 {
	most := 0
	for _, h := range p.Hits {
		most = max(most, len(h.Lines()))
	}
	return 4 + lineHigh*float64(most)
}

// mostHits bounds the hits of a picture, so that the page of a long log stays small.
const mostHits = 150

// spaced picks dives at least gap apart, and always the newest.
func spaced(x []float64, gap float64) []int {
	var out []int
	for i := range x {
		switch last := len(out) - 1; {
		case last < 0 || x[i]-x[out[last]] >= gap:
			out = append(out, i)
		case i == len(x)-1:
			out[last] = i
		}
	}
	return out
}

// hits adds hits for dives, at most about mostHits; each area reaches halfway to the next.
func (p *Picture) hits(x []float64, left, right, foot float64, say func(dive int) (mark Path, words string)) {
	dives := spaced(x, (x[len(x)-1]-x[0])/mostHits)
	for k, d := range dives {
		from, to := max(left, x[d]-20), min(right, x[d]+20)
		if k > 0 {
			from = (x[dives[k-1]] + x[d]) / 2
		}
		if k+1 < len(dives) {
			to = (x[d] + x[dives[k+1]]) / 2
		}
		mark, words := say(d)
		p.Hits = append(p.Hits, Hit{d, box(from, strip, to, foot), mark, words})
	}
}

// A Point is a place in a picture, y down.
type Point struct{ X, Y float64 }

// A Path is a list of lines, closed outlines and dots, which are lines of one point.
type Path []stretch

type stretch struct {
	points []Point
	closed bool
}

// line returns a line through points given as x and y in turn, or a dot for a single point.
func line(xy ...float64) Path {
	var s stretch
	for i := 0; i < len(xy); i += 2 {
		s.points = append(s.points, Point{xy[i], xy[i+1]})
	}
	return Path{s}
}

// outline returns the closed line through points.
func outline(xy ...float64) Path {
	p := line(xy...)
	p[0].closed = true
	return p
}

func box(x0, y0, x1, y1 float64) Path { return outline(x0, y0, x1, y0, x1, y1, x0, y1) }

func diamond(x, y float64) Path { return outline(x, y-5, x-5, y, x, y+5, x+5, y) }

func cross(x, y float64) Path {
	return append(line(x-3.5, y-3.5, x+3.5, y+3.5), line(x+3.5, y-3.5, x-3.5, y+3.5)...)
}

// hatch returns slanting lines that fill a box.
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

// String returns the path as SVG path data.
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

// short writes a coordinate to a tenth of a unit.
func short(v float64) string { return strings.TrimSuffix(strconv.FormatFloat(v, 'f', 1, 64), ".0") }
