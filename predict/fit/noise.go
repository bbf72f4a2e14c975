package fit

import (
	"math"

	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// noise is one standard deviation of each instrument: as the file states it or
// as is usual, times a factor that the baseline's readings show.
type noise struct {
	stated [quantity.Count]float64 // in the base unit, of speeds a share
	factor [quantity.Count]float64
	doubt  [quantity.Count]float64 // how many readings the stated one is worth
	worth  [quantity.Count]float64 // and how many the factor
}

// What a stated standard deviation is worth, in readings: one that the file
// gives, and one that is merely usual. Common practice, no source: people state
// an instrument's last digit, or what its maker promises.
const (
	givenWorth = 60.0
	usualWorth = 6.0
)

func newNoise(v *vehicle.Vehicle) *noise {
	in := &v.Instruments
	n := &noise{stated: [quantity.Count]float64{quantity.BatteryV: in.BatteryV, quantity.CurrentA: in.CurrentA, quantity.VehicleV: in.VehicleV,
		quantity.Speed: in.SpeedPercent / 100, quantity.Climb: in.ClimbPercent / 100, quantity.Trim: in.TrimG, quantity.Pull: in.PullN,
		quantity.LoopOhm: in.LoopOhm, quantity.Insulation: insulationSD}}
	for q := range quantity.Count {
		n.factor[q], n.doubt[q] = 1, usualWorth
		if v.Belief("instruments."+instrumentKey(q)).Origin == vehicle.Given {
			n.doubt[q] = givenWorth
		}
		n.worth[q] = n.doubt[q]
	}
	return n
}

// instrumentKey is a quantity's key below [instruments].
func instrumentKey(q quantity.Quantity) string {
	switch q {
	case quantity.Speed:
		return "speed_percent"
	case quantity.Climb:
		return "climb_percent"
	}
	return q.String()
}

// sd is one standard deviation of a reading that the model predicts as x, as it
// is compared.
func (n *noise) sd(q quantity.Quantity, x float64) float64 {
	sd := n.stated[q] * n.factor[q]
	switch q {
	case quantity.Speed:
		return sd * max(math.Abs(x), slowest)
	case quantity.Climb:
		return sd * 2 * sq(max(math.Abs(x), slowest))
	}
	return sd
}

// learn sets the factors from the sums of squared residuals, in standard
// deviations as they were, and the degrees of freedom left to each quantity:
// the mean of a scaled inverse χ² posterior (Gelman et al., Bayesian Data
// Analysis, 2013, section 2.6).
func (n *noise) learn(squares, freedom [quantity.Count]float64) (changed bool) {
	for q := range quantity.Count {
		was := n.factor[q]
		total := n.doubt[q] + squares[q]*sq(was)
		n.worth[q] = n.doubt[q] + max(freedom[q], 0)
		n.factor[q] = math.Sqrt(total / n.worth[q])
		n.factor[q] = min(max(n.factor[q], leastNoise), mostNoise)
		changed = changed || math.Abs(n.factor[q]/was-1) > 0.02
	}
	return changed
}

// An instrument is believed neither a quarter as noisy nor four times noisier
// than stated: beyond that something else is wrong.
const (
	leastNoise = 0.25
	mostNoise  = 4.0
)
