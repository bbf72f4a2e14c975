package advice

import (
	"math"

	"sagline/predict/vehicle"
)

// ratedHours is the discharge time at which a lead-acid battery's capacity is
// rated; common practice, no source.
const ratedHours = 20

// A storage is what a battery's chemistry says of its charge: Peukert's
// exponent, and the energy in a kilogram.
type storage struct{ peukert, whPerKG float64 }

// storages by chemistry. Peukert: a battery monitor's manual has 1.14 to 1.28
// for eleven flooded and 1.10 to 1.20 for seven gel batteries, battery sellers
// 1.05 to 1.15 for agm and about 1.05 for lithium. Energy: common practice, no
// source.
var storages = map[string]storage{
	"lead-acid": {1.2, 33}, "agm": {1.1, 33}, "gel": {1.14, 33}, "lithium-iron": {1.05, 100}, "lithium-ion": {1.05, 150},
}

// storageOf is a battery's, as lead-acid where its chemistry is not known.
func storageOf(b *vehicle.Battery) storage {
	if s, ok := storages[b.Chemistry]; ok {
		return s
	}
	return storages["lead-acid"]
}

// peukert is how long a battery lasts at a steady current, hours:
// T = C·(C/R)^(n−1)/Iⁿ with capacity C rated over R hours (the rated form of
// Peukert's law).
func peukert(capacityAh, amps, rated, n float64) float64 {
	return capacityAh * math.Pow(capacityAh/rated, n-1) / math.Pow(amps, n)
}

// usable is the share of a full battery's charge that is drawn before it falls
// to minimum_v at a steady current.
func usable(b *vehicle.Battery, amps, ohm float64) float64 {
	if b.MinimumV <= 0 {
		return 1
	}
	return 1 - b.Charge(b.MinimumV+amps*ohm)
}

// kept is how many minutes a full battery at rest keeps much of its charge, about a
// year; from memory.
const kept = 60 * 24 * 365.0

// minutes is how long a full battery lasts at a steady current, down to
// minimum_v: kept at most.
func minutes(b *vehicle.Battery, amps, ohm float64) float64 {
	return min(60*peukert(b.CapacityAh, amps, ratedHours, storageOf(b).peukert), kept) * usable(b, amps, ohm)
}

// endurance is how long a full battery lasts at the heaviest run, minutes; nil
// where its capacity is not known.
func endurance(b *vehicle.Battery, h heavy) *Range {
	if b.CapacityAh <= 0 || h.amps.Value <= 0 || h.amps.Low <= 0 {
		return nil
	}
	return &Range{minutes(b, h.amps.High, h.ohm.High), minutes(b, h.amps.Value, h.ohm.Value), minutes(b, h.amps.Low, h.ohm.Low)}
}
