package drift

import (
	"math"
	"slices"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/normal"
)

// analysis holds the dives of a log up to the newest one taken in, with sound scatter integrated
// out.
type analysis struct {
	r      *fit.Result
	causes []causes.Cause
	n      int     // newest dive taken in
	worse  [][]int // of each dive taken in: parameters of contacts whose resistance stands out in it (standOut)

	found          []evidenceOf      // of each cause, from the last scan
	lastCrossTerms []blockCrossTerms // cross terms of the baseline's dives and of view, from the last scan
	reached        []int             // places that causes change by amplitudes

	tracked []int              // causes whose quantities have trends
	streaks map[string]*streak // of readings set aside, by column, and by column and thrusters

	scatter    *fit.Scatter
	variance   []float64          // between sound dives, per scattering parameter, as known now
	rests      map[string]float64 // V, by battery: typical rest voltage at the start of a dive, when dives were last read
	levels     []level            // of each place of the space
	forgot     []int              // of each place: the dive before which levels are forgotten for good
	epoch      []int              // of each cause: the first dive of its present trend
	renewed    []bool             // of each cause: whether its trend begins at a level of its own
	mayPersist []hypothesis       // causes that services should have ended, as they were before

	mayHaveEnded []hypothesis // what the last services would have ended if it acted in place of what was likelier

	battery string                 // label of the battery in use
	eras    map[int][]findings.Era // of each cause: eras that have ended

	folded []block            // dives older than those held
	held   []block            // of one dive each, the newest last
	view   []block            // folded and held, as information on today's levels
	before []block            // the same of the baseline's dives
	sum    *state             // of the static parameters: prior, baseline and view
	fixed  map[int]hypothesis // causes that act in single dives, settled for good
	other  map[regime]*block
	onsets []int // onsets and ends in the current explanation

	byTurnsNow []int // scattering parameters that causes by turns change

	unseen *component // what may have changed besides the last explanation

	restored float64 // probability that the levels that services usually restore are
	reviewed bool    // whether view was recomputed since the last explanation from the start
}

func newAnalysis(r *fit.Result) *analysis {
	a := &analysis{r: r, causes: r.Space.Causes, n: r.Baseline - 1, other: map[regime]*block{}, fixed: map[int]hypothesis{}, eras: map[int][]findings.Era{}, streaks: map[string]*streak{}, found: make([]evidenceOf, len(r.Space.Causes))}
	a.tracked = tracked(r, a.causes)
	a.levels, a.forgot, a.epoch = make([]level, len(r.Space.All)), make([]int, len(r.Space.All)), make([]int, len(a.causes))
	for i := range a.levels {
		a.levels[i] = level{since: r.Baseline, linked: math.MaxInt}
	}
	a.renewed = make([]bool, len(a.causes))
	for i := range a.epoch {
		a.epoch[i] = r.Baseline
	}
	a.scatter = r.LearnScatter()
	a.variance = a.scatter.Upto(r.Baseline)
	a.rests = r.TypicalRests(r.Baseline, a.variance)
	if len(r.Dives) > 0 {
		a.battery = r.Dives[0].Battery
	}
	for c := range a.causes {
		for _, t := range a.causes[c].Reach() {
			if at := r.Space.Place[t.Param]; !slices.Contains(a.reached, at) {
				a.reached = append(a.reached, at)
			}
		}
	}
	a.readBaseline()
	return a
}

// lag is how many of the newest dives are excluded when scatter is learnt, so that the first dives
// of a fault do not count as scatter.
const lag = 5

// relearnt is the ratio of new to old variance from which the dives held are read again.
const relearnt = 1.1

// learn takes in dive n and the scatter that dives up to n−lag show. It reads the dives held again
// if the scatter or a battery's typical rest voltage has changed enough to matter.
func (a *analysis) learn(n int) {
	now := a.scatter.Upto(max(n+1-lag, a.r.Baseline))
	again := false
	for _, k := range a.byTurnsNow { // what comes and goes is no scatter
		now[k] = a.variance[k]
	}
	for k, v := range now {
		r := v / a.variance[k]
		again = again || r > relearnt || r < 1/relearnt
	}
	a.n = n
	rests := a.r.TypicalRests(n+1, now)
	if again || a.moved(rests) {
		a.variance, a.rests = now, rests
		for i := range a.held {
			a.held[i] = a.read(a.held[i].first, a.held[i])
		}
		a.review()
	}
	newest := a.read(n, block{})
	for d := len(a.worse); d <= n; d++ {
		b := newest
		if d < n {
			b = a.read(d, block{})
		}
		a.worse = append(a.worse, a.standOut(d, &b))
	}
	a.held = append(a.held, newest)
	a.view = append(a.view, a.freed(&a.held[len(a.held)-1]))
	a.sum.addBlock(a.r.Space.Static, &a.view[len(a.view)-1], 1)
}

// moved reports whether any battery's typical rest voltage has changed by more than half its
// standard deviation between dives, or a battery is new.
func (a *analysis) moved(rests map[string]float64) bool {
	i := a.r.ScatterAt(a.r.Space.Place[predict.OpenCircuitV])
	if i < 0 {
		return false
	}
	for battery, x := range rests {
		if before, known := a.rests[battery]; !known || sq(x-before) > a.variance[i]/4 {
			return true
		}
	}
	return false
}

// scatters returns what is known of the scatter of sound dives.
func (a *analysis) scatters() fit.Sound {
	return fit.Sound{Variance: a.variance, Battery: a.battery, Rests: a.rests}
}

// foremost is the least ratio of z² of a contact's resistance in a dive to the largest z² of any
// single cause from which that contact stands out: common practice, no source.
const foremost = 0.25

// standOut returns the contacts whose resistance is higher in dive d than scatter explains. b is
// dive d's likelihood. A contact counts if its resistance, as the only change, stands out and no
// other single cause explains far more, or if it stands out with all causes free.
func (a *analysis) standOut(d int, b *block) (out []int) {
	most, higher := 0.0, map[int]float64{}
	sound := make([]float64, len(b.lin[0]))
	for c := range a.causes {
		row := &a.causes[c]
		if len(row.Amplitudes) == 0 {
			continue
		}
		slope, info := a.pull(b, sound, &a.ofCause(hypothesis{cause: c, pattern: findings.Step})[0])
		if !(info > 0) {
			continue
		}
		z := slope / math.Sqrt(info)
		most = max(most, math.Abs(z))
		if row.Worse > 0 {
			higher[row.Param()] = z
		}
	}
	for c := range a.causes {
		contact, least := a.causes[c].Contact, outstanding
		if contact == 0 {
			continue
		}
		if contact != predict.LoopOhm {
			least = plainlyWorse
		}
		z := higher[contact]
		if z > least && sq(z) > foremost*sq(most) || a.standsOutAlone(d, contact, least) {
			out = append(out, contact)
		}
	}
	return out
}

// standsOutAlone reports whether dive d's own estimate of a contact's resistance, with all else
// free, is more than least standard deviations above 0.
func (a *analysis) standsOutAlone(d, contact int, least float64) bool {
	x := a.r.Departure(d, contact)
	return x.Value > least*x.SD
}

// read returns dive d's likelihood with scatter integrated out, in the storage of to.
func (a *analysis) read(d int, to block) block {
	h, fixed := a.fixed[d]
	if fixed && len(a.causes[h.cause].Amplitudes) == 0 {
		return a.readUnder(d, h.cause, true, to)
	}
	q := &a.r.Dives[d].Summary.Firm
	b := ofDive(d, a.r.Dives[d].Battery, q.Integrate(a.r.Space.Scatter, a.r.VarianceIn(d, a.scatters()), normal.Likelihood{Info: to.info[0], Lin: to.lin[0]}))
	if fixed {
		for _, t := range a.causes[h.cause].Reach() {
			b.free(a.r.Space.Place[t.Param], t.Per)
		}
	}
	return b
}

// review recomputes what all dives say of today's levels.
func (a *analysis) review() {
	clear(a.other)
	a.reviewed = true
	a.readBaseline()
	a.view = a.view[:0]
	for _, blocks := range [][]block{a.folded, a.held} {
		for i := range blocks {
			b := a.freed(&blocks[i])
			a.view = append(a.view, b)
			a.sum.addBlock(a.r.Space.Static, &b, 1)
		}
	}
}

// readBaseline recomputes a.sum and a.before: the file's prior of the static parameters plus what
// the baseline's dives say of them and of today's levels. It uses the scatter known now, because a
// calibration that assumes too little scatter appears more precise than it is.
func (a *analysis) readBaseline() {
	sp := a.r.Space
	mean := slices.Clone(sp.Prior.Mean)
	for i, at := range sp.Static {
		mean[i] -= a.r.Base[sp.All[at]]
	}
	a.sum, a.before = newState(sp.Prior.Precision, mean), a.before[:0]
	for d := range min(a.r.Baseline, len(a.r.Dives)) {
		b := a.read(d, block{})
		a.sum.addBlock(sp.Static, &b, 1)
		a.before = append(a.before, a.freed(&b))
	}
}
