package simulate

import (
	_ "embed" // the coefficients
	"fmt"
	"math"
	"strings"
	"sync"
)

// The Wageningen B-series at a Reynolds number of 2·10⁶ (Oosterveld and van
// Oossanen, International Shipbuilding Progress 22, 1975).
var (
	//go:embed wageningen_b_kt.csv
	thrustText string
	//go:embed wageningen_b_kq.csv
	torqueText string

	terms = sync.OnceValues(func() (thrust, torque []seriesTerm) { return readTerms(thrustText), readTerms(torqueText) })
)

// A seriesTerm is C·Jˢ·(P/D)ᵗ·(A_E/A_O)ᵘ·Zᵛ.
type seriesTerm struct{ c, s, t, u, v float64 }

// readTerms reads the terms of a table, a line each; other lines are its headings.
func readTerms(text string) (out []seriesTerm) {
	for line := range strings.Lines(text) {
		var k seriesTerm
		if n, _ := fmt.Sscanf(line, "%g,%g,%g,%g,%g", &k.c, &k.s, &k.t, &k.u, &k.v); n == 5 {
			out = append(out, k)
		}
	}
	return out
}

// A propeller is one of the B-series, as polynomials in the advance ratio J
// alone.
type propeller struct{ thrust, torque [4]float64 }

// series returns the propeller with a pitch ratio, blade area ratio and number of blades.
func series(pitchRatio, areaRatio, blades float64) propeller {
	var p propeller
	add := func(to *[4]float64, terms []seriesTerm) {
		for _, k := range terms {
			to[int(k.s)] += k.c * math.Pow(pitchRatio, k.t) * math.Pow(areaRatio, k.u) * math.Pow(blades, k.v)
		}
	}
	thrust, torque := terms()
	add(&p.thrust, thrust)
	add(&p.torque, torque)
	return p
}

func polynomial(c *[4]float64, j float64) float64 { return c[0] + j*(c[1]+j*(c[2]+j*c[3])) }

// kt and kq return the thrust and torque coefficients at an advance ratio.
func (p *propeller) kt(j float64) float64 { return polynomial(&p.thrust, j) }
func (p *propeller) kq(j float64) float64 { return polynomial(&p.torque, j) }
