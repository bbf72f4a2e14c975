package simulate

import (
	_ "embed" // the coefficients
	"math"
	"strconv"
	"strings"
)

// The Wageningen B-series at a Reynolds number of 2·10⁶ (Oosterveld and van
// Oossanen, International Shipbuilding Progress 22, 1975).
var (
	//go:embed wageningen_b_kt.csv
	thrustText string
	//go:embed wageningen_b_kq.csv
	torqueText string

	thrustTerms, torqueTerms = readTerms(thrustText), readTerms(torqueText)
)

// A seriesTerm is C·Jˢ·(P/D)ᵗ·(A_E/A_O)ᵘ·Zᵛ.
type seriesTerm struct{ c, s, t, u, v float64 }

func readTerms(text string) []seriesTerm {
	var out []seriesTerm
	for _, line := range strings.Split(text, "\n") {
		cells := strings.Split(strings.TrimSpace(line), ",")
		var x [5]float64
		ok := len(cells) == len(x)
		for i := 0; ok && i < len(x); i++ {
			var err error
			x[i], err = strconv.ParseFloat(cells[i], 64)
			ok = err == nil
		}
		if ok {
			out = append(out, seriesTerm{x[0], x[1], x[2], x[3], x[4]})
		}
	}
	return out
}

// A propeller is one of the B-series, as polynomials in the advance ratio J
// alone.
type propeller struct{ thrust, torque [4]float64 }

// series is the propeller of a pitch ratio, blade area ratio and number of
// blades.
func series(pitchRatio, areaRatio, blades float64) propeller {
	var p propeller
	add := func(to *[4]float64, terms []seriesTerm) {
		for _, k := range terms {
			to[int(k.s)] += k.c * math.Pow(pitchRatio, k.t) * math.Pow(areaRatio, k.u) * math.Pow(blades, k.v)
		}
	}
	add(&p.thrust, thrustTerms)
	add(&p.torque, torqueTerms)
	return p
}

func polynomial(c *[4]float64, j float64) float64 { return c[0] + j*(c[1]+j*(c[2]+j*c[3])) }

// KT and KQ are thrust and torque coefficients at an advance ratio.
func (p *propeller) kt(j float64) float64 { return polynomial(&p.thrust, j) }
func (p *propeller) kq(j float64) float64 { return polynomial(&p.torque, j) }
