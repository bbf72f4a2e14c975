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

// analysis is a log's dives up to the newest taken, with sound scatter
// integrated out.
type analysis struct {
	r      *fit.Result
	causes []causes.Cause
	n      int     // newest dive taken
	worse  [][]int // of each dive taken: the contacts whose resistance it has higher than scatter by itself, by parameter

	found    []evidenceOf      // by the last scan, of each cause
	bordered []blockCrossTerms // by the last scan, of the baseline's dives and the view
	reached  []int             // places that causes change by amplitudes

	tracked []int              // causes whose quantities have trends
	streaks map[string]*streak // of readings that were set aside, by column, and by column and thrusters

	scatter    *fit.Scatter
	variance   []float64              // from sound dive to sound dive, per scattering parameter, as known now
	rests      map[string]float64     // V, that each battery begins dives with as a rule, as known when dives were last read
	levels     []level                // of each place of the space
	forgot     []int                  // of each place: the dive before which levels are forgotten for good
	epoch      []int                  // of each cause: the first dive of its present trend
	renewed    []bool                 // of each cause: its trend begins at a level of its own
	mayPersist []hypothesis           // what services were to end, as it was before them
	battery    string                 // label of the one in use
	eras       map[int][]findings.Era // of each cause, that have ended

	folded []block            // of dives before held
	held   []block            // of one dive each, the newest last
	view   []block            // of both, what they say of today's levels
	before []block            // the same of the baseline's dives, which the calibration holds
	sum    *state             // of the static parameters: prior and view
	fixed  map[int]hypothesis // dives that are explained by themselves, for good
	other  map[regime]*block
	onsets []int // of what explains the dives so far

	byTurnsNow []int // scattering parameters that change by turns

	reviewed bool // what dives say was worked out anew since they were explained from the start
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

// lag keeps the newest dives out of what is learnt of scatter, so that a fault
// in its first dives does not pass for it.
const lag = 5

// relearnt is the ratio of variances from which what earlier dives say is worked
// out anew.
const relearnt = 1.1

// learn takes dive n in, and the scatter that earlier dives show. What the dives
// held say is worked out anew when that changed enough to matter.
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

// moved says whether any battery begins dives with another voltage as a rule than it did, by half of what they scatter.
func (a *analysis) moved(rests map[string]float64) bool {
	i := a.r.ScatterAt(a.r.Space.Place[predict.OpenCircuitV])
	if i < 0 {
		return false
	}
	for battery, x := range rests {
		if was, known := a.rests[battery]; !known || sq(x-was) > a.variance[i]/4 {
			return true
		}
	}
	return false
}

// scatters is what sound dives are known to have in common.
func (a *analysis) scatters() fit.Sound {
	return fit.Sound{Variance: a.variance, Battery: a.battery, Rests: a.rests}
}

// foremost is the share of what the likeliest single change explains of a dive from which the loop's resistance may be what is
// higher in it: common practice, no source.
const foremost = 0.25

// standOut are the contacts whose resistance dive d, which says b, has higher than scatter by itself, among all that may act in
// one dive or with nothing else changed, where nothing else explains far more.
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

// standsOutAlone says whether a dive has a contact's resistance so many standard deviations higher with all else free.
func (a *analysis) standsOutAlone(d, contact int, least float64) bool {
	x := a.r.Departure(d, contact)
	return x.Value > least*x.SD
}

// read is what dive d says, scatter integrated out, in the storage of to.
func (a *analysis) read(d int, to block) block {
	h, settled := a.fixed[d]
	if settled && len(a.causes[h.cause].Amplitudes) == 0 {
		return a.readUnder(d, h.cause, true, to)
	}
	q := &a.r.Dives[d].Summary.Firm
	b := ofDive(d, a.r.Dives[d].Battery, q.Integrate(a.r.Space.Scatter, a.r.VarianceIn(d, a.scatters()), normal.Likelihood{Info: to.info[0], Lin: to.lin[0]}))
	if settled {
		for _, t := range a.causes[h.cause].Reach() {
			b.free(a.r.Space.Place[t.Param], t.Per)
		}
	}
	return b
}

// review works out anew what all dives say of today's levels.
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

// readBaseline works out what the baseline's dives say of today's levels, and with the file of the static parameters. Their scatter is
// what is known now: a calibration that takes dives to differ less than they do passes for surer than it is.
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
