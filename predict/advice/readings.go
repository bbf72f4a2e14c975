package advice

import (
	"fmt"

	"sagline/predict/vehicle"
	"sagline/session/units"
)

// lowCharge is the share of its charge below which a lead-acid battery that is
// left there ages and a dive may end early; common practice, no source.
const lowCharge = 0.5

// Insulation judges a reading from the power pair to the water against
// limits.insulation_megohm.
func Insulation(v *vehicle.Vehicle, megohm float64) Line {
	text := fmt.Sprintf("%s MΩ from the power pair to the water, want %s MΩ or more", units.Digits(megohm, 3), units.Digits(v.Limits.InsulationMegohm, 3))
	met := megohm >= v.Limits.InsulationMegohm
	if !met {
		text += ": out of the water with it, battery unplugged, and find the wet plug or cut jacket"
	}
	return Line{"insulation", true, met, text}
}

// underLoad judges a battery's voltage under load against minimum_v.
func underLoad(v *vehicle.Vehicle, volts float64) Line {
	least := v.Battery.MinimumV
	return Line{"battery", true, volts >= least, fmt.Sprintf("%s V under load, it may not fall below %s V: end the dive", units.Digits(volts, 4), units.Digits(least, 3))}
}

// atRest judges a battery's charge by its voltage at rest, an hour after its last
// load.
func atRest(v *vehicle.Vehicle, volts float64) Line {
	charge := v.Battery.Charge(volts)
	return Line{"charge", true, charge >= lowCharge, fmt.Sprintf("%s V with all off: a battery (%s) that rested for an hour has about %.0f %% of its charge, under half: charge it before the next dive",
		units.Digits(volts, 4), v.Battery.Chemistry, 100*charge)}
}
