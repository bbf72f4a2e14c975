package instrument

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"sagline/session/quantity"
)

// step is the step of ln f between those that are tried.
const step = math.Ln2 / 8

// tried are the factors f of an instrument's noise that are weighed.
var tried = func() (out []float64) {
	for log := math.Log(leastNoise); log < math.Log(mostNoise)+step/2; log += step {
		out = append(out, math.Exp(log))
	}
	return out
}()

// usualAfter is what a merely usual standard deviation is worth to later dives, in readings: it lies within a factor of 1.7, as
// the table of keys has it. The baseline's few dives are held to usualWorth.
const usualAfter = 2.0

// A few differences between two dives are odd, as a fault has come between them, and may then be anything: as dense as a normal
// one of so many standard deviations more at its middle, whatever the factor. Common practice, no source.
const (
	odd       = 0.05
	oddSpread = 20.0
)

// Factors learn the factors of a Noise from one dive after the other: the log of the probability of each of those
// tried, up to a constant, by quantity.
type Factors struct {
	of   *Noise
	read [quantity.Count]bool
	logs [quantity.Count][]float64
}

// NewFactors begins with what the baseline has learnt: ln f is normal, its variance 1/2n by what the factor is worth in
// readings n, and the mean of f² is the factor's square.
func NewFactors(n *Noise) *Factors {
	l := &Factors{of: n}
	for q := range quantity.Count {
		worth := n.Worth[q]
		if n.Doubt[q] == usualWorth {
			worth += usualAfter - usualWorth
		}
		l.logs[q] = make([]float64, len(tried))
		for i, f := range tried {
			l.logs[q][i] = -worth * sq(math.Log(f/n.Factor[q])+1/(2*worth))
		}
	}
	return l
}

// A Mean is that of readings that should be alike, less what was expected, and its variances: by the instrument as stated, by
// what else their lines have wrong, and by what dives differ by.
type Mean struct{ Apart, Stated, Line, Dive float64 }

// Within takes in readings of one dive that should be alike: the sum of their squared distances from their mean, which has so
// many degrees of freedom, and the variance of each.
func (l *Factors) Within(q quantity.Quantity, squares, freedom float64, each Mean) {
	l.read[q] = true
	for i, f := range tried {
		v := sq(f)*each.Stated + each.Line
		l.logs[q][i] -= (freedom*math.Log(v) + squares/v) / 2
	}
}

// Between takes in readings of two dives that should be alike but for what dives differ by.
func (l *Factors) Between(q quantity.Quantity, a, b Mean) {
	l.read[q] = true
	stated, other := a.Stated+b.Stated, a.Line+b.Line+a.Dive+b.Dive
	for i, f := range tried {
		v := sq(f)*stated + other
		usual := math.Exp(-sq(b.Apart-a.Apart)/v/2) / math.Sqrt(v)
		l.logs[q][i] += math.Log((1-odd)*usual + odd/oddSpread/math.Sqrt(stated+other))
	}
}

// Noise is what was learnt: the root of the mean of f², and as many readings' worth as ln f is known by.
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
