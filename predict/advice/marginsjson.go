package advice

import (
	"encoding/json"
	"math"
)

// MarshalJSON writes the margins as predict --json has them: what the file does
// not state is null, an endless time as well.
func (m Margins) MarshalJSON() ([]byte, error) {
	type volts struct{ v, least *float64 }
	of := func(l *Least) volts {
		if l == nil {
			return volts{}
		}
		return volts{&l.V, &l.MinimumV}
	}
	battery, camera, lights := of(m.Battery), of(m.Camera), of(m.Lights)
	out := map[string]any{
		"far_end_short_a": m.Fuse.ShortA.Value, "far_end_short_low_a": m.Fuse.ShortA.Low, "far_end_short_high_a": m.Fuse.ShortA.High,
		"fuse_a": known(m.Fuse.RatingA), "fuse_opens_s": known(m.Fuse.FuseS), "fuse_suggested_a": m.Fuse.BetterA, "fuse_suggested_mm2": m.Fuse.BetterOf,
		"heaviest_a": m.Fuse.HeavyA, "short_to_160c_s": m.Fuse.CableS,
		"density_a_mm2": m.Heating.Density.Value, "density_high_a_mm2": m.Heating.Density.High, "density_suggested_mm2": m.Heating.BetterOf,
		"signal_short_a": nil, "signal_bears_a": nil, "signal_fuse_suggested_a": nil, "signal_lights_a_mm2": nil, "motor_v": nil, "motor_tested_v": nil, "relay_coil_v": nil, "relay_pull_in_v": nil, "relay_pull_in_hot_v": nil,
		"battery_v": battery.v, "battery_minimum_v": battery.least, "camera_v": camera.v, "camera_minimum_v": camera.least, "lights_v": lights.v,
		"endurance_min": nil, "insulation_megohm": m.Megohm, "jammed": m.Jammed, "tubes": append([]TubeDepth{}, m.Tubes...), "not_met": m.NotMet(),
	}
	if m.Motors != nil {
		out["motor_v"], out["motor_tested_v"] = m.Motors.V, m.Motors.TestedV
	}
	if s := m.Signal; s != nil {
		out["signal_short_a"], out["signal_bears_a"], out["signal_fuse_suggested_a"], out["signal_lights_a_mm2"] = s.ShortA, s.BearsA, s.OwnA, s.Density
	}
	if m.Relay != nil {
		out["relay_coil_v"], out["relay_pull_in_v"], out["relay_pull_in_hot_v"] = m.Relay.CoilV, m.Relay.PullInV, m.Relay.HotV
	}
	if m.Endurance != nil {
		out["endurance_min"], out["endurance_low_min"], out["endurance_high_min"] = m.Endurance.Value, m.Endurance.Low, m.Endurance.High
	}
	return json.Marshal(out)
}

// known is nil for what is 0 or endless.
func known(x float64) *float64 {
	if x == 0 || math.IsInf(x, 0) {
		return nil
	}
	return &x
}
