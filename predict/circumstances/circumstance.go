package circumstances

import (
	"math"

	"sagline/predict"
)

// An Unknown is a circumstance that a line does not give: the parameter of predict.Params that
// stands for its error, and one standard deviation of that error, common to all of the dive's lines
// that share it, of this line alone, and of each of its readings alone, as they are not taken at
// one moment.
type Unknown struct {
	Param            int
	Dive, Line, Cell float64
}

// A Circumstance holds the conditions of a line, and which of them are guessed.
type Circumstance struct {
	Cond    predict.Condition
	Unknown []Unknown
}

// Doubt is one standard deviation of a prediction with given slopes from the circumstances that the
// line does not give.
func (c *Circumstance) Doubt(slope []float64) float64 {
	variance := 0.0
	for _, u := range c.Unknown {
		variance += sq(slope[u.Param]) * (sq(u.Dive) + sq(u.Line) + sq(u.Cell))
	}
	return math.Sqrt(variance)
}

func (c *Circumstance) add(param int, line, dive float64) {
	c.Unknown = append(c.Unknown, Unknown{Param: param, Dive: dive, Line: line})
}

func sq(x float64) float64 { return x * x }
