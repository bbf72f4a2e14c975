package instrument

import (
	"math"

	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// Noise is one standard deviation of each instrument: the file's or the usual one, times a factor
// that readings show, the baseline's together (Learn), later dives one by one (Factors).
type Noise struct {
	Stated [quantity.Count]float64 // in the base unit; a share for speeds and climbs
	Factor [quantity.Count]float64
	Doubt  [quantity.Count]float64 // how many readings Stated is worth
	Worth  [quantity.Count]float64 // how many readings Factor is worth
}

// What a stated standard deviation is worth, in readings: one that the file gives, and one that is
// merely usual. Common practice, no source: people state an instrument's last digit, or what its
// maker promises.
const (
	givenWorth = 60.0
	priorWorth = 6.0
)

// NewNoise returns the noise of the instruments in a vehicle's file.
func NewNoise(v *vehicle.Vehicle) *Noise {
	in := &v.Instruments
	n := &Noise{Stated: [quantity.Count]float64{quantity.BatteryV: in.BatteryV, quantity.CurrentA: in.CurrentA, quantity.VehicleV: in.VehicleV,
		quantity.Speed: in.SpeedPercent / 100, quantity.Climb: in.ClimbPercent / 100, quantity.Trim: in.TrimG, quantity.Pull: in.PullN,
		quantity.LoopOhm: in.LoopOhm, quantity.Insulation: InsulationSD}}
	for q := range quantity.Count {
		n.Factor[q], n.Doubt[q] = 1, priorWorth
		if v.Belief("instruments."+Key(q)).Origin == vehicle.Given {
			n.Doubt[q] = givenWorth
		}
		n.Worth[q] = n.Doubt[q]
	}
	return n
}

// slowest keeps a percentage of a speed from shrinking to nothing, m/s.
const slowest = 0.03

// InsulationSD is one standard deviation of the logarithm of an insulation reading: common
// practice, no source.
const InsulationSD = 0.3

// Key is a quantity's key in [instruments].
func Key(q quantity.Quantity) string {
	switch q {
	case quantity.Speed:
		return "speed_percent"
	case quantity.Climb:
		return "climb_percent"
	}
	return q.String()
}

// SD is one standard deviation, on the scale of comparison, of a reading that the model predicts as
// x (a climb in m/s).
func (n *Noise) SD(q quantity.Quantity, x float64) float64 {
	sd := n.Stated[q] * n.Factor[q]
	switch q {
	case quantity.Speed:
		return sd * max(math.Abs(x), slowest)
	case quantity.Climb:
		return sd * 2 * max(x*x, slowest*slowest)
	}
	return sd
}

// Learn sets the factors from the sums of squared residuals, in standard deviations with the old
// factors, and the degrees of freedom left to each quantity: the mean of a scaled inverse χ²
// posterior (Gelman et al., Bayesian Data Analysis, 2013, section 2.6).
func (n *Noise) Learn(squares, freedom [quantity.Count]float64) (changed bool) {
	for q := range quantity.Count {
		before := n.Factor[q]
		total := n.Doubt[q] + squares[q]*(before*before)
		n.Worth[q] = n.Doubt[q] + max(freedom[q], 0)
		n.Factor[q] = math.Sqrt(total / n.Worth[q])
		n.Factor[q] = min(max(n.Factor[q], leastNoise), mostNoise)
		changed = changed || math.Abs(n.Factor[q]/before-1) > 0.02
	}
	return changed
}

// Loss is −2 times the log prior density of the factors, up to a constant.
func (n *Noise) Loss() (loss float64) {
	for q, f := range n.Factor {
		loss += n.Doubt[q] * (2*math.Log(f) + 1/(f*f))
	}
	return loss
}

// Bounds of the factors: an instrument outside a quarter to four times its stated noise means that
// something else is wrong.
const (
	leastNoise = 0.25
	mostNoise  = 4.0
)
