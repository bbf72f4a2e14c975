package drift

import (
	"math/bits"
	"slices"

	"sagline/predict/findings"
)

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
