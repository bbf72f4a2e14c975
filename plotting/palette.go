package plotting

import (
	"image/color"
	"math"
)

// A Colour is one of the pictures' colours, on light ground and on dark.
type Colour struct {
	Name        string
	Light, Dark color.NRGBA
}

// Palette are the colours of every picture and page. Text in them has a
// contrast of 4.5 or more with Ground (WCAG 2.2, 1.4.3); measured, limit and
// serviced are blue, vermilion and bluish green, darkened, which colour-blind
// people tell apart (Okabe and Ito, Color Universal Design, 2008).
var Palette = []Colour{
	{"ground", rgb(0xffffff), rgb(0x14181c)},
	{"ink", rgb(0x22262a), rgb(0xe6e9ec)},
	{"quiet", rgb(0x596269), rgb(0xa3adb5)},    // axes, baseline, small words
	{"line", rgb(0xd9dee2), rgb(0x343b41)},     // grid and rules
	{"measured", rgb(0x0064a0), rgb(0x6cb8f0)}, // points and bars
	{"believed", rgb(0xc9e0f2), rgb(0x21425c)}, // band
	{"limit", rgb(0xb03a00), rgb(0xff9e64)},    // limits and alarms
	{"serviced", rgb(0x00694e), rgb(0x4fcba5)},
}

// PartColours are those of BudgetParts: what is lost on the way warm, what
// reaches the motors cool. Each bears white or black words, whichever
// contrasts more.
var PartColours = [len(BudgetParts)]color.NRGBA{rgb(0x6b7278), rgb(0xa83600), rgb(0xe08a3c), rgb(0xf0cf6a), rgb(0x8fbfe0), rgb(0x0064a0), rgb(0x7b5ea3)}

func rgb(hex uint32) color.NRGBA {
	return color.NRGBA{uint8(hex >> 16), uint8(hex >> 8), uint8(hex), 255}
}

// onLight is a colour of Palette by its name.
func onLight(name string) color.NRGBA {
	for _, c := range Palette {
		if c.Name == name {
			return c.Light
		}
	}
	panic("plotting: no colour " + name)
}

var (
	ground = onLight("ground")
	ink    = onLight("ink")
	grey   = onLight("quiet")
	rule   = onLight("line")
	blue   = onLight("measured")
	band   = onLight("believed")
	red    = onLight("limit")
	green  = onLight("serviced")
)

// Contrast is the ratio of two colours' luminances, 1 to 21, as WCAG 2.2
// defines contrast ratio and relative luminance.
func Contrast(a, b color.NRGBA) float64 {
	la, lb := luminance(a), luminance(b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

func luminance(c color.NRGBA) float64 {
	linear := func(v uint8) float64 {
		if x := float64(v) / 255; x > 0.04045 {
			return math.Pow((x+0.055)/1.055, 2.4)
		}
		return float64(v) / 255 / 12.92
	}
	return 0.2126*linear(c.R) + 0.7152*linear(c.G) + 0.0722*linear(c.B)
}
