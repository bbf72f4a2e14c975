package normal

import "math"

// Moments accumulate the mean and standard deviation of N numbers.
type Moments struct{ N, sum, squares float64 }

// Add adds one number.
func (m *Moments) Add(x float64) { m.N, m.sum, m.squares = m.N+1, m.sum+x, m.squares+x*x }

// Mean returns the mean of the numbers and of worth more that equal prior.
func (m *Moments) Mean(prior, worth float64) float64 { return (m.sum + worth*prior) / (m.N + worth) }

// SD returns their standard deviation, with worth more that have the standard deviation prior;
// prior if there are no numbers.
func (m *Moments) SD(prior, worth float64) float64 {
	if m.N == 0 {
		return prior
	}
	mean := m.sum / m.N
	return math.Sqrt((max(m.squares-m.N*mean*mean, 0) + worth*prior*prior) / (m.N - 1 + worth))
}
