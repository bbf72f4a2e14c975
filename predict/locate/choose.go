package locate

import (
	"cmp"
	"math"
	"slices"
)

const (
	leastGain   = 0.05 // least expected gain of a test worth making, bits; common practice, no source
	leastWeight = 1e-9 // least weight of a hypothesis that is still computed
	found       = 0.9  // probability of a spot that ends a search
	mostTries   = 2    // how often a part is moved: only a yes or no may change when a test is repeated
	mostWeighed = 40   // tests whose gain is computed: a hundred simulated searches went as with all
)

// nodes and shares integrate over a standard normal distribution: the roots of the fifth Hermite
// polynomial and their weights (Abramowitz and Stegun, table 25.10).
var (
	nodes  = [5]float64{0, 1.355626179974266, -1.355626179974266, 2.856970013872806, -2.856970013872806}
	shares = [5]float64{0.533333333333333, 0.222075922005613, 0.222075922005613, 0.011257411327721, 0.011257411327721}
)

// Next returns the test to make: the one with the largest expected gain per minute, of those that
// open nothing if one of them is worth making. It returns nil when the search has ended.
func (s *Search) Next() *Test {
	if s.Spots()[0].Probability >= found {
		return nil
	}
	now := s.entropy()
	for _, opens := range []bool{false, true} {
		var best *Test
		most := 0.0
		for _, t := range s.worthWeighing(opens) {
			if gain := now - s.expectedEntropy(t); gain >= leastGain && gain/t.Minutes > most {
				best, most = t, gain/t.Minutes
			}
		}
		if best != nil {
			return best
		}
	}
	return nil
}

// worthWeighing returns the tests not made yet that split the spots' probability best per minute: a
// long chain has thousands, and the gain of each would take minutes. The bridge, which tells more
// than inside from outside, is always among them.
func (s *Search) worthWeighing(opens bool) (out []*Test) {
	divides := map[*Test]float64{}
	for _, t := range s.tests {
		if opens != (len(t.Opens) > 0) || s.isTaken(t) {
			continue
		}
		in := 0.0
		for i, c := range t.covers {
			if c {
				in += s.spots[i].Probability
			}
		}
		divides[t] = entropy([]float64{in, max(1-in, 0)}, 1) / t.Minutes
		if t.method == &murray {
			divides[t] = math.Inf(1)
		}
		out = append(out, t)
	}
	slices.SortStableFunc(out, func(a, b *Test) int { return cmp.Compare(divides[b], divides[a]) })
	return out[:min(len(out), mostWeighed)]
}

// Skip leaves out a test, by name, that cannot be made now.
func (s *Search) Skip(test string) { s.skipped = append(s.skipped, test) }

func (s *Search) isTaken(t *Test) bool {
	n := 0
	for _, k := range s.taken {
		if k.Test == t.Name {
			n++
		}
	}
	return n >= mostTries || n > 0 && !t.method.yesNo || slices.Contains(s.skipped, t.Name)
}

// expectedEntropy returns the entropy of the spot expected after a test, bits.
func (s *Search) expectedEntropy(t *Test) float64 {
	all := s.predictions(t, &s.typical)
	weights := make([]float64, len(all)) // of hypotheses that read alike, summed at the first of them
	for i, o := range all {
		weights[slices.IndexFunc(all, func(p prediction) bool { return p.mean == o.mean && p.sd == o.sd })] += s.hyps[i].weight
	}
	sum := 0.0
	for i, w := range weights {
		switch o := all[i]; {
		case w < leastWeight:
		case t.method.yesNo:
			sum += w * (o.mean*s.entropyAfter(t, all, 1) + (1-o.mean)*s.entropyAfter(t, all, 0))
		default:
			for k, z := range nodes {
				sum += w * shares[k] * s.entropyAfter(t, all, o.mean+z*o.sd)
			}
		}
	}
	return sum
}

// entropyAfter returns the entropy of the spot once a test has read y.
func (s *Search) entropyAfter(t *Test, all []prediction, y float64) float64 {
	p, total := make([]float64, len(s.spots)), 0.0
	for i := range s.hyps {
		if h := &s.hyps[i]; h.weight > leastWeight {
			x := h.weight * t.method.likelihood(all[i], y)
			p[h.spot] += x
			total += x
		}
	}
	return entropy(p, total)
}

func (s *Search) entropy() float64 {
	p := make([]float64, len(s.spots))
	for i := range s.spots {
		p[i] = s.spots[i].Probability
	}
	return entropy(p, 1)
}

// entropy returns the entropy of shares that add up to total, bits.
func entropy(p []float64, total float64) float64 {
	sum := 0.0
	for _, x := range p {
		if x > 0 {
			sum -= x / total * math.Log2(x/total)
		}
	}
	return sum
}
