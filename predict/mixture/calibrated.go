package mixture

import (
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/priors"
)

// Calibrated is what dives are compared with: the parameters, and what the calibration knows of
// them.
type Calibrated struct {
	Space       *priors.Space
	Free        []int         // places at which a dive may have its own value
	Keep        []int         // indices of keptStatic among the static parameters
	SoundOffset []float64     // by static parameter: the level about which sound dives scatter, less the baseline's mean
	Precision   *mat.SymDense // inverse of that mean's covariance
	Apart       []float64     // by scattering parameter: variance of SoundOffset with scatter as expected

	// Odds are the log prior odds of causes, by index, where more is known of them than Acting.
	Odds map[int]float64
}

// New returns the Calibrated of a space of which nothing is known yet.
func New(s *priors.Space) Calibrated {
	c := Calibrated{Space: s, Free: freely(s)}
	for _, k := range keptStatic {
		if at := s.Place[k]; at >= 0 {
			c.Keep = append(c.Keep, s.InStatic[at])
		}
	}
	return c
}

// keptStatic are the static parameters that stay in a dive's Alone, since absolute estimates need
// them.
var keptStatic = []int{predict.BatteryOhm, predict.SurfaceV, predict.LogInsulation, predict.BatteryPerK, predict.BatteryPerSpent}

// freely returns the places of the space that one dive's fit leaves free: what scatters and what a
// cause may change.
func freely(s *priors.Space) []int {
	var out []int
	for at := range s.All {
		if p := s.Known(at); p.Scatter > 0 || p.Fault > 0 {
			out = append(out, at)
		}
	}
	return out
}
