package normal

import "math"

// Moments gather a mean and a standard deviation of N numbers.
type Moments struct{ N, sum, squares float64 }

// Add takes one more number in.
func (m *Moments) Add(x float64) { m.N, m.sum, m.squares = m.N+1, m.sum+x, m.squares+x*x }

// Mean is that of the numbers and of worth more at what is usual.
func (m *Moments) Mean(usual, worth float64) float64 { return (m.sum + worth*usual) / (m.N + worth) }

// SD is their standard deviation, with worth more of what is usual; that alone of none.
func (m *Moments) SD(usual, worth float64) float64 {
	if m.N == 0 {
		return usual
	}
	mean := m.sum / m.N
	return math.Sqrt((max(m.squares-m.N*mean*mean, 0) + worth*usual*usual) / (m.N - 1 + worth))
}
