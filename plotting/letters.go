//go:build !js

package plotting

import (
	"slices"
	"strings"
	"unicode"

	"golang.org/x/image/font/sfnt"
	"golang.org/x/text/unicode/bidi"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"
)

// Drawable says whether the font of a PNG has all letters of a text: Latin,
// Greek, Cyrillic and Hebrew, not Chinese or emoji. An SVG leaves the font to
// who shows it.
func Drawable(s string) bool {
	face := font.DefaultCache.Lookup(plot.DefaultFont, 11)
	return !strings.ContainsFunc(s, func(c rune) bool { return !hasGlyph(face, c) })
}

func hasGlyph(face font.Face, c rune) bool {
	var b sfnt.Buffer
	glyph, err := face.Face.GlyphIndex(&b, c)
	return err == nil && glyph != 0
}

// missing stands for a letter that the font lacks.
const missing = '□'

// letteredPNG is a PNG's canvas that draws text in the order in which it is
// read, and a box for each letter that its font lacks.
type letteredPNG struct{ vgimg.PngCanvas }

// FillString implements vg.Canvas.
func (c letteredPNG) FillString(f font.Face, at vg.Point, s string) {
	c.PngCanvas.FillString(f, at, strings.Map(func(r rune) rune {
		if hasGlyph(f, r) {
			return r
		}
		return missing
	}, fromTheLeft(s)))
}

// fromTheLeft is a text in the order in which its letters stand from the left:
// what is written from the right turned round, from its first such letter to
// its last one before the next that is written from the left, numbers in it as
// they are.
func fromTheLeft(s string) string {
	text := []rune(s)
	for i := 0; i < len(text); i++ {
		if !fromRight(text[i]) {
			continue
		}
		end := i
		for j := i; j < len(text) && !fromLeft(text[j]); j++ {
			if fromRight(text[j]) {
				end = j
			}
		}
		turn(text[i : end+1])
		i = end
	}
	return string(text)
}

func fromRight(c rune) bool {
	p, _ := bidi.LookupString(string(c))
	return p.Class() == bidi.R || p.Class() == bidi.AL
}

func fromLeft(c rune) bool {
	p, _ := bidi.LookupString(string(c))
	return p.Class() == bidi.L
}

// turn reverses letters, and the digits of a number once more.
func turn(text []rune) {
	slices.Reverse(text)
	for i := 0; i < len(text); i++ {
		n := i
		for n < len(text) && unicode.IsDigit(text[n]) {
			n++
		}
		slices.Reverse(text[i:n])
		i = max(i, n-1)
	}
}
