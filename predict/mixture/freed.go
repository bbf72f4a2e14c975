package mixture

import (
	"slices"

	"sagline/predict/normal"
)

// Freed returns each scattering departure of a dive with a wide prior on it alone, the others held
// to their scatter.
func (c *Calibrated) Freed(a Alone, variance []float64) []normal.Normal {
	sp := c.Space
	out := make([]normal.Normal, len(sp.Scatter))
	m := &Mixture{of: c}
	if m.withoutCauses(a, variance) != nil {
		for i := range out { // says nothing
			out[i] = normal.Normal{Mean: 0, Variance: 1e6 * variance[i]}
		}
		return out
	}
	for i, k := range c.Free {
		at := m.at[i]
		if at < 0 {
			continue
		}
		s := slices.Index(sp.Scatter, k)
		p := sp.Known(k)
		precision := 1/max(sq(p.Fault), 100*variance[s]) - 1/c.aboutTypical(s, variance[s])
		v := m.cov[at][at]
		shrink := precision / (1 + precision*v)
		out[s] = normal.Normal{Mean: m.mean[at] * (1 - shrink*v), Variance: v - shrink*v*v}
	}
	return out
}
