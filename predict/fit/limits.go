package fit

import "sagline/predict"

// limitBattery sets the limit of a battery of which the file says neither a limit nor a
// resistance: twice what its sound dives have, not twice a guess.
func (r *Result) limitBattery() {
	if r.Baseline == 0 {
		return
	}
	for _, m := range r.Models { // whose vehicles are this result's own
		if v := m.Vehicle; v.BatteryLimitGuessed() {
			v.Limits.BatteryResistanceOhm = 2 * max(v.Battery.ResistanceOhm+r.Base[predict.BatteryOhm], 0)
		}
	}
}
