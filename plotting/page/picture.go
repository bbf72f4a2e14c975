package page

import (
	"fmt"
	"strconv"
	"strings"

	"gonum.org/v1/plot"

	"sagline/plotting"
)

// A Picture is a drawing inside the page, 320 units wide so that words of 12
// keep their size on a phone, with its words and what is said of it on hover
// or tap.
type Picture struct {
	Title, Says, Alt string
	High             float64
	Shapes           []Shape
	Hits             []Hit
}

// A Shape is a path, or words when Text is not empty.
type Shape struct {
	Class, Path, Text string
	X, Y              string
}

// A Hit is a place that says something when pointed at: words in the strip on
// top of the picture, and a mark where they belong.
type Hit struct {
	Dive       int    // from 0; −1 for none
	Area, Mark string // paths
	Words      string
}

// Lines are a hit's words, cut to what fits on two lines of the picture.
func (h Hit) Lines() []TipLine {
	const rows, most = 2, 276.0 // browsers' fonts may be wider than ours
	out := []TipLine{{Y: 14}}
	for _, word := range strings.Fields(h.Words) {
		last := &out[len(out)-1]
		longer := strings.TrimSpace(last.Words + " " + word)
		switch {
		case plotting.TextWidth(longer, textSize) <= most || last.Words == "":
			last.Words = plotting.Fit(longer, textSize, most)
		case len(out) < rows:
			out = append(out, TipLine{Y: last.Y + 15, Words: plotting.Fit(word, textSize, most)})
		default:
			last.Words = plotting.Fit(last.Words, textSize, most-12) + " …"
			return out
		}
	}
	return out
}

// Cover is how high the ground behind what any of the hits says is.
func (p Picture) Cover() int {
	most := 0
	for _, h := range p.Hits {
		most = max(most, len(h.Lines()))
	}
	return 4 + 15*most
}

// A TipLine is a line of what a hit says.
type TipLine struct {
	Y     int
	Words string
}

const (
	wide     = 320.0
	left     = 40.0 // of the data area
	right    = 266.0
	strip    = 20.0 // on top, which what a hit says may cover
	textSize = 12.0
	rowHigh  = 15.0
)

// frame is the data area of a picture and its scales.
type frame struct {
	x0, x1, y0, y1 float64 // data
	top, foot      float64 // of the area; y1 is at top
	below          float64 // room below it, above the time axis's words
}

func (f *frame) x(v float64) float64 { return left + (v-f.x0)/(f.x1-f.x0)*(right-left) }
func (f *frame) y(v float64) float64 {
	return f.foot - (min(max(v, f.y0), f.y1)-f.y0)/(f.y1-f.y0)*(f.foot-f.top)
}

// n is a coordinate in as few digits as matter.
func n(v float64) string { return strings.TrimSuffix(strconv.FormatFloat(v, 'f', 1, 64), ".0") }

func xy(x, y float64) string { return n(x) + " " + n(y) }

func (p *Picture) path(class, d string) {
	if d != "" {
		p.Shapes = append(p.Shapes, Shape{Class: class, Path: d})
	}
}

func (p *Picture) text(class, words string, x, y float64) {
	p.Shapes = append(p.Shapes, Shape{Class: class, Text: words, X: n(x), Y: n(y)})
}

// axes draws the time axis with its ticks, and the y axis with its grid.
func (p *Picture) axes(f *frame, line *plotting.Timeline, ticks []plot.Tick) {
	var grid strings.Builder
	for _, t := range ticks {
		grid.WriteString("M" + xy(left, f.y(t.Value)) + "H" + n(right))
		p.text("e", t.Label, left-5, f.y(t.Value)+4)
	}
	p.path("grid", grid.String())
	p.timeAxis(f, line)
}

func (p *Picture) timeAxis(f *frame, line *plotting.Timeline) {
	axis := "M" + xy(left, f.foot) + "H" + n(right)
	for _, t := range line.Ticks(f.x0, f.x1, 5) {
		axis += "M" + xy(f.x(t.Value), f.foot) + "v4"
		for i, words := range strings.Split(t.Label, "\n") {
			p.text("m", words, f.x(t.Value), f.foot+f.below+16+13*float64(i))
		}
	}
	p.path("axis", axis)
	if !line.Dated {
		p.text("e", "dive", left-5, f.foot+f.below+16)
	}
}

// hits divides the width from left to right between dives, so that each is easy
// to point at.
func (p *Picture) hits(x []float64, dives []int, left, right, foot float64, say func(dive int) (mark, words string)) {
	for k, d := range dives {
		from, to := max(left, x[d]-20), min(right, x[d]+20)
		if k > 0 {
			from = (x[dives[k-1]] + x[d]) / 2
		}
		if k+1 < len(dives) {
			to = (x[d] + x[dives[k+1]]) / 2
		}
		mark, words := say(d)
		p.Hits = append(p.Hits, Hit{d, area(from, strip, to, foot), mark, words})
	}
}

// area is the path of a box.
func area(x0, y0, x1, y1 float64) string {
	return fmt.Sprintf("M%sH%sV%sH%sz", xy(x0, y0), n(x1), n(y1), n(x0))
}

// mostHits is how many dives of a picture can be pointed at: a long log's page
// stays small.
const mostHits = 150

// distinct picks the dives that can be pointed at, the newest among them: all
// but those of a long log.
func distinct(x []float64) []int { return apart(x, (x[len(x)-1]-x[0])/mostHits) }

// apart picks dives at least gap from each other, the newest among them.
func apart(x []float64, gap float64) []int {
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

func dot(x, y float64) string { return "M" + xy(x, y) + "h0" }

func diamond(x, y float64) string { return fmt.Sprintf("M%sl-5 5 5 5 5-5z", xy(x, y-5)) }

func triangle(x, y float64) string { return fmt.Sprintf("M%sl-5 9h10z", xy(x, y-5)) }
