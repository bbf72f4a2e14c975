package mixture

import (
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/priors"
)

// Calibrated is what dives are held against: the parameters, and what the calibration knows of them.
type Calibrated struct {
	Space       *priors.Space
	Free        []int         // places that a dive may have of its own
	Keep        []int         // keptStatic among the static parameters
	SoundOffset []float64     // of the static parameters, what sound dives scatter about, less the baseline's mean
	Precision   *mat.SymDense // inverse of what is not known of that mean
	Apart       []float64     // variance of SoundOffset by scattering parameter, scatter as expected
}

// New is that of a space, nothing known of it yet.
func New(s *priors.Space) Calibrated {
	c := Calibrated{Space: s, Free: freely(s)}
	for _, k := range keptStatic {
		c.Keep = append(c.Keep, s.InStatic[s.Place[k]])
	}
	return c
}

// keptStatic are where a dive's own information ends and what is kept of the calibration
// begins: what an absolute estimate needs.
var keptStatic = []int{predict.BatteryOhm, predict.LogInsulation, predict.BatteryPerK, predict.BatteryPerSpent}

// freely are the places of the space that one dive's fit leaves free: what
// scatters and what a cause may change.
func freely(s *priors.Space) []int {
	var out []int
	for at := range s.All {
		if p := s.Known(at); p.Scatter > 0 || p.Fault > 0 {
			out = append(out, at)
		}
	}
	return out
}
