//go:build !js

package plotting

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"golang.org/x/image/font/sfnt"
	"golang.org/x/text/unicode/bidi"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"

	"sagline/predict/fit"
	"sagline/predict/vehicle"
)

// drawable reports whether the font of PNGs has all letters of a text. It has Latin, Greek,
// Cyrillic and Hebrew, but not Chinese or emoji. For an SVG the viewer chooses the font.
func drawable(s string) bool {
	face := font.DefaultCache.Lookup(plot.DefaultFont, 11)
	return !strings.ContainsFunc(s, func(c rune) bool { return !hasGlyph(face, c) })
}

// Names holds a vehicle's name in pictures and, for a PNG, replacements of names with letters
// that its font lacks.
type Names struct {
	Vehicle string
	Instead []string // name and replacement in turn
}

// PNGNames returns a vehicle's names for a PNG. A part whose name the font cannot draw is called
// by its number in vehicle.toml, and the vehicle by its logbook's folder.
func PNGNames(v *vehicle.Vehicle, folder string) Names {
	var n Names
	name := func(name, instead string) string {
		if drawable(name) {
			return name
		}
		n.Instead = append(n.Instead, name, instead)
		return instead
	}
	if !drawable(folder) {
		folder = "vehicle"
	}
	n.Vehicle = name(v.Name, folder)
	for i, t := range v.Thrusters {
		name(t.Name, fmt.Sprintf("thruster %d", i+1))
	}
	for i, t := range v.Tubes {
		name(t.Name, fmt.Sprintf("tube %d", i+1))
	}
	return n
}

// NumberDives relabels the dives whose label the font of PNGs cannot draw by their number in the
// log. It returns old and new labels in turn.
func NumberDives(dives []fit.DiveFit) (instead []string) {
	taken := map[string]bool{}
	for _, d := range dives {
		taken[d.Log.Label] = true
	}
	for i, d := range dives {
		if label := d.Log.Label; !drawable(label) {
			number := fmt.Sprintf("#%d", i+1)
			for taken[number] {
				number = "#" + number
			}
			taken[number], d.Log.Label = true, number
			instead = append(instead, label, number)
		}
	}
	return instead
}

// renamed returns a copy of the picture with names replaced, also those that were cut to fit.
func (p *Picture) renamed(n Names) *Picture {
	if n.Instead == nil {
		return p
	}
	var passes [4][][]string // cut in the middle, at their beginning, at their end, and whole
	passes[3] = slices.Collect(slices.Chunk(n.Instead, 2))
	for _, pair := range passes[3] {
		name, instead := []rune(pair[0]), pair[1]
		for from := 1; from < len(name); from++ {
			head, tail := string(name[:from]), string(name[from:])
			passes[1] = append(passes[1], []string{"…" + tail, "…" + instead})
			passes[2] = append(passes[2], []string{head + "…", instead + "…"})
			for to := range from {
				passes[0] = append(passes[0], []string{string(name[:to+1]) + "…" + tail, instead})
			}
		}
	}
	var by []*strings.Replacer
	for _, pairs := range passes {
		pairs = slices.DeleteFunc(pairs, func(pair []string) bool { return drawable(pair[0]) })
		// longest first, since one name may be the beginning of another
		slices.SortStableFunc(pairs, func(a, b []string) int { return cmp.Compare(len(b[0]), len(a[0])) })
		by = append(by, strings.NewReplacer(slices.Concat(pairs...)...))
	}
	call := func(text *string) {
		for _, r := range by {
			*text = r.Replace(*text)
		}
	}
	out := *p
	out.Shapes = slices.Clone(p.Shapes)
	call(&out.Title)
	call(&out.Says)
	call(&out.Key)
	for i := range out.Shapes {
		call(&out.Shapes[i].Text)
	}
	return &out
}

func hasGlyph(face font.Face, c rune) bool {
	var b sfnt.Buffer
	glyph, err := face.Face.GlyphIndex(&b, c)
	return err == nil && glyph != 0
}

// missing is drawn for a letter that is missing from the font.
const missing = '□'

// letteredPNG is a PNG's canvas that draws right-to-left text correctly, and a box for each letter
// that its font lacks.
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

// fromTheLeft returns the letters of a text in the order in which they are drawn from left to
// right. It reverses each longest run that begins and ends with a right-to-left letter and has no
// left-to-right letter in it; numbers in the run keep the order of their digits.
func fromTheLeft(s string) string {
	text := []rune(s)
	for i := 0; i < len(text); i++ {
		if !fromRight(text[i]) {
			continue
		}
		end := i
		for j := i; j < len(text) && writing(text[j]) != bidi.L; j++ {
			if fromRight(text[j]) {
				end = j
			}
		}
		reverseLetters(text[i : end+1])
		i = end
	}
	return string(text)
}

func fromRight(c rune) bool { return writing(c) == bidi.R || writing(c) == bidi.AL }

func writing(c rune) bidi.Class {
	p, _ := bidi.LookupString(string(c))
	return p.Class()
}

// reverseLetters reverses letters, but not the digits within a number.
func reverseLetters(text []rune) {
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
