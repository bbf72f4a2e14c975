package drift

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict"
	"sagline/predict/fit"
)

// Blocks of as many dives, one after the other, are one where nothing begins between them and they are old enough
// to be weighed together.
func TestJoins(t *testing.T) {
	a := &analysis{r: &fit.Result{Baseline: 5}, n: 5 + 4 + 63, levels: []level{{since: 5}, {since: 5}}}
	at := func(first, dives int) *block { return &block{first: first, dives: dives} }
	assert.True(t, a.joins(at(5, 2), at(7, 2)))
	assert.False(t, a.joins(at(5, 2), at(7, 1)), "not of one size")
	assert.False(t, a.joins(at(7, 2), at(9, 2)), "not in step with those before")
	assert.False(t, a.joins(at(5, 4), at(9, 4)), "too new to be eight")
	for name, begin := range map[string]func(){
		"a level":  func() { a.levels[1].since = 7 },
		"a change": func() { a.onsets = []int{3, 7} },
	} {
		levels := slices.Clone(a.levels)
		begin()
		assert.False(t, a.joins(at(5, 2), at(7, 2)), "%s begins there", name)
		a.levels, a.onsets = levels, nil
	}
}

// What is folded says nothing more of a level that was set anew after it, whatever is set anew later.
func TestFoldedDivesForget(t *testing.T) {
	a := plain(predict.LoopOhm, 0.1, 0, 0, 0, 0)
	at := a.r.Space.Place[predict.LoopOhm]
	i := at*len(a.r.Space.All) + at
	a.restart(at, a.r.Baseline+2, 0.2)
	a.levels[at].since = a.r.Baseline
	for d := range 3 {
		a.fold(&explanation{})
		tells := a.folded[len(a.folded)-1].info[0][i] > 1
		assert.Equal(t, d == 2, tells, "dive %d after the baseline", d+1)
	}
}

// A level set anew twice at one dive may be as far off as the wider says; at another dive it is the later's.
func TestRestart(t *testing.T) {
	a := plain(predict.LoopOhm, 0.1, 0, 0)
	at := a.r.Space.Place[predict.LoopOhm]
	for _, c := range []struct {
		dive int
		sd   float64
		want level
	}{{6, 0.2, level{6, 0.2}}, {6, 0.1, level{6, 0.2}}, {6, 0.3, level{6, 0.3}}, {7, 0.1, level{7, 0.1}}} {
		a.restart(at, c.dive, c.sd)
		assert.Equal(t, c.want, a.levels[at])
		assert.Equal(t, c.dive, a.forgot[at])
	}
}
