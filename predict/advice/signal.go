package advice

import (
	"fmt"
	"math"

	"sagline/predict"
)

// Signal is what a dead short at the vehicle draws through a signal conductor, and
// how the lights heat it.
type Signal struct {
	FuseA   float64  // at the battery; 0: none stated
	ShortA  float64  // the least that the short may draw
	BearsA  float64  // current that the conductor bears for long, by cordDensity
	OwnA    *float64 // the largest standard fuse that would guard it, as a fuse of its own
	LightsA float64  // the most that lights may draw through it; 0: it feeds none
	Density float64  // of LightsA, A/mm²
}

// signal is nil without signal conductors. rest is the rest voltage of the battery, ohm the most of its resistance.
// Lights draw most on a full battery without other load.
func signal(m *predict.Model, c *predict.Condition, rest Range, ohm float64) *Signal {
	wire := m.SignalOhm(c.WaterC, 1)
	if wire == 0 {
		return nil
	}
	t, l := &m.Vehicle.Tether, &m.Vehicle.Lights
	copper := t.Signal.Copper()
	s := &Signal{FuseA: m.Vehicle.Battery.FuseA, ShortA: rest.Low / (wire + ohm), BearsA: cordDensity * copper}
	s.OwnA = largestFuse(func(size float64) bool {
		return size <= s.BearsA && fuseSeconds(s.ShortA, size) <= disconnectionS*(1+1e-9)
	})
	if volts, ok := signalLightsV(m, c, rest.High); ok {
		s.LightsA = l.CurrentA
		for _, r := range l.ResistorOhm {
			s.LightsA += math.Max(volts-l.LEDV, 0) / r
		}
		s.Density = s.LightsA / copper
	}
	return s
}

// Guarded says whether a dead short opens the battery's fuse at once, or draws no
// more than the conductor bears.
func (s *Signal) Guarded() bool {
	return s.ShortA <= s.BearsA || s.FuseA > 0 && fuseSeconds(s.ShortA, s.FuseA) <= disconnectionS*(1+1e-9)
}

// lines word a dead short, which is not judged since no file states a fuse of the
// conductor's own, and judge the lights.
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
