//go:build !js

package plotting

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"

	"sagline/session/disk"
	"sagline/session/problem"
)

// Formats are the kinds of file that Save writes.
var Formats = []string{"png", "svg"}

// A Size is how large a picture is and how many dots a png has to the inch.
// Words are 8 points or more on every one, 16 on a slide, so a smaller one shows
// fewer.
type Size struct {
	For         string
	Width, High vg.Length
	DPI         int
	Units       float64 // how wide its pictures are drawn: the fewer, the larger their words
}

// Layout is the room for a picture of a size, less that of its heading.
func (s Size) Layout() Layout {
	heading := 2*margin + 8 + s.words()*leading*(titleSize+headingRows)
	return Layout{s.Units, s.Units * float64((s.High-heading)/(s.Width-2*margin))}
}

// words is how large a heading's are, a little less than the picture's.
func (s Size) words() vg.Length {
	return headingShare * textSize * (s.Width - 2*margin) / vg.Length(s.Units)
}

// headingRows is how many rows of words below its title a heading is taken to
// have; a picture below more of them is smaller.
const headingRows = 2

// Sizes are what pictures are made for: a screen (1200 × 624 dots), a slide of
// 16 to 9 (1920 × 1080), a printed column of 16 cm, a phone held upright
// (1080 × 1260).
var Sizes = []Size{
	{"screen", 12.5 * vg.Inch, 6.5 * vg.Inch, 96, 720},
	{"slide", 10 * vg.Inch, 5.625 * vg.Inch, 192, 480},
	{"print", 16 * vg.Centimeter, 9.6 * vg.Centimeter, 300, 480},
	{"phone", 3.6 * vg.Inch, 4.2 * vg.Inch, 300, 320},
}

// SizeFor finds a size by what it is for. Its error names those there are.
func SizeFor(use string) (Size, error) {
	for _, s := range Sizes {
		if s.For == use {
			return s, nil
		}
	}
	return Size{}, fmt.Errorf("found %q, want one of %s%s", use, strings.Join(Uses(), ", "), problem.Suggest(use, Uses()))
}

// Uses are what the Sizes are for.
func Uses() []string {
	var out []string
	for _, s := range Sizes {
		out = append(out, s.For)
	}
	return out
}

// A FormatError says that a picture's name ends in no format that can be drawn.
type FormatError struct{ Path, Format string }

func (e *FormatError) Error() string {
	return fmt.Sprintf("%s: found format %q, want one of %s", e.Path, e.Format, strings.Join(Formats, ", "))
}

// Save draws a vehicle's picture into a file of the format that its name ends
// in, whole or not at all. The same picture gives the same bytes.
func (s Size) Save(names Names, p *Picture, path string) error {
	format := strings.TrimPrefix(strings.ToLower(filepath.Ext(path)), ".")
	if !slices.Contains(Formats, format) {
		return &FormatError{path, format}
	}
	return disk.SaveOutput(path, func(out io.Writer) error { return s.Draw(names, p, out, format) })
}

// Draw writes a vehicle's picture in one of Formats.
func (s Size) Draw(names Names, p *Picture, out io.Writer, format string) error {
	if format == "png" {
		p = p.renamed(names)
	}
	title := SafeText(names.Vehicle, 60) + ": " + p.Title
	if format == "png" {
		c := letteredPNG{vgimg.PngCanvas{Canvas: vgimg.NewWith(vgimg.UseWH(s.Width, s.High), vgimg.UseDPI(s.DPI))}}
		compose(title, p, s.words(), 1, draw.New(c))
		_, err := c.WriteTo(out)
		return err
	}
	c := &measuredSVG{Canvas: vgsvg.New(s.Width, s.High)}
	compose(title, p, s.words(), otherFonts, draw.New(c))
	var drawn, described bytes.Buffer
	if _, err := c.WriteTo(&drawn); err != nil {
		return err
	}
	for _, e := range [][2]string{{"title", title}, {"desc", p.Alt}} {
		described.WriteString("<" + e[0] + ">")
		_ = xml.EscapeText(&described, []byte(e[1])) // a buffer takes all
		described.WriteString("</" + e[0] + ">\n")
	}
	svg := bytes.ReplaceAll(c.measured(drawn.Bytes()), []byte("font-family:Liberation Sans;"), []byte("font-family:"+fonts+";"))
	head := bytes.Index(svg, []byte("<g ")) // what is drawn begins there
	_, err := out.Write(slices.Concat(svg[:head], described.Bytes(), svg[head:]))
	return err
}

// measuredSVG is an SVG's canvas that says of each text how wide it is and from
// where it grows, since who shows it may have other fonts, the letters of which may
// be wider.
type measuredSVG struct {
	*vgsvg.Canvas
	lengths []string
	align   draw.XAlignment // of the next text
}

// FillString implements vg.Canvas.
func (c *measuredSVG) FillString(f font.Face, at vg.Point, s string) {
	says := ""
	if c.align != draw.XLeft {
		at.X -= f.Width(s) * vg.Length(c.align)
		says = map[draw.XAlignment]string{draw.XCenter: `text-anchor="middle" `, draw.XRight: `text-anchor="end" `}[c.align]
	}
	if drawable(s) { // else the width is not known here
		says += fmt.Sprintf(`textLength="%.5g" lengthAdjust="spacingAndGlyphs" `, f.Width(s).Points())
	}
	c.lengths, c.align = append(c.lengths, says), draw.XLeft
	c.Canvas.FillString(f, at, s)
}

// measured writes the lengths into the drawing.
func (c *measuredSVG) measured(svg []byte) []byte {
	const begins = "<text "
	parts := strings.Split(string(svg), begins)
	for i, length := range c.lengths {
		parts[i+1] = length + parts[i+1]
	}
	return []byte(strings.Join(parts, begins))
}

// fonts are named in a drawing's text: the one it was measured in, then those
// of the same widths that other systems have.
const fonts = "Liberation Sans,Arial,Helvetica,sans-serif"

// otherFonts is how many times as wide a heading's line may come out where a
// viewer has none of these and does not heed the width that is said: DejaVu Sans,
// the widest that is common, takes up to 1.18 times as much of such lines.
const otherFonts = 1.18
