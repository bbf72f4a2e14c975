package locate

import (
	"math"
	"slices"
)

// slipShare is how often a reading is a slip that says nothing; common
// practice, no source.
const slipShare = 0.01

// leastGain is the entropy in bits that a test must be expected to take off to
// be worth making; common practice, no source.
const leastGain = 0.05

// found is the probability at which a spot ends a search.
const found = 0.95

// nodes and shares integrate over a normal distribution: the roots of the fifth
// Hermite polynomial and their weights (Abramowitz and Stegun, table 25.10).
var (
	nodes  = [5]float64{0, 1.355626179974266, -1.355626179974266, 2.856970013872806, -2.856970013872806}
	shares = [5]float64{0.533333333333333, 0.222075922005613, 0.222075922005613, 0.011257411327721, 0.011257411327721}
)

// An outlook is what a test reads under one hypothesis; gain is how the
// hypothesis's state follows from a reading.
type outlook struct {
	mean, sd float64
	gain     []float64
}

// outlooks are those of a test under every hypothesis.
func (s *Search) outlooks(t *Test, c *circumstances) []outlook {
	out := make([]outlook, len(s.hyps))
	for i := range s.hyps {
		h := &s.hyps[i]
		mean, sd, row := t.method.model(s, t, c, h)
		variance, gain := sd*sd, make([]float64, len(h.state))
		for k, a := range row {
			if a == 0 {
				continue
			}
			for j := range gain {
				gain[j] += a * h.cov[j][k]
			}
		}
		for k, a := range row {
			variance += a * gain[k]
		}
		out[i] = outlook{mean, math.Sqrt(variance), gain}
	}
	return out
}

// density is how likely a reading is under an outlook, but for slips.
func (m *method) density(o outlook, y float64) float64 {
	if m.yesNo {
		return y*o.mean + (1-y)*(1-o.mean)
	}
	z := (y - o.mean) / o.sd
	return math.Exp(-z*z/2) / (o.sd * math.Sqrt(2*math.Pi))
}

// likelihood is density with slips.
func (m *method) likelihood(o outlook, y float64) float64 {
	if m.yesNo { // their errors are in the probabilities
		return m.density(o, y)
	}
	return (1-slipShare)*m.density(o, y) + slipShare/m.slip
}

// expectedEntropy is the entropy of the spot that a test is expected to leave,
// bits.
func (s *Search) expectedEntropy(t *Test) float64 {
	all := s.outlooks(t, &s.usual)
	alike := map[[2]float64]float64{} // hypotheses that read alike, by their weight
	for i, o := range all {
		alike[[2]float64{o.mean, o.sd}] += s.hyps[i].weight
	}
	sum := 0.0
	for o, w := range alike {
		if t.method.yesNo {
			sum += w*o[0]*s.entropyAfter(t, all, 1) + w*(1-o[0])*s.entropyAfter(t, all, 0)
			continue
		}
		for k, z := range nodes {
			sum += w * shares[k] * s.entropyAfter(t, all, o[0]+z*o[1])
		}
	}
	return sum
}

// entropyAfter is the entropy of the spot once a test has read y.
func (s *Search) entropyAfter(t *Test, all []outlook, y float64) float64 {
	p, total := make([]float64, len(s.spots)), 0.0
	for i := range s.hyps {
		if s.hyps[i].weight > 1e-12 {
			x := s.hyps[i].weight * t.method.likelihood(all[i], y)
			p[s.hyps[i].spot] += x
			total += x
		}
	}
	return entropy(p, total)
}

// entropy is that of shares that add up to total, bits.
func entropy(p []float64, total float64) float64 {
	sum := 0.0
	for _, x := range p {
		if x > 0 {
			sum -= x / total * math.Log2(x/total)
		}
	}
	return sum
}

// Next is the test to make: of those that open nothing, where any is worth
// making, the one with the largest expected gain per minute. It is nil when the
// search has ended.
func (s *Search) Next() *Test {
	if s.spots[s.top()].Probability >= found {
		return nil
	}
	now := s.entropy()
	var best *Test
	most := 0.0
	for _, opens := range []bool{false, true} {
		for _, t := range s.tests {
			if opens != (len(t.Opens) > 0) || s.isTaken(t) {
				continue
			}
			if gain := now - s.expectedEntropy(t); gain >= leastGain && gain/t.Minutes > most {
				best, most = t, gain/t.Minutes
			}
		}
		if best != nil {
			break
		}
	}
	return best
}

func (s *Search) entropy() float64 {
	p := make([]float64, len(s.spots))
	for i := range s.spots {
		p[i] = s.spots[i].Probability
	}
	return entropy(p, 1)
}

// top is the likeliest spot.
func (s *Search) top() int {
	best := 0
	for i := range s.spots {
		if s.spots[i].Probability > s.spots[best].Probability {
			best = i
		}
	}
	return best
}

// mostMoves is how often one part is moved: its answer is the only one that a
// second try may change.
const mostMoves = 2

// Skip leaves a test out that cannot be made now.
func (s *Search) Skip(test string) { s.skipped = append(s.skipped, test) }

func (s *Search) isTaken(t *Test) bool {
	n := 0
	for _, k := range s.taken {
		if k.Test == t.Name {
			n++
		}
	}
	if slices.Contains(s.skipped, t.Name) {
		return true
	}
	return n >= mostMoves || n > 0 && !t.method.yesNo
}

// learn takes a reading in: Bayes' rule over the spots, and for each hypothesis
// a Kalman filter's step of its state, unless it takes the reading for a slip.
func (s *Search) learn(t *Test, c *circumstances, y float64) {
	total := 0.0
	for i, o := range s.outlooks(t, c) {
		h := &s.hyps[i]
		h.weight *= t.method.likelihood(o, y)
		total += h.weight
		if !t.method.yesNo && (1-slipShare)*t.method.density(o, y) > slipShare/t.method.slip {
			for j, g := range o.gain {
				h.state[j] += g * (y - o.mean) / (o.sd * o.sd)
				for k := range o.gain {
					h.cov[j][k] -= g * o.gain[k] / (o.sd * o.sd)
				}
			}
		}
	}
	for i := range s.hyps {
		s.hyps[i].weight /= total
	}
	s.tally()
}
