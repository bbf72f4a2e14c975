package mixture

import (
	"math"

	"sagline/predict/normal"

	"gonum.org/v1/gonum/blas/blas64"
)

// A form is a linear form of the departures: its mean and variance without any cause, and what one
// unit of each column's amplitude adds to it.
type form struct {
	normal.Normal
	by []float64
}

// form returns the form with coefficients w of the free departures, then of keptStatic.
func (m *Mixture) form(w []float64) form {
	nf := len(m.at)
	base := make([]float64, len(m.mean))
	for i, at := range m.at {
		if at >= 0 {
			base[at] = w[i]
		}
	}
	copy(base[len(base)-len(m.of.Keep):], w[nf:])
	f := form{by: make([]float64, len(m.columns))}
	f.Mean = blas64.Dot(normal.Vector(base), normal.Vector(m.mean))
	for i, x := range base {
		if x != 0 {
			f.Variance += x * blas64.Dot(normal.Vector(base), normal.Vector(m.cov[i]))
		}
	}
	for j := range m.columns {
		col := &m.columns[j]
		if col.d == nil {
			continue
		}
		f.by[j] = blas64.Dot(normal.Vector(w[:nf]), normal.Vector(col.d)) - blas64.Dot(normal.Vector(base), normal.Vector(col.w))
	}
	return f
}

// under returns the form's mean and variance in one component.
func (f *form) under(p *component) normal.Normal {
	out := f.Normal
	for a, i := range p.columns {
		out.Mean += f.by[i] * p.amplitude[a]
		for b, j := range p.columns {
			out.Variance += f.by[i] * f.by[j] * p.cov.At(a, b)
		}
	}
	return out
}

// Mean returns the mixture's mean of each free departure.
func (m *Mixture) Mean() []float64 {
	amplitude := make([]float64, len(m.columns))
	for i := range m.components {
		p := &m.components[i]
		for a, j := range p.columns {
			amplitude[j] += p.weight * p.amplitude[a]
		}
	}
	out := make([]float64, len(m.at))
	for i, at := range m.at {
		if at >= 0 {
			out[i] = m.mean[at]
		}
		for j := range m.columns {
			if m.columns[j].d == nil {
				continue
			}
			x := m.columns[j].d[i]
			if at >= 0 {
				x -= m.columns[j].w[at]
			}
			out[i] += x * amplitude[j]
		}
	}
	return out
}

// Interval returns the mixture's mean and 95 % interval of a linear form plus a constant, with
// variance extra added.
func (m *Mixture) Interval(w []float64, constant, extra float64) normal.Interval {
	parts := make([]normal.Component, len(m.components))
	f := m.form(w)
	for i := range m.components {
		x := f.under(&m.components[i])
		parts[i] = normal.Component{Weight: m.components[i].weight, Mean: x.Mean + constant, SD: math.Sqrt(max(x.Variance, 0) + extra)}
	}
	return normal.Mix(parts)
}
