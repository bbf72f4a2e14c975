package predict

import (
	"math"
	"strings"
)

// ratedHours is the discharge time at which a lead-acid battery's capacity is
// rated; common practice, no source.
const ratedHours = 20

// peukertLead is Peukert's exponent of a flooded lead-acid battery; common
// practice, no source. Other chemistries are taken as 1.
const peukertLead = 1.2

// peukertHours is how long a battery lasts at a steady current: for lead-acid
// T = C·(C/R)^(n−1)/Iⁿ with capacity C rated over R hours (the rated form of
// Peukert's law), else C/I.
func peukertHours(capacityAh, amps float64, chemistry string) float64 {
	n := 1.0
	if leadAcid(chemistry) {
		n = peukertLead
	}
	return peukert(capacityAh, amps, ratedHours, n)
}

func peukert(capacityAh, amps, rated, n float64) float64 {
	return capacityAh * math.Pow(capacityAh/rated, n-1) / math.Pow(amps, n)
}

func leadAcid(chemistry string) bool {
	c := strings.ToLower(chemistry)
	return strings.Contains(c, "lead") || strings.Contains(c, "agm") || strings.Contains(c, "gel")
}

// whPerKG is the energy in a kilogram of battery: about 33 for lead-acid, 110
// for lithium; common practice, no source.
func whPerKG(chemistry string) float64 {
	if leadAcid(chemistry) || chemistry == "" {
		return 33
	}
	return 110
}
