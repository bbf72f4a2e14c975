// Package drift says what changes over many dives, since when, how fast and
// how sure that is. It believes that a fault begins at one dive and then
// steps, ramps or comes and goes; that sound dives scatter; and that an alarm
// may use only what was known at its dive. Every hypothesis is linear in a few
// amplitudes, so its evidence, with the calibration's uncertainty shared by
// all dives, is exact for the summaries that package fit makes.
package drift

import (
	"slices"

	"gonum.org/v1/gonum/mat"

	"sagline/predict/fit"
)

// analysis is a log's summaries with sound scatter integrated out.
type analysis struct {
	r      *fit.Result
	faults []fault
	place  []int         // of each fault's parameter among the shared ones
	prec   *mat.SymDense // of what sound dives scatter about, after the baseline
	start  []float64     // prec times its mean
	firm   history       // the dives, scatter integrated out
	loose  history       // the same when the contact comes and goes from line to line

	without  *fit.Integrator
	scatter  *fit.Scatter
	variance []float64 // from sound dive to sound dive, per drift, as known now
	epoch    []int     // per fault: the first dive of its present trend
}

func newAnalysis(r *fit.Result) *analysis {
	a := &analysis{r: r, faults: faults(r.Model.Vehicle)}
	a.prec = fit.Invert(r.UsualCov)
	var start mat.VecDense
	start.MulVec(a.prec, mat.NewVecDense(len(r.Usual), r.Usual))
	a.start = start.RawVector().Data
	a.place = make([]int, len(a.faults))
	a.epoch = make([]int, len(a.faults))
	for i, f := range a.faults {
		a.place[i] = -1
		a.epoch[i] = r.Baseline
		for j, k := range r.Shared {
			if k == f.param {
				a.place[i] = j
			}
		}
	}
	a.firm.from, a.loose.from = r.Baseline, r.Baseline
	a.without, a.scatter = r.Integrator(), r.LearnScatter()
	a.variance = a.scatter.Upto(r.Baseline)
	return a
}

// lag keeps the newest dives out of what is learnt of scatter, so that a fault
// in its first dives does not pass for it.
const lag = 5

// learn takes dive n in, and the scatter that earlier dives show. What they
// say is worked out anew when that changed enough to matter.
func (a *analysis) learn(n int) {
	first := n
	now := a.scatter.Upto(max(n+1-lag, a.r.Baseline))
	for k, v := range now {
		if r := v / a.variance[k]; r > 1.1 || r < 1/1.1 {
			first = a.r.Baseline
		}
	}
	if first < n {
		a.variance = now
	}
	for d := first; d <= n; d++ {
		a.scattered(d)
	}
	a.settle()
}

func (a *analysis) settle() {
	a.firm.settle()
	a.loose.settle()
}

// scattered integrates a dive's sound scatter out of its summary; a quantity
// that was serviced later than this dive may have any level here.
func (a *analysis) scattered(d int) {
	variance := slices.Clone(a.variance)
	for f, fl := range a.faults {
		if d < a.epoch[f] && fl.param >= 0 {
			for i, k := range a.r.Drift {
				if k == fl.param {
					variance[i] = 1e6 * variance[i]
				}
			}
		}
	}
	s := a.r.Dives[d].Summary
	firm, loose := a.firm.change(d, len(s.Lin)), a.loose.change(d, len(s.Lin))
	a.without.Out(&s.Quadratic, variance, firm.info[0], firm.lin[0])
	a.without.Out(&s.Loose, variance, loose.info[0], loose.lin[0])
	for i, x := range s.Within {
		firm.within[i] = max(x, withinFloor)
	}
}

// service starts the trends anew that the services before dive d touch.
func (a *analysis) service(d int, parts []string) {
	first := d // what earlier dives say has been let go of already
	for f := range a.faults {
		if a.clears(f, parts) {
			first = min(first, a.epoch[f])
			a.epoch[f] = d
		}
	}
	for k := first; k < d; k++ {
		a.scattered(k)
	}
}

func (a *analysis) clears(f int, parts []string) bool {
	for _, p := range parts {
		for _, c := range a.faults[f].cleared {
			if p == c {
				return true
			}
		}
	}
	return false
}
