package advice

import (
	"math"
	"strings"

	"sagline/predict/vehicle"
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

// leadRestV is the rested voltage of a 12 V lead-acid battery at charges of 0,
// 25, 50, 75 and 100 % and 26.7 °C (BCI table).
var leadRestV = [...]float64{11.89, 12.06, 12.24, 12.45, 12.65}

// usable is the share of a lead-acid battery's charge, full at its nominal
// voltage, that is drawn before it falls to minimum_v at a steady current; 1
// for other chemistries, whose voltage hardly falls before the end.
func usable(b *vehicle.Battery, amps, ohm float64) float64 {
	if b.MinimumV <= 0 || !leadAcid(b.Chemistry) {
		return 1
	}
	full := leadRestV[len(leadRestV)-1]
	rested := (b.MinimumV + amps*ohm) * full / b.NominalV
	for i := len(leadRestV) - 1; i > 0; i-- {
		if lo, hi := leadRestV[i-1], leadRestV[i]; rested >= lo {
			left := (float64(i-1) + min((rested-lo)/(hi-lo), 1)) / float64(len(leadRestV)-1)
			return max(1-left, 0)
		}
	}
	return 1
}

// minutes is how long a full battery lasts at a steady current, down to
// minimum_v.
func minutes(b *vehicle.Battery, amps, ohm float64) float64 {
	return 60 * peukertHours(b.CapacityAh, amps, b.Chemistry) * usable(b, amps, ohm)
}
