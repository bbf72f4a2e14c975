package drift

import "sagline/predict/findings"

// ending are the trends that services or a rebuild may end at dive n, as they
// were the dive before, by cause.
func (a *analysis) ending(n int, now *explanation, services []string) map[int]findings.Trend {
	out := map[int]findings.Trend{}
	if d := &a.r.Dives[n]; n <= a.r.Baseline || len(services) == 0 && d.Era == a.r.Dives[n-1].Era && d.Battery == a.battery {
		return out
	}
	for _, c := range a.tracked {
		out[c] = a.trend(c, now, n-1)
	}
	return out
}

// end keeps those of some trends that dive n begins anew.
func (a *analysis) end(trends map[int]findings.Trend, n int) {
	for c, t := range trends {
		if a.epoch[c] == n && len(t.Levels) == n {
			a.eras[c] = append(a.eras[c], findings.Era{From: t.From, To: n, Pattern: t.Pattern, PerDive: t.PerDive, Levels: t.Levels[t.From:]})
		}
	}
}

// ended are the eras of a cause before the trend from dive from on: not those of
// another battery than the one that came back.
func (a *analysis) ended(c, from int) []findings.Era {
	var out []findings.Era
	for _, e := range a.eras[c] {
		if e.To <= from {
			out = append(out, e)
		}
	}
	return out
}

// begun is the probability that a change began at each dive up to last. Where
// onsets were weighed only now and then, each stands for those up to the next.
func (e *explained) begun(last int) []float64 {
	out := make([]float64, last+1)
	by := map[int]float64{}
	for _, o := range e.onsets {
		by[o.h.onset] += o.log
	}
	for d, p := range by {
		to := d + 1
		for to <= last && by[to] == 0 && spacing(last-to+1) > 1 {
			to++
		}
		for k := d; k < to; k++ {
			out[k] += p / float64(to-d)
		}
	}
	return out
}
