package advice

import (
	"fmt"

	"sagline/predict/vehicle"
)

// lowCharge is the share of its charge below which a lead-acid battery that is
// left there ages and a dive may end early; common practice, no source.
const lowCharge = 0.5

// Insulation judges a reading from the power pair to the water against
// limits.insulation_megohm.
func Insulation(v *vehicle.Vehicle, megohm float64) Line {
	text := fmt.Sprintf("%.3g MΩ from the power pair to the water, want %.3g MΩ or more", megohm, v.Limits.InsulationMegohm)
	met := megohm >= v.Limits.InsulationMegohm
	if !met {
		text += ": out of the water with it, battery unplugged, and find the wet plug or cut jacket"
	}
	return Line{"insulation", true, met, text}
}

// UnderLoad judges a battery's voltage under load against minimum_v.
func UnderLoad(v *vehicle.Vehicle, volts float64) Line {
	least := v.Battery.MinimumV
	return Line{"battery", true, volts >= least, fmt.Sprintf("%.4g V under load, it may not fall below %.3g V: end the dive", volts, least)}
}

// AtRest judges a battery's charge by its voltage at rest.
func AtRest(v *vehicle.Vehicle, volts float64) Line {
	charge := v.Battery.Charge(volts)
	return Line{"charge", true, charge >= lowCharge, fmt.Sprintf("%.4g V at rest: about %.0f %% of its charge, under half: charge it before the next dive", volts, 100*charge)}
}
