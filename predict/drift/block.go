package drift

import (
	"math"
	"math/bits"
	"slices"

	"sagline/predict/findings"
	"sagline/predict/normal"

	"gonum.org/v1/gonum/blas/blas64"
)

// A block holds what consecutive dives together say of a departure δ + t·ρ, where t counts the
// dives from the first:
//
//	log + lin[0]·δ + lin[1]·ρ − ½(δᵀ·info[0]·δ + 2·δᵀ·info[1]·ρ + ρᵀ·info[2]·ρ)
//
// with lin[k] = Σ tᵏ·Lin and info[k] = Σ tᵏ·Info over the dives. No change begins or ends within a
// block. A block of one dive has only lin[0] and info[0]; one of several has no log, which is the
// same under all hypotheses.
type block struct {
	first, dives int
	battery      string // label, the same for all its dives unless mixed
	mixed        bool   // whether its dives are on several batteries
	info         [3][]float64
	lin          [2][]float64
	log          float64
}

// ofDive returns the block of one dive, in the storage of its likelihood.
func ofDive(d int, battery string, l normal.Likelihood) block {
	b := block{first: d, dives: 1, battery: battery, log: l.Log}
	b.info[0], b.lin[0] = l.Info, l.Lin
	return b
}

// end returns the dive after the block's last.
func (b *block) end() int { return b.first + b.dives }

// clone returns a copy in storage of its own.
func (b *block) clone() block {
	out := *b
	for k := range b.info {
		out.info[k] = slices.Clone(b.info[k])
	}
	for k := range b.lin {
		out.lin[k] = slices.Clone(b.lin[k])
	}
	return out
}

// free integrates out of a block one more value at a place, with standard deviation sd and common
// to its dives (a rank-one Schur complement): what they say of the place's level is forgotten.
func (b *block) free(at int, sd float64) {
	n := len(b.lin[0])
	square := general(b.info[0], n)
	column := make([]float64, n)
	blas64.Copy(blas64.Vector{N: n, Inc: n, Data: b.info[0][at:]}, vector(column))
	pivot := column[at]
	w := 1 / (pivot + 1/(sd*sd))
	lin := b.lin[0][at]
	b.log += 0.5*w*lin*lin - 0.5*math.Log1p(sd*sd*pivot)
	if b.dives > 1 {
		row := append([]float64(nil), b.info[1][at*n:(at+1)*n]...)
		blas64.Ger(-w, vector(column), vector(row), general(b.info[1], n))
		blas64.Ger(-w, vector(row), vector(row), general(b.info[2], n))
		blas64.Axpy(-w*lin, vector(row), vector(b.lin[1]))
	}
	blas64.Ger(-w, vector(column), vector(column), square)
	blas64.Axpy(-w*lin, vector(column), vector(b.lin[0]))
}

// join returns two consecutive blocks as one.
func join(a, b *block) block {
	n, by := len(a.lin[0]), float64(a.dives)
	out := block{first: a.first, dives: a.dives + b.dives, battery: a.battery, mixed: a.mixed || b.mixed || a.battery != b.battery}
	for k := range out.info {
		out.info[k] = make([]float64, n*n)
		copy(out.info[k], a.info[k])
		add(out.info[k], 1, b.info[k])
	}
	for k := range out.lin {
		out.lin[k] = make([]float64, n)
		copy(out.lin[k], a.lin[k])
		add(out.lin[k], 1, b.lin[k])
	}
	// t of b's dives grows by a.dives
	add(out.lin[1], by, b.lin[0])
	add(out.info[1], by, b.info[0])
	add(out.info[2], by*by, b.info[0])
	if b.dives > 1 {
		add(out.info[2], by, b.info[1])
		for i := range n {
			blas64.Axpy(by, blas64.Vector{N: n, Inc: n, Data: b.info[1][i:]}, vector(out.info[2][i*n:(i+1)*n]))
		}
	}
	return out
}

// add adds f·x to y; an empty x adds nothing.
func add(y []float64, f float64, x []float64) {
	if len(x) > 0 {
		blas64.Axpy(f, vector(x), vector(y))
	}
}

func general(x []float64, n int) blas64.General {
	return blas64.General{Rows: len(x) / n, Cols: n, Stride: n, Data: x}
}

// A product is a block's information times the direction of one amplitude, by power of t.
type product struct {
	by     [3][]float64
	turned []float64 // by the transpose of info[1], the only one that is not symmetric
	still  []float64 // effect of a unit of the amplitude on lin[0]
	moving []float64 // and on lin[1]

	room    [2][]float64 // for by[0] and still, unless they are a row of the block's
	profile []linear     // of some columns
}

// linear is a profile over a block: its level at the first dive, and its slope per dive.
type linear struct{ level, slope float64 }

func newProduct(places int) *product {
	o := &product{turned: make([]float64, places), moving: make([]float64, places)}
	o.room[0], o.room[1] = make([]float64, places), make([]float64, places)
	for k := range o.by {
		o.by[k] = make([]float64, places)
	}
	return o
}

// of sets o to the product of a block and a column's direction.
func (o *product) of(b *block, c *column) {
	n := len(b.lin[0])
	if t := c.terms[0]; len(c.terms) == 1 && t.per == 1 {
		o.by[0] = b.info[0][t.at*n : (t.at+1)*n]
	} else {
		o.by[0] = o.room[0]
		apply(o.by[0], b.info[0], n, c.terms)
	}
	if b.dives == 1 {
		return
	}
	apply(o.turned, b.info[1], n, c.terms)
	apply(o.by[2], b.info[2], n, c.terms)
	clear(o.by[1])
	for _, t := range c.terms {
		blas64.Axpy(t.per, blas64.Vector{N: n, Inc: n, Data: b.info[1][t.at:]}, vector(o.by[1]))
	}
}

// apply sets by to the sum of the rows of info at some places, each times its term.
func apply(by, info []float64, n int, terms []placed) {
	clear(by)
	for _, t := range terms {
		blas64.Axpy(t.per, vector(info[t.at*n:(t.at+1)*n]), vector(by))
	}
}

// under sets still and moving for an amplitude with profile level + slope·t over the block.
func (o *product) under(b *block, level, slope float64) {
	if b.dives == 1 && level == 1 {
		o.still = o.by[0]
		return
	}
	o.still = o.room[1]
	if b.dives == 1 {
		for i, x := range o.by[0] {
			o.still[i] = level * x
		}
		return
	}
	for i, x := range o.by[0] {
		o.still[i] = level*x + slope*o.by[1][i]
		o.moving[i] = level*o.turned[i] + slope*o.by[2][i]
	}
}

// profiles sets the profiles of columns over a block.
func (o *product) profiles(b *block, cols []column) {
	o.profile = o.profile[:0]
	for c := range cols {
		level, slope := cols[c].over(b)
		o.profile = append(o.profile, linear{level, slope})
	}
}

// with returns the cross information over the block of the product's amplitude and column c of
// those whose profiles are set.
func (o *product) with(b *block, cols []column, c int) float64 {
	by, sum := o.profile[c], 0.0
	if by.level != 0 {
		sum = by.level * cols[c].dot(o.still)
	}
	if by.slope != 0 && b.dives > 1 {
		sum += by.slope * cols[c].dot(o.moving)
	}
	return sum
}

// form returns the product of two columns' directions by info[power].
func (b *block) form(power int, c, d *column) float64 {
	sum, n := 0.0, len(b.lin[0])
	for _, t := range c.terms {
		sum += t.per * d.dot(b.info[power][t.at*n:(t.at+1)*n])
	}
	return sum
}

// linear returns what a column with this profile adds to the linear term.
func (b *block) linear(c *column, level, slope float64) float64 {
	sum := level * c.dot(b.lin[0])
	if slope != 0 && b.dives > 1 {
		sum += slope * c.dot(b.lin[1])
	}
	return sum
}

// held is how many of the newest dives are kept one by one. Older ones are folded into blocks: by
// then a change has been mended or given up.
const held = 48

// exact is how many dives back every onset is weighed at every dive.
const exact = 24

// perAge is the least number of onsets weighed between an age and twice that age, beyond the dives
// held. Each stands for those up to the next. More only take time.
const perAge = 8

// spacing returns the distance in dives between the onsets weighed at an age: a power of two.
func spacing(age int) int {
	if age <= held {
		return 1
	}
	return 1 << (bits.Len(uint(age/perAge)) - 1)
}

// fixExplained settles what is explained as one dive alone and is no longer weighed, and folds the
// dives that are no longer held, as now reads them. It drops components that ended before the dives
// held.
func (a *analysis) fixExplained(now *explanation) {
	a.onsets, a.byTurnsNow = a.onsets[:0], a.byTurnsNow[:0]
	for _, p := range now.components {
		a.onsets = append(a.onsets, p.onset, p.until)
		if p.pattern == findings.Turns {
			a.byTurnsNow = append(a.byTurnsNow, a.scattering(p.cause)...)
		}
	}
	for _, p := range now.components {
		if p.pattern == findings.Once && a.n-p.onset >= exact-1 {
			a.fixed[p.onset] = p.hypothesis
			a.held[p.onset-a.held[0].first] = a.read(p.onset, block{})
			a.review()
		}
	}
	for len(a.held) > held {
		a.fold(now)
	}
	now.components = slices.DeleteFunc(now.components, func(p component) bool { return p.until > 0 && p.until <= a.held[0].first })
}

// fold moves the oldest dive held to the folded blocks.
func (a *analysis) fold(now *explanation) {
	b := a.held[0]
	for _, p := range now.components {
		if p.pattern != findings.Once && len(a.causes[p.cause].Amplitudes) == 0 && p.onset <= b.first && b.first <= a.last(p.hypothesis) && a.suggests(b.first, p.cause) {
			a.fixed[b.first] = p.hypothesis
			b = a.read(b.first, block{})
		}
	}
	delete(a.fixed, b.first)
	b = b.clone()
	for _, p := range now.components {
		if p.onset <= b.first && (p.pattern == findings.Turns || b.first < p.until) {
			a.forget(&b, p.cause)
		}
	}
	for at, end := range a.forgot {
		if b.first < end && b.end() > a.levels[at].linked {
			b.free(at, unlinkedSizes*a.levels[at].sd)
		}
	}
	at := len(a.folded)
	a.held = a.held[1:]
	a.folded = append(a.folded, b)
	a.sum.addBlock(a.r.Space.Static, &a.view[at], -1)
	a.view[at] = a.freed(&a.folded[at])
	a.sum.addBlock(a.r.Space.Static, &a.view[at], 1)
	a.coarsen()
}

// scattering returns the indices of the scattering parameters that a cause changes.
func (a *analysis) scattering(cause int) (out []int) {
	for _, t := range a.causes[cause].Reach() {
		if i := a.r.ScatterAt(a.r.Space.Place[t.Param]); i >= 0 {
			out = append(out, i)
		}
	}
	return out
}

// forget removes from a block what it says of the places that a cause changes.
func (a *analysis) forget(b *block, cause int) {
	for _, t := range a.causes[cause].Reach() {
		b.free(a.r.Space.Place[t.Param], unlinkedSizes*t.Per)
	}
}

// coarsen joins neighbouring blocks that have become old enough to be weighed together, from the
// newest.
func (a *analysis) coarsen() {
	for i := len(a.folded) - 2; i >= 0; i-- {
		if !a.joins(&a.folded[i], &a.folded[i+1]) {
			continue
		}
		a.sum.addBlock(a.r.Space.Static, &a.view[i], -1) // before join changes their storage
		a.sum.addBlock(a.r.Space.Static, &a.view[i+1], -1)
		a.folded[i] = a.join(&a.folded[i], &a.folded[i+1])
		a.folded = slices.Delete(a.folded, i+1, i+2)
		a.view = slices.Delete(a.view, i+1, i+2)
		a.view[i] = a.freed(&a.folded[i])
		a.sum.addBlock(a.r.Space.Static, &a.view[i], 1)
	}
}

// join joins two blocks. If their batteries differ, the result says nothing of the batteries'
// levels.
func (a *analysis) join(x, y *block) block {
	if x.battery != y.battery {
		for _, f := range a.r.OtherBattery() {
			x.free(f.Place, unlinkedSizes*f.SD)
			y.free(f.Place, unlinkedSizes*f.SD)
		}
	}
	return join(x, y)
}

// joins reports whether two consecutive blocks are to become one: no onset between them is weighed
// any more, and nothing begins there.
func (a *analysis) joins(x, y *block) bool {
	size := x.dives + y.dives
	if x.dives != y.dives || (x.first-a.r.Baseline)%size != 0 || size > spacing(a.n-y.end()+1) {
		return false
	}
	for _, l := range a.levels {
		if l.since == y.first {
			return false
		}
	}
	return !slices.Contains(a.onsets, y.first)
}
