package instrument

import (
	"math"

	"sagline/predict"
	"sagline/session/quantity"
)

// Readings are compared on the scale on which the model is straight: of the
// insulation the logarithm, which is what the model predicts, of a climb its
// square with its sign, which follows the force that drives it. A climb itself
// would have no slope to speak of about hovering.

// OnScale is a reading as it is compared.
func OnScale(q quantity.Quantity, x float64) float64 {
	if q.Log() {
		x = math.Log(max(x, leastMegohm))
	}
	return Predicted(q, x)
}

// leastMegohm is the least insulation that has a logarithm: a meter's last
// digit.
const leastMegohm = 1e-4

// Predicted is what the model predicts, as it is compared.
func Predicted(q quantity.Quantity, x float64) float64 {
	if q == quantity.Climb {
		return x * math.Abs(x)
	}
	return x
}

// Slope is the derivative of Predicted.
func Slope(q quantity.Quantity, x float64) float64 {
	if q == quantity.Climb {
		return 2 * math.Abs(x)
	}
	return 1
}

// Straighten turns a solved point's derivatives into those of what is compared.
func Straighten(pt *predict.Point, grad [][]float64) {
	by := Slope(quantity.Climb, pt.Out[quantity.Climb])
	for k := range grad[quantity.Climb] {
		grad[quantity.Climb][k] *= by
	}
}

// OffScale is the reading whose comparison is y.
func OffScale(q quantity.Quantity, y float64) float64 {
	switch {
	case q.Log():
		return math.Exp(y)
	case q == quantity.Climb:
		return math.Copysign(math.Sqrt(math.Abs(y)), y)
	}
	return y
}

// Spread is one standard deviation of a reading from that of its comparison at
// y.
func Spread(q quantity.Quantity, y, sd float64) float64 {
	switch {
	case q.Log():
		return math.Exp(y) * sd
	case q == quantity.Climb: // √(w² + sd) − w
		w := math.Sqrt(math.Abs(y))
		return sd / (w + math.Sqrt(w*w+sd))
	}
	return sd
}
