package drift

import "math"

// hazard is the prior probability that one fault begins at one dive.
const hazard = 0.002

// certain is the log of the odds at which an alarm is raised: by simulation
// of sound logs, under one false alarm in fifty logs of 28 dives. Odds of 8
// would bring alarms a tenth of a dive sooner for two to three times as many
// false ones.
var certain = math.Log(20)

// A state is what is believed after one dive: the faults present, each with
// its best pattern and the log odds that it is there.
type state struct {
	active []hypothesis
	odds   []float64
}

// believe explains the dives up to n by as few faults as the evidence asks
// for, adding the most telling one at a time.
func (a *analysis) believe(n int) state {
	var st state
	for len(st.active) < mostFaults {
		base := a.solve(st.active, n)
		scanner := a.scanner(st, base, n)
		found := scanner.scan(st)
		top, all := -1, base.log
		for f := range found {
			if found[f].sum > 0 && (top < 0 || found[f].total() > found[top].total()) {
				top = f
			}
		}
		if top < 0 {
			break
		}
		scanner.refine(&found[top])
		for f := range found {
			if f != top && found[f].sum > 0 {
				all = logAdd(all, found[f].total())
			}
		}
		odds := found[top].total() - all
		if odds < 0 {
			break
		}
		st.active, st.odds = append(st.active, found[top].best), append(st.odds, odds)
	}
	return st
}

// mostFaults bounds how many faults are believed in at once.
const mostFaults = 3

func (s *state) has(f int) bool {
	for _, h := range s.active {
		if h.fault == f {
			return true
		}
	}
	return false
}

func logAdd(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	if math.IsInf(b, -1) {
		return a
	}
	return a + math.Log1p(math.Exp(b-a))
}
