package advice

import (
	"math"

	"sagline/predict/vehicle"
)

// ratedHours is the discharge time for which a lead-acid battery's capacity is rated; common
// practice, no source.
const ratedHours = 20

// peukert returns how long a battery lasts at a steady current, hours: T = C·(C/R)^(n−1)/Iⁿ with
// capacity C rated over R hours (the rated form of Peukert's law).
func peukert(capacityAh, amps, rated, n float64) float64 {
	return capacityAh * math.Pow(capacityAh/rated, n-1) / math.Pow(amps, n)
}

// usable returns the share of a full battery's charge that can be drawn at a steady current before
// it falls to minimum_v.
func usable(b *vehicle.Battery, amps, ohm float64) float64 {
	if b.MinimumV <= 0 {
		return 1
	}
	return 1 - b.Charge(b.MinimumV+amps*ohm)
}

// minutes returns how long a full battery lasts at a steady current, down to minimum_v; at most
// shelfMinutes.
func minutes(b *vehicle.Battery, amps, ohm float64) float64 {
	return min(60*peukert(b.CapacityAh, amps, ratedHours, b.Peukert()), shelfMinutes) * usable(b, amps, ohm)
}

// endurance returns how long a full battery lasts at the heaviest run, minutes; nil if its capacity
// is not known.
func endurance(b *vehicle.Battery, h heavy) *Range {
	if b.CapacityAh <= 0 || h.amps.Value <= 0 || h.amps.Low <= 0 {
		return nil
	}
	return &Range{minutes(b, h.amps.High, h.ohm.High), minutes(b, h.amps.Value, h.ohm.Value), minutes(b, h.amps.Low, h.ohm.Low)}
}
