package plotting

import (
	"fmt"
	"image/color"
	"math"
	"strings"
)

// A Colour is a named colour, for light and for dark ground.
type Colour struct {
	Name        string
	Light, Dark color.NRGBA
}

// palette lists the colours of all pictures and pages. Text has a contrast of at least 7
// with the ground (WCAG 2.2, 1.4.6); grid, rules and the band's edge of at least 3
// (1.4.11). Measured, limit and serviced are darkened blue, vermilion and bluish green, which
// colour-blind people tell apart (Okabe and Ito, Color Universal Design, 2008).
var palette = []Colour{
	{"ground", rgb(0xffffff), rgb(0x14181c)},
	{"ink", rgb(0x22262a), rgb(0xe6e9ec)},
	{"quiet", rgb(0x4c545b), rgb(0xb3bcc3)},    // axes, baseline, small words
	{"line", rgb(0x848d95), rgb(0x66707a)},     // grid and rules
	{"measured", rgb(0x005688), rgb(0x7fc2f5)}, // points and bars
	{"band", rgb(0xc4ddf0), rgb(0x1c3a50)},
	{"limit", rgb(0x973200), rgb(0xffa873)}, // limits and alarms
	{"serviced", rgb(0x005b44), rgb(0x5fd3b0)},
}

// PartColours are the colours of BudgetParts: warm for losses before the motors, cool for
// what reaches them.
var PartColours = [len(BudgetParts)]color.NRGBA{rgb(0x4a5056), rgb(0x8f2d00), rgb(0xf0a65a), rgb(0xf0cf6a), rgb(0x8fbfe0), rgb(0x00507f), rgb(0x5d4285)}

// Colours writes the palette as variables of a style sheet.
func Colours(dark bool) string {
	var b strings.Builder
	for _, c := range palette {
		on := c.Light
		if dark {
			on = c.Dark
		}
		fmt.Fprintf(&b, "--%s:#%02x%02x%02x;", c.Name, on.R, on.G, on.B)
	}
	return b.String()
}

func rgb(hex uint32) color.NRGBA {
	return color.NRGBA{uint8(hex >> 16), uint8(hex >> 8), uint8(hex), 255}
}

// mix blends two colours: over with weight share, under with the rest.
func mix(over, under color.NRGBA, share float64) color.NRGBA {
	at := func(a, b uint8) uint8 { return uint8(math.Round(float64(b) + share*(float64(a)-float64(b)))) }
	return color.NRGBA{at(over.R, under.R), at(over.G, under.G), at(over.B, under.B), 255}
}

// onLight returns a colour of the palette for a light ground. It panics on an unknown name.
func onLight(name string) color.NRGBA {
	for _, c := range palette {
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
)
