package plotting

import (
	"image/color"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Black on white is 21 to 1, and #777777 on white 4.48: WCAG 2.2, and the
// usual example of a grey that just fails 4.5 (from memory).
func TestContrastIsWCAGs(t *testing.T) {
	assert.InDelta(t, 21, contrast(rgb(0), rgb(0xffffff)), 1e-12)
	assert.InDelta(t, 4.48, contrast(rgb(0x777777), rgb(0xffffff)), 0.005)
	assert.InDelta(t, 1, contrast(rgb(0x123456), rgb(0x123456)), 1e-12)
}

// Words in any colour read on the ground and on the band, light and dark; so
// do words on the budget's parts.
func TestWordsHaveContrast(t *testing.T) {
	under := map[string]bool{"ground": true, "band": true, "line": true}
	for _, c := range palette {
		if under[c.Name] {
			continue
		}
		assert.GreaterOrEqual(t, contrast(c.Light, palette[0].Light), 7.0, c.Name)
		assert.GreaterOrEqual(t, contrast(c.Dark, palette[0].Dark), 7.0, c.Name)
	}
	for _, c := range []Colour{palette[3], palette[4]} { // grid, and the band's edge
		assert.GreaterOrEqual(t, contrast(c.Light, palette[0].Light), 3.0, c.Name)
		assert.GreaterOrEqual(t, contrast(c.Dark, palette[0].Dark), 3.0, c.Name)
		assert.GreaterOrEqual(t, contrast(c.Light, palette[5].Light), 2.0, c.Name)
		assert.GreaterOrEqual(t, contrast(c.Dark, palette[5].Dark), 2.0, c.Name)
	}
	for part, c := range PartColours {
		assert.GreaterOrEqual(t, contrast(OnPart(part), c), 7.0, BudgetParts[part])
	}
}

// contrast is the ratio of two colours' luminances, 1 to 21, as WCAG 2.2
// defines contrast ratio and relative luminance.
func contrast(a, b color.NRGBA) float64 {
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

// deuteranopia and protanopia turn linear RGB into what those who lack the
// middle or the long cones see: Viénot, Brettel and Mollon 1999 (matrices
// from memory).
var deuteranopia, protanopia = [3][3]float64{{0.29275, 0.70725, 0}, {0.29275, 0.70725, 0}, {-0.02234, 0.02234, 1}},
	[3][3]float64{{0.11238, 0.88762, 0}, {0.11238, 0.88762, 0}, {0.00401, -0.00401, 1}}

func seenBy(m [3][3]float64, c color.NRGBA) [3]float64 {
	linear := [3]float64{}
	for i, v := range []uint8{c.R, c.G, c.B} {
		linear[i] = math.Pow(float64(v)/255, 2.2)
	}
	var out [3]float64
	for i, row := range m {
		out[i] = math.Pow(max(row[0]*linear[0]+row[1]*linear[1]+row[2]*linear[2], 0), 1/2.2)
	}
	return out
}

// Points, limits and services stay apart for colour-blind people; their marks
// differ in shape and words as well.
func TestColoursStayApart(t *testing.T) {
	for _, m := range [][3][3]float64{deuteranopia, protanopia} {
		for i, a := range []string{"measured", "limit", "serviced"} {
			for _, b := range []string{"measured", "limit", "serviced"}[i+1:] {
				x, y := seenBy(m, onLight(a)), seenBy(m, onLight(b))
				assert.Greater(t, math.Hypot(math.Hypot(x[0]-y[0], x[1]-y[1]), x[2]-y[2]), 0.15, "%s and %s", a, b)
			}
		}
	}
}
