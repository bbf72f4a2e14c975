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

// Formats are the formats that Save writes.
var Formats = []string{"png", "svg"}

// A Size is the size of a picture's file, and the dots per inch of a PNG. Words have at least
// 8 points in every size, 16 on a slide, so smaller pictures have fewer words.
type Size struct {
	For         string
	Width, High vg.Length
	DPI         int
	Units       float64 // width of its pictures in their units: the fewer, the larger the words
}

// Layout returns the room for a picture below its heading.
func (s Size) Layout() Layout {
	heading := 2*margin + 8 + s.words()*leading*(titleSize+headingRows)
	return Layout{s.Units, s.Units * float64((s.High-heading)/(s.Width-2*margin))}
}

// words returns the size of a heading's words, a little smaller than the picture's.
func (s Size) words() vg.Length {
	return headingShare * textSize * (s.Width - 2*margin) / vg.Length(s.Units)
}

// headingRows is the number of rows assumed below a heading's title; if there are more,
// the picture gets smaller.
const headingRows = 2

// Sizes are the sizes of pictures: for a screen (1200 × 624 dots), a slide of 16 to 9
// (1920 × 1080), a printed column of 16 cm and an upright phone (1080 × 1260).
var Sizes = []Size{
	{"screen", 12.5 * vg.Inch, 6.5 * vg.Inch, 96, 720},
	{"slide", 10 * vg.Inch, 5.625 * vg.Inch, 192, 480},
	{"print", 16 * vg.Centimeter, 9.6 * vg.Centimeter, 300, 480},
	{"phone", 3.6 * vg.Inch, 4.2 * vg.Inch, 300, 320},
}

// SizeFor finds a size by its use. The error lists all uses.
func SizeFor(use string) (Size, error) {
	for _, s := range Sizes {
		if s.For == use {
			return s, nil
		}
	}
	return Size{}, problem.NotOf(use, Uses())
}

// Uses lists what the Sizes are for.
func Uses() []string {
	var out []string
	for _, s := range Sizes {
		out = append(out, s.For)
	}
	return out
}

// A FormatError is returned if the name of a picture's file does not end in one of Formats.
type FormatError struct{ Path, Format string }

func (e *FormatError) Error() string {
	return fmt.Sprintf("%s: found format %q, want one of %s", e.Path, e.Format, strings.Join(Formats, ", "))
}

// Save draws a vehicle's picture into a file, in the format that the file's name ends in. A failure
// leaves no partial file. The same picture gives the same bytes.
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
		_ = xml.EscapeText(&described, []byte(e[1])) // a buffer returns no error
		described.WriteString("</" + e[0] + ">\n")
	}
	svg := bytes.ReplaceAll(c.measured(drawn.Bytes()), []byte("font-family:Liberation Sans;"), []byte("font-family:"+fonts+";"))
	head := bytes.Index(svg, []byte("<g ")) // the drawing begins there
	_, err := out.Write(slices.Concat(svg[:head], described.Bytes(), svg[head:]))
	return err
}

// measuredSVG is an SVG's canvas that adds the width and alignment of each text, since a viewer's
// font may have wider letters.
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
	if drawable(s) { // otherwise our font does not give the width
		says += fmt.Sprintf(`textLength="%.5g" lengthAdjust="spacingAndGlyphs" `, f.Width(s).Points())
	}
	c.lengths, c.align = append(c.lengths, says), draw.XLeft
	c.Canvas.FillString(f, at, s)
}

// measured adds the lengths to the text elements of the drawing.
func (c *measuredSVG) measured(svg []byte) []byte {
	const begins = "<text "
	parts := strings.Split(string(svg), begins)
	for i, length := range c.lengths {
		parts[i+1] = length + parts[i+1]
	}
	return []byte(strings.Join(parts, begins))
}

// fonts lists the font in which texts are measured, then fonts with the same widths on other
// systems.
const fonts = "Liberation Sans,Arial,Helvetica,sans-serif"

// otherFonts is the factor by which a heading's line may become wider in a viewer that has none of
// these fonts and ignores the width: DejaVu Sans, the widest common font, takes up to 1.18 times
// the room for such lines.
const otherFonts = 1.18
