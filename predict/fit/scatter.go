package fit

import (
	"math"
	"slices"
)

// scatter is one standard deviation from sound dive to sound dive that a log
// is expected to show, in the order of drifts; common practice, no source.
var scatter = []float64{0.008, 0.015, 0.015, 5, 0.0015}

const branchScatter = 0.005 // Ω

// How the scatter of one log is learnt: from the differences between
// successive dives, which a level or a slow ramp hardly touches, some of which
// may be odd: a step, a slip.
const (
	scatterDoubt = 0.3  // one standard deviation of ln(scatter/expected)
	odd          = 0.05 // share of odd differences
	oddSpread    = 5.0  // how much wider they are
)

// factors are the multiples of the expected scatter that are tried.
var factors = func() []float64 {
	var out []float64
	for k := -6; k <= 12; k++ {
		out = append(out, math.Exp(0.1*float64(k)))
	}
	return out
}()

// A Scatter learns from one dive after the other how much sound dives differ.
type Scatter struct {
	r    *Result
	seen int         // dives
	logs [][]float64 // log posterior, by drift and factor
}

// LearnScatter begins with what is expected of any log.
func (r *Result) LearnScatter() *Scatter {
	s := &Scatter{r: r, seen: 1, logs: rows(len(r.Drift), len(factors))}
	for _, logs := range s.logs {
		for i, f := range factors {
			logs[i] = -0.5 * sq(math.Log(f)/scatterDoubt)
		}
	}
	return s
}

// Upto is the variance from sound dive to sound dive of each of Result.Drift,
// learnt from the first n dives, which must not be fewer than before.
func (s *Scatter) Upto(n int) []float64 {
	for ; s.seen < min(n, len(s.r.Dives)); s.seen++ {
		for k, logs := range s.logs {
			s.take(logs, k, s.r.Dives[s.seen-1].raw[k], s.r.Dives[s.seen].raw[k])
		}
	}
	out := make([]float64, len(s.logs))
	for k, logs := range s.logs {
		top := slices.Max(logs)
		var weight, sum float64
		for i, f := range factors {
			w := math.Exp(logs[i] - top)
			weight, sum = weight+w, sum+w*sq(f)
		}
		out[k] = sq(pick(scatter, branchScatter, k)) * sum / weight
	}
	return out
}

// take learns from the difference of two dives in drift k.
func (s *Scatter) take(logs []float64, k int, a, b raw) {
	for i, f := range factors {
		v := a.variance + b.variance + 2*sq(pick(scatter, branchScatter, k)*f)
		z := sq(b.mean-a.mean) / v
		density := (1-odd)*math.Exp(-z/2) + odd/oddSpread*math.Exp(-z/2/sq(oddSpread)) + 1e-300
		logs[i] += math.Log(density / math.Sqrt(v))
	}
}

// Scatter is what LearnScatter learns from the first n dives.
func (r *Result) Scatter(n int) []float64 { return r.LearnScatter().Upto(n) }

// raw is one drift of one dive as its own readings give it, the other drifts
// held to scatter.
type raw struct{ mean, variance float64 }

// rawDrifts are a dive's raw drifts.
func rawDrifts(o own, sc *scratch) []raw {
	base := o.under(func(k int) float64 { return sq(pick(scatter, branchScatter, k)) }, sc)
	out := make([]raw, len(o.lin)-1)
	for k := range out {
		ch := base.change(k, 1/sq(pick(wide, branchWide, k))-1/sq(pick(scatter, branchScatter, k)))
		out[k] = raw{base.mean[k] - ch.gain*ch.c[k], base.cov[k][k] - ch.shrink*sq(ch.c[k])}
	}
	return out
}
