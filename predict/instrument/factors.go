package instrument

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"sagline/session/quantity"
)

// step is the step of ln f between the factors tried.
const step = math.Ln2 / 8

// tried are the factors f of an instrument's noise that are weighed.
var tried = func() (out []float64) {
	for log := math.Log(leastNoise); log < math.Log(mostNoise)+step/2; log += step {
		out = append(out, math.Exp(log))
	}
	return out
}()

// laterWorth is what a usual (not stated) standard deviation is worth to later dives, in readings:
// it lies within a factor of 1.7, as in the table of keys. For the baseline's few dives it is
// priorWorth.
const laterWorth = 2.0

// A few differences between two dives are odd, as a fault may have come between them. Their density
// is constant, that of a normal with oddSpread times the standard deviation at its middle, whatever
// the factor. Common practice, no source.
const (
	odd       = 0.05
	oddSpread = 20.0
)

// Factors learns the factors of a Noise dive by dive. It holds, by quantity, the log probability of
// each factor tried, up to a constant.
type Factors struct {
	of   *Noise
	read [quantity.Count]bool
	logs [quantity.Count][]float64
}

// NewFactors begins with what the baseline has shown: ln f is normal with variance 1/2n for a
// factor worth n readings, and the mean of f² is the square of the baseline's factor.
func NewFactors(n *Noise) *Factors {
	l := &Factors{of: n}
	for q := range quantity.Count {
		worth := n.Worth[q]
		if n.Doubt[q] == priorWorth {
			worth += laterWorth - priorWorth
		}
		l.logs[q] = make([]float64, len(tried))
		for i, f := range tried {
			l.logs[q][i] = -worth * sq(math.Log(f/n.Factor[q])+1/(2*worth))
		}
	}
	return l
}

// A Mean is the mean of readings that should be alike, less their prediction, and its variances:
// from the instrument as stated, from other errors of their lines, and from what dives differ by.
type Mean struct{ Apart, Stated, Line, Dive float64 }

// AddWithin adds readings of one dive that should be alike: the sum of their squared distances from
// their mean, its degrees of freedom, and the variances of each reading.
func (l *Factors) AddWithin(q quantity.Quantity, squares, freedom float64, each Mean) {
	l.read[q] = true
	for i, f := range tried {
		v := sq(f)*each.Stated + each.Line
		l.logs[q][i] -= (freedom*math.Log(v) + squares/v) / 2
	}
}

// AddBetween adds readings of two dives that should be alike but for what dives differ by.
func (l *Factors) AddBetween(q quantity.Quantity, a, b Mean) {
	l.read[q] = true
	stated, other := a.Stated+b.Stated, a.Line+b.Line+a.Dive+b.Dive
	for i, f := range tried {
		v := sq(f)*stated + other
		same := math.Exp(-sq(b.Apart-a.Apart)/v/2) / math.Sqrt(v)
		l.logs[q][i] += math.Log((1-odd)*same + odd/oddSpread/math.Sqrt(stated+other))
	}
}

// Noise returns what was learnt: the root of the mean of f², and the number of readings that ln f's
// variance is worth.
func (l *Factors) Noise() *Noise {
	n := *l.of
	logs, squares, weights := make([]float64, len(tried)), make([]float64, len(tried)), make([]float64, len(tried))
	for i, f := range tried {
		logs[i], squares[i] = math.Log(f), sq(f)
	}
	for q := range quantity.Count {
		if !l.read[q] {
			continue
		}
		top := floats.Max(l.logs[q])
		for i, log := range l.logs[q] {
			weights[i] = math.Exp(log - top)
		}
		n.Factor[q] = math.Sqrt(stat.Mean(squares, weights))
		n.Worth[q] = max(n.Worth[q], 1/(2*(stat.PopVariance(logs, weights)+step*step/12)))
	}
	return &n
}

func sq(x float64) float64 { return x * x }
