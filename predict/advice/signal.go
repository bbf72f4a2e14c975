package advice

import (
	"fmt"

	"sagline/predict"
	"sagline/predict/vehicle"
)

// Signal holds what a dead short at the vehicle draws through a signal conductor, and how the
// lights heat it.
type Signal struct {
	FuseA   float64  // at the battery; 0: none stated
	ShortA  float64  // the least that the short may draw
	BearsA  float64  // current that the conductor bears for long, by bearsA
	OwnA    *float64 // the largest standard fuse that would guard it, as a fuse of its own
	LightsA float64  // the most that lights may draw through it; 0: no lights on it
	Density float64  // current density of LightsA, A/mm²
}

// Prefixes of the keys on which a signal conductor's resistance depends.
const signalKeys, lengthKey = "tether.signal.", "tether.length_m"

// signal is nil without signal conductors. rest is the rest voltage of the battery, ohm its highest
// resistance. What the file leaves open counts at its worse end.
func signal(v *vehicle.Vehicle, c *predict.Condition, rest Range, ohm float64) *Signal {
	wire := overKeys(v, func(v *vehicle.Vehicle) float64 { return predict.NewModel(v).SignalOhm(c.WaterC, 1) }, signalKeys, lengthKey)
	if wire.Value == 0 {
		return nil
	}
	copper := overKeys(v, func(v *vehicle.Vehicle) float64 { return v.Tether.Signal.Copper() }, signalKeys)
	s := &Signal{FuseA: v.Battery.FuseA, ShortA: rest.Low / (wire.High + ohm), BearsA: bearsA(copper.Low, v.Tether.Signal.Parallel)}
	s.OwnA = largestFuse(func(size float64) bool {
		return size <= s.BearsA && fuseSeconds(s.ShortA, size) <= disconnectionS*(1+1e-9)
	})
	lit := overKeys(v, func(v *vehicle.Vehicle) float64 { return signalLightsA(v, c, rest.High) }, "lights.", signalKeys, lengthKey)
	s.LightsA, s.Density = lit.High, lit.over(copper).High
	return s
}

// signalLightsA returns what lights draw through a signal conductor, 0 if it feeds none. It is
// highest on a full battery without other load.
func signalLightsA(v *vehicle.Vehicle, c *predict.Condition, openV float64) float64 {
	volts, ok := signalLightsV(predict.NewModel(v), c, openV)
	if !ok {
		return 0
	}
	return v.Lights.AmpsAt(volts)
}

// Guarded reports whether a dead short opens the battery's fuse at once, or draws no more than the
// conductor bears.
func (s *Signal) Guarded() bool {
	return s.ShortA <= s.BearsA || s.FuseA > 0 && fuseSeconds(s.ShortA, s.FuseA) <= disconnectionS*(1+1e-9)
}

// lines words a dead short, which is not judged because no file states a fuse of the conductor's
// own, and judges the lights.
func (s *Signal) lines() []Line {
	short := fmt.Sprintf("a dead short at the vehicle draws %.1f A through one", s.ShortA)
	if !s.Guarded() {
		short += fmt.Sprintf(", the battery's fuse need not open on that and it bears %.1f A for long: a fuse of its own", s.BearsA)
		if s.OwnA != nil {
			short += fmt.Sprintf(", of at most %g A", *s.OwnA)
			if s.LightsA > overload**s.OwnA {
				short += fmt.Sprintf(", which the lights' %.1f A would open: a thicker conductor", s.LightsA)
			}
		}
	}
	out := []Line{{Name: "signal wires", Text: short}}
	if s.Density > 0 {
		l := Line{"lights' wire", true, s.Density <= openDensity, fmt.Sprintf("it carries %.1f A/mm²", s.Density)}
		if !l.Met {
			l.Text += fmt.Sprintf(", more than %.0f gets hot: a thicker one, or feed the lights from the power pair", openDensity)
		}
		out = append(out, l)
	}
	return out
}
