package drift

import (
	"gonum.org/v1/gonum/mat"
)

// A border is one amplitude's column of information beside a state, the
// covariance times it, and its linear term.
type border struct {
	v, cv []float64
	lin   float64
}

func newBorder(n int) border { return border{v: make([]float64, n), cv: make([]float64, n)} }

// plus adds f times another border, its covariance's part too where that is
// wanted.
func (b *border) plus(f float64, o *border, cv bool) {
	add(b.v, f, o.v)
	if cv {
		add(b.cv, f, o.cv)
	}
	b.lin += f * o.lin
}

// takes adds what a block says of an amplitude of such a profile in it, whose
// product with the block is in s.work; but for the covariance's part.
func (s *scanner) takes(o *border, b *block, col *column, level, slope float64) {
	s.work.under(b, level, slope)
	static := s.a.r.Space.Static
	for i, p := range static {
		o.v[i] += s.work.still[p]
	}
	for c := range s.cols {
		o.v[len(static)+c] += s.work.with(b, &s.cols[c])
	}
	o.lin += b.linear(col, level, slope)
}

// onsets is what a cause's steps, and the ramp of its only amplitude, have
// gathered from the newest dive back to an onset.
type onsets struct {
	cols         []column
	ramps        bool
	step, one    []border
	ramp         border
	steps        *mat.SymDense // corners of the steps
	single       *mat.SymDense // of the last block taken in
	ramp1, ramp2 float64       // Σ t·i and Σ t²·i of the first amplitude, t from 1 at the onset
}

func newOnsets(cols []column, ramps bool, n int) *onsets {
	o := &onsets{cols: cols, ramps: ramps, step: make([]border, len(cols)), one: make([]border, len(cols)), ramp: newBorder(n),
		steps: mat.NewSymDense(len(cols), nil), single: mat.NewSymDense(len(cols), nil)}
	for j := range cols {
		o.step[j], o.one[j] = newBorder(n), newBorder(n)
	}
	return o
}

// take moves the onset back over a block. alone says whether it is a dive that
// is weighed by itself, of which the covariance's parts follow one by one.
func (s *scanner) take(o *onsets, b *block, alone bool) {
	if o.ramps {
		by := float64(b.dives)
		o.ramp.plus(by, &o.step[0], alone) // later dives are further up the ramp
		o.ramp2 += by * (2*o.ramp1 + by*o.steps.At(0, 0))
		o.ramp1 += by * o.steps.At(0, 0)
	}
	for j := range o.cols {
		col := &o.cols[j]
		s.work.of(b, col)
		one := &o.one[j]
		clear(one.v)
		one.lin = 0
		s.takes(one, b, col, 1, 0)
		for i := range j + 1 {
			x := o.cols[i].dot(s.work.still)
			o.single.SetSym(i, j, x)
			o.steps.SetSym(i, j, o.steps.At(i, j)+x)
		}
		if alone {
			s.base.times(one.cv, one.v)
		}
		o.step[j].plus(1, one, alone)
		if j == 0 && o.ramps {
			s.climb(o, b, alone)
		}
	}
}

// climb adds a block whose dives lie at 1, 2, … on the ramp.
func (s *scanner) climb(o *onsets, b *block, alone bool) {
	col := &o.cols[0]
	if b.dives == 1 {
		o.ramp.plus(1, &o.one[0], alone)
		o.ramp1 += o.single.At(0, 0)
		o.ramp2 += o.single.At(0, 0)
		return
	}
	still := col.dot(s.work.by[0])
	first, second := col.dot(s.work.by[1]), col.dot(s.work.by[2])
	o.ramp1 += still + first
	o.ramp2 += still + 2*first + second
	s.takes(&o.ramp, b, col, 1, 1)
}
