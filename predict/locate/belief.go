package locate

import "math"

// A hypothesis is that one spot is at fault. Its state is normally distributed: the fault's size
// and the chain's sound resistances, which all readings share. Before any reading its mean is 0
// except for the size.
type hypothesis struct {
	spot   int
	weight float64 // probability
	state  []float64
	cov    [][]float64
}

// Indices of a state.
const (
	ofSize    = iota
	ofCopper  // share by which the copper's resistance exceeds its label's
	ofContact // from here on: Ω by which each spot's contact differs from the mean
)

// How far sound parts differ, as shares: common practice, no source.
const (
	contactsSD = 1.0  // one contact from the mean of all
	copperSD   = 0.03 // copper from its label
)

func (s *Search) hypothesis(spot int, weight float64, z size) hypothesis {
	sds := []float64{ofSize: z.sd, ofCopper: copperSD}
	for _, sp := range s.spots[:len(s.spots)-1] {
		sds = append(sds, contactsSD*sp.contact)
	}
	h := hypothesis{spot: spot, weight: weight, state: make([]float64, len(sds)), cov: make([][]float64, len(sds))}
	for i, sd := range sds {
		h.cov[i] = make([]float64, len(sds))
		h.cov[i][i] = sd * sd
	}
	h.state[ofSize] = z.mean
	return h
}

// sumUp sets the spots' probabilities to the sums of their hypotheses' weights.
func (s *Search) sumUp() {
	for i := range s.spots {
		s.spots[i].Probability = 0
	}
	for i := range s.hyps {
		s.spots[s.hyps[i].spot].Probability += s.hyps[i].weight
	}
}

// slipShare is the share of readings that are slips; common practice, no source.
const slipShare = 0.01

// A prediction is what a test reads under one hypothesis; gain is the covariance of the
// hypothesis's state with the reading.
type prediction struct {
	mean, sd float64
	gain     []float64
}

// predictions returns the prediction of a test under every hypothesis.
func (s *Search) predictions(t *Test, c *circumstances) []prediction {
	out := make([]prediction, len(s.hyps))
	for i := range s.hyps {
		h := &s.hyps[i]
		mean, sd, row := t.method.model(s, t, c, h)
		variance, gain := sd*sd, make([]float64, len(h.state))
		for k, a := range row {
			for j := range gain {
				gain[j] += a * h.cov[j][k]
			}
		}
		for k, a := range row {
			variance += a * gain[k]
		}
		out[i] = prediction{mean, math.Sqrt(variance), gain}
	}
	return out
}

// density returns the likelihood of a reading that is no slip, times the share of such readings.
func (m *method) density(o prediction, y float64) float64 {
	z := (y - o.mean) / o.sd
	return (1 - slipShare) * math.Exp(-z*z/2) / (o.sd * math.Sqrt(2*math.Pi))
}

// likelihood returns the likelihood of a reading, slips included. The errors of a yes-or-no answer
// are in its probability.
func (m *method) likelihood(o prediction, y float64) float64 {
	if m.yesNo {
		return y*o.mean + (1-y)*(1-o.mean)
	}
	return m.density(o, y) + slipShare/m.slip
}

// learn updates the search by a reading: the hypotheses' weights by Bayes' rule, and the state of
// each by a Kalman step unless it takes the reading for a slip. It returns the probability that the
// reading is one.
func (s *Search) learn(t *Test, c *circumstances, y float64) (slip float64) {
	total := 0.0
	for i, o := range s.predictions(t, c) {
		h := &s.hyps[i]
		if !t.method.yesNo {
			slip += h.weight * slipShare / t.method.slip
		}
		h.weight *= t.method.likelihood(o, y)
		total += h.weight
		if t.method.yesNo || t.method.density(o, y) < slipShare/t.method.slip {
			continue
		}
		for j, g := range o.gain {
			h.state[j] += g * (y - o.mean) / (o.sd * o.sd)
			for k := range o.gain {
				h.cov[j][k] -= g * o.gain[k] / (o.sd * o.sd)
			}
		}
	}
	for i := range s.hyps {
		s.hyps[i].weight /= total
	}
	s.sumUp()
	return slip / total
}
