package instrument

import (
	"math"

	"sagline/predict"
	"sagline/session/quantity"
)

// Readings are compared on the scale on which the model is nearly linear: the insulation's
// logarithm, which the model predicts, and a climb's square with its sign, which follows the force
// that drives it. A climb itself would have hardly any slope about hovering.

// OnScale converts a reading to the scale of comparison.
func OnScale(q quantity.Quantity, x float64) float64 {
	if q.Log() {
		x = math.Log(max(x, leastMegohm))
	}
	return Predicted(q, x)
}

// leastMegohm is the least insulation of which the logarithm is taken: a meter's last digit.
const leastMegohm = 1e-4

// Predicted converts a prediction of the model to the scale of comparison.
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

// Straighten converts a solved point's derivatives to the scale of comparison.
func Straighten(pt *predict.Point, grad [][]float64) {
	by := Slope(quantity.Climb, pt.Out[quantity.Climb])
	for k := range grad[quantity.Climb] {
		grad[quantity.Climb][k] *= by
	}
}

// OffScale converts y on the scale of comparison back to a reading.
func OffScale(q quantity.Quantity, y float64) float64 {
	switch {
	case q.Log():
		return math.Exp(y)
	case q == quantity.Climb:
		return math.Copysign(math.Sqrt(math.Abs(y)), y)
	}
	return y
}

// Spread converts one standard deviation sd at y on the scale of comparison to that of the reading.
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
