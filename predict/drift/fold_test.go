package drift

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/normal"
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
	a.restart(at, a.r.Baseline+2, 0.2, 0)
	a.levels[at].since = a.r.Baseline
	for d := range 3 {
		a.fold(&explanation{})
		tells := a.folded[len(a.folded)-1].info[0][i] > 1
		assert.Equal(t, d == 2, tells, "dive %d after the baseline", d+1)
	}
}

// A dive that a jam explains is folded as it reads under that jam, for good; one before the jam began, after it was gone, or that
// does not look jammed, as it is.
func TestJammedDivesAreFoldedAsSuch(t *testing.T) {
	r := *exampleFit()
	r.Dives = slices.Clone(r.Dives)
	from := r.Baseline
	summary := *r.Dives[from].Summary
	summary.Failed = map[causes.Failure]fit.Failed{{Thruster: 2}: {Quadratic: &r.Dives[from+1].Summary.Firm}}
	r.Dives[from].Summary = &summary
	for name, c := range map[string]struct {
		thruster, onset, until int
		want                   bool
	}{"jammed": {1, from, 0, true}, "jammed, then gone": {1, from, from + 1, true}, "not yet": {1, from + 1, 0, false}, "no longer": {1, from - 1, from, false}, "another's": {0, from, 0, false}} {
		a := newAnalysis(&r)
		a.learn(from)
		a.learn(from + 1)
		k := a.index("stall:" + r.Model.Vehicle.Thrusters[c.thruster].Name)
		want := a.held[0].clone()
		if c.want {
			want = a.readUnder(from, k, true, block{})
		}
		h := hypothesis{cause: k, pattern: findings.Step, onset: c.onset, until: c.until}
		a.n = from + 1
		later := h
		later.onset = from + 1
		a.fold(&explanation{components: []component{{hypothesis: h}}})
		assert.Nil(t, a.otherwise(from, k), "%s: how it is read is settled", name)
		if c.until == 0 {
			assert.Equal(t, a.constants(later), a.constants(h), "%s: it is weighed no more", name)
		}
		assert.Equal(t, want.info[0], a.folded[0].info[0], name)
		assert.Equal(t, want.lin[0], a.folded[0].lin[0], name)
	}
}

// Dives before the one up to which a level is linked keep what they say of it, folded or not.
func TestLinkedDivesTell(t *testing.T) {
	a := plain(predict.LoopOhm, 0.1, 0, 0, 0, 0)
	at := a.r.Space.Place[predict.LoopOhm]
	i := at*len(a.r.Space.All) + at
	a.fold(&explanation{})
	a.restart(at, a.r.Baseline+3, 0.2, a.r.Baseline+2)
	for range 2 {
		a.fold(&explanation{})
	}
	a.review()
	for d, want := range []bool{true, true, false, true} {
		assert.Equal(t, want, a.view[d].info[0][i] > 1, "dive %d after the baseline", d+1)
		if d < len(a.folded) {
			assert.Equal(t, want, a.folded[d].info[0][i] > 1, "dive %d folded", d+1)
		}
	}
	a.restart(at, a.r.Baseline+4, 0.2, a.r.Baseline+1)
	assert.Less(t, a.folded[1].info[0][i], 1.0, "it may have changed earlier")
	assert.Greater(t, a.folded[0].info[0][i], 1.0)
}

// A service ends what acted by a cause that it clears; the level before counts up to some dives before anything else that it
// clears may have begun.
func TestEndOf(t *testing.T) {
	a := plain(predict.LoopOhm, 0.1, 0, 0, 0, 0, 0, 0, 0, 0)
	d, stays := a.n+1, func(p float64) (out []float64) {
		out = make([]float64, len(a.causes))
		out[a.index("friction")] = p
		return out
	}
	onset := d - 2
	best := make([]hypothesis, len(a.causes))
	best[a.index("friction")] = hypothesis{cause: a.index("friction"), pattern: findings.Step, onset: d - 3}
	part := func(cause, pattern string, p float64) component {
		return component{hypothesis: hypothesis{cause: a.index(cause), pattern: pattern, onset: onset}, stays: stays(p), best: best}
	}
	propeller := func(c *causes.Cause) bool { return c.ClearedBy([]string{"propeller"}) }
	for name, c := range map[string]struct {
		part         component
		until, sound int
	}{
		"a step":                {part("thrust", findings.Step, 0.3), d, d},
		"a ramp":                {part("thrust", findings.Ramp, 0), d, d},
		"a jam":                 {part("stall:port", findings.Step, 0), d, d},
		"one dive":              {part("thrust", findings.Once, 0), 0, onset - lately},
		"of another part":       {part("power_loop", findings.Step, 0.49), 0, d},
		"or of another part":    {part("power_loop", findings.Step, 0.51), 0, d - 3 - lately},
		"gone before it":        {component{hypothesis: hypothesis{cause: a.index("thrust"), pattern: findings.Step, onset: 6, until: 7}, stays: stays(0), best: best}, 7, d},
		"of another, gone then": {component{hypothesis: hypothesis{cause: a.index("drag"), pattern: findings.Step, onset: 6, until: 7}, stays: stays(0), best: best}, 7, d},
	} {
		now := explanation{components: []component{c.part}}
		assert.Equal(t, c.sound, a.endOf(d, &now, propeller), name)
		assert.Equal(t, c.until, now.components[0].until, name)
	}
	assert.Equal(t, d, a.endOf(d, &explanation{}, propeller))
}

// What ends where no case is plain is the likeliest step or ramp of its family, never one of another or what comes and goes; where none is
// likelier it is as it was.
func TestLikeliestCase(t *testing.T) {
	a := &analysis{causes: propellers}
	step, ramp, once := hypothesis{cause: ofPort, pattern: findings.Step, onset: 3}, hypothesis{cause: ofStarboard, pattern: findings.Ramp, onset: 4}, hypothesis{cause: ofPort, pattern: findings.Once, onset: 5}
	for name, c := range map[string]struct {
		stays []float64
		port  hypothesis
		want  hypothesis
	}{
		"a step":                 {[]float64{0.1, 0.4, 0.2, 0.05, 0.05}, step, step},
		"a ramp":                 {[]float64{0.1, 0.2, 0.4, 0.05, 0.05}, step, ramp},
		"of another family":      {[]float64{0.1, 0.2, 0.05, 0.5, 0.05}, step, step},
		"one dive alone is none": {[]float64{0.1, 0.4, 0.2, 0.05, 0.05}, once, ramp},
		"none likelier":          {[]float64{0.4, 0.3, 0.2, 0.05, 0.05}, step, hypothesis{cause: all, pattern: findings.Step, onset: 2}},
	} {
		e := component{hypothesis: hypothesis{cause: all, pattern: findings.Step, onset: 2}, stays: c.stays,
			best: []hypothesis{{cause: all, pattern: findings.Step, onset: 2}, c.port, ramp, {cause: drag, pattern: findings.Step, onset: 6}, {cause: jam, pattern: findings.Turns}}}
		assert.Equal(t, c.want, a.likeliestCase(&e), name)
	}
}

// What is likely and not told yet may be what a service mends.
func TestEndOfTheUntold(t *testing.T) {
	friction := plain(predict.FrictionA, 0.1, 0, 0, 0, 0, 0, 0.4, 0.4)
	d := friction.n + 1
	sound := friction.endOf(d, &explanation{}, func(c *causes.Cause) bool { return c.ClearedBy([]string{"propeller"}) })
	assert.Equal(t, d-2-lately, sound)
	assert.Equal(t, d, friction.endOf(d, &explanation{}, func(c *causes.Cause) bool { return c.ClearedBy([]string{"seal"}) }))
}

// The trends of the dive before are kept where a service, a rebuild or another battery may end them, not within the baseline;
// those that a dive begins anew are eras.
func TestWhatMayEndAnEra(t *testing.T) {
	a := plain(predict.LoopOhm, 0.1, 0, 0, 0)
	r, n, loop := *a.r, a.n, a.index("power_loop")
	a.r = &r
	for name, c := range map[string]struct {
		services []string
		change   func(*fit.DiveFit)
		n        int
		want     bool
	}{
		"nothing":               {nil, func(*fit.DiveFit) {}, n, false},
		"a service":             {[]string{"joint"}, func(*fit.DiveFit) {}, n, true},
		"a rebuild":             {nil, func(d *fit.DiveFit) { d.Era++ }, n, true},
		"another battery":       {nil, func(d *fit.DiveFit) { d.Battery = "B" }, n, true},
		"of the baseline alone": {[]string{"joint"}, func(*fit.DiveFit) {}, r.Baseline, false},
	} {
		r.Dives = slices.Clone(exampleFit().Dives)
		c.change(&r.Dives[c.n])
		ending := a.ending(c.n, &explanation{}, c.services)
		_, kept := ending[loop]
		assert.Equal(t, c.want, kept, name)
		if c.want {
			a.eras, a.epoch[loop] = map[int][]findings.Era{}, n
			a.end(ending, n)
			assert.Len(t, a.eras, 1, name)
			if assert.Len(t, a.eras[loop], 1, name) {
				assert.Equal(t, []int{0, n}, []int{a.eras[loop][0].From, a.eras[loop][0].To}, name)
			}
			a.epoch[loop] = r.Baseline
		}
	}
}

// What is gone by a service counts as gone as long as its dives do.
func TestGoneByService(t *testing.T) {
	a := plain(predict.LogThrust, 0.1, 0, 0, 0, 0)
	c := a.index("thrust")
	now := explanation{components: []component{{hypothesis: hypothesis{cause: c, pattern: findings.Step, onset: 6, until: 8}}}}
	assert.Len(t, a.gone(&now), 1)
	assert.Len(t, a.unsaid(&now), 1)
	a.renewed[c], a.epoch[c] = true, 7
	assert.Len(t, a.unsaid(&now), 1, "the service was before its end")
	a.renewed[c], a.epoch[c] = true, 8
	assert.Len(t, a.gone(&now), 1)
	assert.Empty(t, a.unsaid(&now), "a service says why")
	a.levels[a.r.Space.Place[a.causes[c].Param()]].linked = 6
	assert.Empty(t, a.gone(&now), "its dives say nothing of the level")
}

// A level set anew twice at one dive may be as far off as the wider says; at another dive it is the later's.
func TestRestart(t *testing.T) {
	a := plain(predict.LoopOhm, 0.1, 0, 0)
	at := a.r.Space.Place[predict.LoopOhm]
	for _, c := range []struct {
		dive   int
		sd     float64
		linked int
		want   level
	}{{6, 0.2, 6, level{6, 0.2, 6, 0}}, {6, 0.1, 4, level{6, 0.2, 4, 0}}, {6, 0.3, 6, level{6, 0.3, 4, 0}}, {7, 0.1, 7, level{7, 0.1, 4, 0}}, {9, 0.1, 3, level{9, 0.1, 3, 0}}} {
		a.restart(at, c.dive, c.sd, c.linked)
		assert.Equal(t, c.want, a.levels[at])
		assert.Equal(t, c.dive, a.forgot[at])
	}
}

// What was worked on before the first dive is as that dive found it: nothing is set anew.
func TestAServiceBeforeTheFirstDive(t *testing.T) {
	r := exampleFit().Upto(7)
	want := Analyse(r)
	r.Dives = slices.Clone(r.Dives)
	log := *r.Dives[0].Log
	log.Lines = slices.Clone(log.Lines)
	log.Lines[0].Serviced = []string{"joint"}
	r.Dives[0].Log = &log
	got := Analyse(r)
	assert.Equal(t, []string{"joint"}, got.Dives[0].Serviced)
	assert.Equal(t, want.Trends, got.Trends)
	assert.Equal(t, want.Findings, got.Findings)
}

// What is folded says nothing of the level of what acted in it and is gone, or comes and goes; of what stays it does.
func TestFoldedDivesOfAChange(t *testing.T) {
	for name, c := range map[string]struct {
		pattern string
		until   int // dives after the baseline
		tells   []bool
	}{
		"gone":     {findings.Step, 2, []bool{false, false, true}},
		"stays":    {findings.Step, 0, []bool{true, true, true}},
		"by turns": {findings.Turns, 0, []bool{false, false, false}},
	} {
		a := plain(predict.LoopOhm, 0.1, 0, 0, 0, 0)
		at := a.r.Space.Place[predict.LoopOhm]
		h := hypothesis{cause: a.index("power_loop"), pattern: c.pattern, onset: a.r.Baseline}
		if c.until > 0 {
			h.until = a.r.Baseline + c.until
		}
		for d, want := range c.tells {
			a.fold(&explanation{components: []component{{hypothesis: h}}})
			assert.Equal(t, want, a.folded[d].info[0][at*len(a.r.Space.All)+at] > 1, "%s, dive %d after the baseline", name, d+1)
		}
	}
}

// What was in one dive alone is taken for that for good once it is no longer weighed, and not before: the next dives may show that
// it stayed.
func TestSettledForGood(t *testing.T) {
	for _, since := range []int{lately, exact - 2, exact - 1} {
		a := plain(predict.LoopOhm, 0.1, 0, 0, 0)
		h := hypothesis{cause: a.index("power_loop"), pattern: findings.Once, onset: a.r.Baseline + 1}
		a.n = h.onset + since
		a.fixExplained(&explanation{components: []component{{hypothesis: h}}})
		_, settled := a.fixed[h.onset]
		assert.Equal(t, since == exact-1, settled, "%d dives later", since)
		if settled { // what it read is of itself
			at := a.r.Space.Place[predict.LoopOhm]
			assert.Less(t, a.held[1].info[0][at*len(a.r.Space.All)+at], 1/sq(a.causes[h.cause].Amplitudes[0].Step))
		}
	}
}

// The eras before a trend are those that ended by its first dive, not those of another battery than the one that came back.
func TestErasBefore(t *testing.T) {
	first, second := findings.Era{From: 0, To: 7}, findings.Era{From: 7, To: 12}
	a := &analysis{eras: map[int][]findings.Era{3: {first, second}}}
	for from, want := range map[int][]findings.Era{0: nil, 6: nil, 7: {first}, 11: {first}, 12: {first, second}} {
		assert.Equal(t, want, a.ended(3, from), "from dive %d", from+1)
	}
	assert.Empty(t, a.ended(2, 12), "of another cause")
}

// learnt are dives after the baseline of the example, some of which look as if a thruster were jammed or have it off, by how many
// dives after the baseline they are.
func learnt(dives, thruster int, jammed, off []int) *analysis {
	r := *exampleFit()
	r.Dives = slices.Clone(r.Dives)
	for d := range dives {
		summary := *r.Dives[r.Baseline+d].Summary
		if slices.Contains(jammed, d) {
			summary.Failed = map[causes.Failure]fit.Failed{{Thruster: thruster + 1}: {Quadratic: &exampleFit().Dives[r.Baseline+d].Summary.Firm}}
		}
		summary.Idle = make([]bool, len(r.Model.Vehicle.Thrusters))
		summary.Idle[thruster] = slices.Contains(off, d)
		r.Dives[r.Baseline+d].Summary = &summary
	}
	a := newAnalysis(&r)
	for d := range dives {
		a.learn(r.Baseline + d)
	}
	return a
}

// A jam that stays acts in each dive, one by turns in seven of ten; a dive that does not look jammed speaks against it unless the
// thruster was off. What each dive reads under it leaves the standing motor's resistance to all of them.
func TestWhatDivesSayOfAJam(t *testing.T) {
	const i = 1
	a := learnt(3, i, []int{0}, []int{1})
	r, from := a.r, a.r.Baseline
	k := a.index("stall:" + r.Model.Vehicle.Thrusters[i].Name)
	reads := a.otherwise(from, k).log - a.seen(from).log
	of := func(pattern string, onset, until int) float64 {
		return a.constants(hypothesis{cause: k, pattern: pattern, onset: onset, until: until})
	}
	assert.InDelta(t, reads, of(findings.Step, from, from+1), 1e-9)
	assert.InDelta(t, reads, of(findings.Once, from, 0), 1e-9)
	assert.InDelta(t, reads+math.Log(0.7), of(findings.Turns, from, from+1), 1e-9)
	assert.InDelta(t, reads, of(findings.Step, from, from+2), 1e-9, "it was off")
	assert.InDelta(t, math.Log(0.3), of(findings.Step, from+1, 0), 1e-9, "it was on in the last")

	at := r.Space.Place[predict.OfThruster(i, predict.BranchOhm)]
	tells := func(b block) float64 { return b.info[0][at*len(r.Space.All)+at] }
	most := 1 / sq(r.StallOhm(i))
	assert.Greater(t, tells(*a.otherwise(from, k)), most)
	assert.Less(t, tells(a.readUnder(from, k, true, block{})), most, "for good it is the dive's own")
}

// What a thruster that has failed makes of its friction, between its jams too, is not told, of another thruster and of before it is;
// nor what its jam makes of the battery.
func TestWhatAJamMakesOfItsThruster(t *testing.T) {
	a := plain(predict.LoopOhm, 0.02, 0, 0, 0)
	jam := component{hypothesis: hypothesis{cause: a.index("stall:port"), pattern: findings.Turns, onset: 5, on: "101"}}
	lost := component{hypothesis: hypothesis{cause: a.index("lost:port"), pattern: findings.Step, onset: 5}}
	ended := jam
	ended.until = 7
	r := *a.r
	a.r, r.Dives = &r, slices.Clone(r.Dives)
	sum := *r.Dives[3].Summary
	r.Dives[3].Summary, sum.Idle = &sum, []bool{true, false, false}
	for name, c := range map[string]struct {
		jam   component
		cause string
		onset int
		want  bool
	}{
		"its friction":                  {jam, "friction:port", 5, true},
		"its friction since":            {jam, "friction:port", 6, true},
		"its friction before":           {jam, "friction:port", 4, false},
		"its friction since it was off": {component{hypothesis: hypothesis{cause: jam.cause, pattern: findings.Step, onset: 4}}, "friction:port", 3, true},
		"its friction before that":      {component{hypothesis: hypothesis{cause: jam.cause, pattern: findings.Step, onset: 4}}, "friction:port", 2, false},
		"another's":                     {jam, "friction:starboard", 5, false},
		"the loop's":                    {jam, "power_loop", 5, false},
		"a jam that has ended":          {ended, "friction:port", 5, false},
		"the battery, read in haste":    {jam, "not_logged:battery", 5, true},
		"the battery before":            {jam, "not_logged:battery", 4, false},
		"the battery of a lost one":     {lost, "not_logged:battery", 5, false},
		"the friction of a lost one":    {lost, "friction:port", 6, true},
		"its friction before it is":     {lost, "friction:port", 4, false},
	} {
		e := component{hypothesis: hypothesis{cause: a.index(c.cause), pattern: findings.Step, onset: c.onset}}
		assert.Equal(t, c.want, a.ofFailed(&explanation{components: []component{e, c.jam}}, &e), name)
	}
}

// A jam that a dive does not show comes and goes, unless the thruster was off in it; one settled for good is weighed no more.
func TestRegimesOfAJam(t *testing.T) {
	for name, c := range map[string]struct {
		jammed, off []int
		want        []string // by onset, the newest first
	}{
		"in all":    {[]int{0, 1, 2}, nil, []string{findings.Step, findings.Step, findings.Step}},
		"rests":     {[]int{0, 2}, []int{1}, []string{findings.Step, findings.Step}},
		"not in it": {[]int{0, 2}, nil, []string{findings.Step, findings.Turns}},
	} {
		a := learnt(3, 1, c.jammed, c.off)
		k := a.index("stall:" + a.r.Model.Vehicle.Thrusters[1].Name)
		s, ok := a.scanner(nil)
		require.True(t, ok)
		var out evidenceOf
		s.regimes(&out, k)
		var got []string
		for _, o := range out.onsets {
			got = append(got, o.h.pattern)
		}
		assert.Equal(t, c.want, got, name)
		a.fixed[a.n] = hypothesis{}
		assert.Nil(t, a.otherwise(a.n, k), "%s, settled", name)
	}
}

// A dive has the loop's resistance high, or surely that of a thruster's wiring, where its readings say so with nothing else
// changed, whatever it puts them down to by itself, unless something else explains far more.
func TestStandOut(t *testing.T) {
	r := *exampleFit()
	d, n := r.Baseline+2, len(r.Space.All)
	loop, wiring := predict.LoopOhm, predict.OfThruster(0, predict.BranchOhm)
	for _, c := range []struct {
		of        int
		ohm, drag float64 // by how many standard deviations
		want      bool
	}{{loop, 0, 0, false}, {loop, 1.3, 0, false}, {loop, 1.7, 0, true}, {loop, -4, 0, false}, {loop, 1.7, -3, true}, {loop, 1.7, 4, false}, {loop, 1.7, -4, false}, {loop, 2.2, 4, true},
		{wiring, 1.7, 0, false}, {wiring, 2.9, 0, false}, {wiring, 3.2, 0, true}, {wiring, -5, 0, false}, {wiring, 3.2, 7, false}} {
		sum := *r.Dives[d].Summary
		sum.Firm = normal.Quadratic{Info: mat.NewSymDense(n, nil), Lin: make([]float64, n)}
		for param, z := range map[int]float64{c.of: c.ohm, predict.LogDrag: c.drag} {
			at := r.Space.Place[param]
			sum.Firm.Info.SetSym(at, at, 1) // of 1 Ω, or all of the drag, which is far more than scatter
			sum.Firm.Lin[at] = z
		}
		r.Dives = slices.Clone(r.Dives)
		r.Dives[d].Summary = &sum
		a := newAnalysis(&r)
		b := a.read(d, block{})
		assert.Equal(t, c.want, slices.Contains(a.standOut(d, &b), c.of), "%+v", c)
	}
}

// A contact that is worse for a whole dive may be so by what any joint has, and is none of one dive alone: the loop itself may be.
func TestAContactForOneWholeDive(t *testing.T) {
	a := learnt(3, 0, nil, nil)
	k, at := a.index("intermittent_contact"), a.r.Space.Place[predict.LoopOhm]
	a.worse[a.n] = []int{predict.LoopOhm}
	assert.Less(t, a.readUnder(a.n, k, false, block{}).info[0][at*len(a.r.Space.All)+at], 1/sq(anyOhm))
	s, ok := a.scanner(nil)
	require.True(t, ok)
	var out evidenceOf
	s.regimes(&out, k)
	assert.Len(t, out.onsets, 1)
	assert.Empty(t, out.once)
}

// How far a contact comes and goes is what the dives since its onset have, the first and the newest included: from line to line, or by
// themselves where it is worse throughout. Only with none of the former it is told of whole dives, and of which thruster's wiring.
func TestHowFarAContactComesAndGoes(t *testing.T) {
	for name, of := range map[string]struct{ contact, words string }{
		"the loop's": {"intermittent_contact", "the loop's resistance is higher in dives 7, 8, unlike"},
		"the first":  {"contact:port", "the resistance of port's wiring is higher in dives 7, 8, unlike"},
		"another's":  {"contact:starboard", "the resistance of starboard's wiring is higher in dives 7, 8, unlike"},
	} {
		a := learnt(4, 0, nil, nil)
		c := a.index(of.contact)
		h := hypothesis{cause: c, pattern: findings.Intermittent, onset: a.r.Baseline + 1}
		own := func(d int, ohm float64) {
			departures := make([]normal.Normal, len(a.r.Space.All))
			departures[a.r.Space.Place[a.causes[c].Contact]].Mean = ohm
			a.r.Dives[a.r.Baseline+d].Departures = departures
			a.worse[a.r.Baseline+d] = []int{a.causes[c].Contact}
		}
		clear(a.worse)
		own(0, 3) // before its onset
		own(1, 0.2)
		own(2, 0.5)
		said := func() string {
			return a.evidence(&findings.Report{}, nil, &component{hypothesis: h}, false)[0]
		}
		assert.Equal(t, &findings.Estimate{Value: 0.5, Low: 0.2, High: 0.5}, a.contactRange(&h), name)
		assert.Contains(t, said(), of.words, name)
		own(3, 0.1)
		assert.Equal(t, &findings.Estimate{Value: 0.2, Low: 0.1, High: 0.5}, a.contactRange(&h), name)
		h.until = a.n
		assert.Equal(t, 0.2, a.contactRange(&h).Low, "%s, ended before", name)
		h.until = 0
		if of.contact == "intermittent_contact" {
			sum := a.r.Dives[a.n].Summary
			sum.Intermittent, sum.IntermittentOhm = &sum.Firm, 0.7
			assert.Equal(t, &findings.Estimate{Value: 0.5, Low: 0.2, High: 0.7}, a.contactRange(&h), name)
			assert.Contains(t, said(), "readings within one dive disagree", name)
		}
	}
}

// By how much a thruster's circuit is open, or its propeller lost, is the middle of what the dives since its onset have, with an
// interval from the least's to the most's.
func TestHowFarAFailureIs(t *testing.T) {
	a := learnt(5, 0, nil, nil)
	how := a.causes[a.index("open:port")].Fails
	for d, ohm := range []float64{900, 40, 60, 30} {
		s := a.r.Dives[a.r.Baseline+d].Summary
		s.Failed = map[causes.Failure]fit.Failed{how: {Quadratic: &s.Firm, By: []fit.Departure{{X: ohm, SD: ohm / 10}, {X: -1}}}}
	}
	h := hypothesis{cause: a.index("open:port"), pattern: findings.Step, onset: a.r.Baseline + 1}
	of := func(value, low, high float64) findings.Estimate {
		return findings.Estimate{Value: value, Low: low * (1 - z95/10), High: high * (1 + z95/10)}
	}
	assert.Equal(t, of(40, 30, 60), a.failedBy(h))
	h.until = a.n - 1
	assert.Equal(t, of(60, 40, 60), a.failedBy(h), "ended before the least")
	assert.Equal(t, findings.Estimate{}, a.failedBy(hypothesis{cause: a.index("lost:port"), onset: h.onset}), "of another failure")
}
