package drift

import (
	"slices"

	"gonum.org/v1/gonum/lapack/lapack64"
	"gonum.org/v1/gonum/mat"

	"sagline/predict/audit"
	"sagline/predict/findings"
	"sagline/predict/fit"
)

// Analyse reads a fitted log dive by dive, using at each dive only what was known then. It reports
// which alarms each dive raised, which services cleared them, and what is known at the newest dive.
func Analyse(r *fit.Result) *findings.Report {
	a := newAnalysis(r)
	rep := a.empty()
	var now explanation
	alarms := alarmBook{a: a, rep: rep, open: map[string]int{}, raised: map[string]int{}, missing: map[string]int{}, shared: map[string]bool{}}
	for n := range r.Dives {
		services := a.services(n)
		rep.Dives = append(rep.Dives, a.dive(n, services))
		ending := a.ending(n, &now, services)
		another := a.begin(n, &now)
		if n > 0 && len(services) > 0 {
			a.service(n, services, &now)
			alarms.service(n, services)
		}
		if n < r.Baseline {
			continue
		}
		a.end(ending, n)
		a.learn(n)
		a.extendStreaks(n)
		if e, ok := a.explain(&now); ok {
			now = a.allowOverdispersion(e)
			alarms.judge(n, &now)
			if another {
				alarms.otherBattery(n)
			}
		}
		a.fixExplained(&now)
		a.dropEnded(&now)
	}
	a.trends(rep, &now)
	rep.Statics = a.statics(&now)
	a.findings(rep, &now, &alarms)
	var mismatches []string
	mismatches, rep.Differs = a.mismatches()
	rep.Remarks = slices.Concat([]string{}, a.notConverged(), rep.Unsure(), a.repeats(&now), a.mended(&now), rep.NotMended(), rep.CannotBe(), a.alarmsOfOtherBatteries(rep.Alarms), a.otherBuilds(rep.Trends), mismatches, a.remarks(rep.Trends))
	return rep
}

// notConverged returns the remark that the calibration did not converge, if it did not.
func (a *analysis) notConverged() (out []string) {
	if text := a.r.NotConverged(); text != "" {
		out = append(out, text)
	}
	return out
}

// mismatches returns remarks on where the vehicle as dived differs from its file, and a clause that
// sums them up.
func (a *analysis) mismatches() (out []string, differs string) {
	for _, m := range audit.Mismatches(a.r) {
		out = append(out, m.Text)
		switch {
		case m.Path != "":
			differs = "the vehicle is not what vehicle.toml says"
		case differs == "":
			differs = "the dives that it is judged by differ"
		}
	}
	return out, differs
}

// statics returns the posterior of the sound vehicle's static parameters from the baseline and all
// later dives, with the changes found since then as further unknowns.
func (a *analysis) statics(now *explanation) fit.Statics {
	last, n := len(a.r.Dives)-1, len(a.r.Space.Static)
	if last >= a.r.Baseline {
		if s, _, ok := a.solve(now.hypotheses()); ok {
			lapack64.Potri(s.triangle())
			cov := mat.NewSymDense(n, nil)
			for i := range n {
				for j := i; j < n; j++ {
					cov.SetSym(i, j, s.info[i*s.n+j])
				}
			}
			return fit.Statics{Mean: s.lin[:n], Cov: cov}
		}
	}
	return a.r.OfBaseline()
}

// PerDive returns a report of each dive's own estimates. It has no alarms, and its trends hold only
// the quantities' names.
func PerDive(r *fit.Result) *findings.Report {
	a := newAnalysis(r)
	rep := a.empty()
	for n := range r.Dives {
		rep.Dives = append(rep.Dives, a.dive(n, a.services(n)))
	}
	for _, c := range a.tracked {
		rep.Trends = append(rep.Trends, findings.Trend{Quantity: a.causes[c].Quantity, Cause: &a.causes[c]})
	}
	mismatches, _ := a.mismatches()
	rep.Remarks = slices.Concat([]string{}, a.notConverged(), mismatches, a.remarks(nil))
	return rep
}

func (a *analysis) empty() *findings.Report {
	v := a.r.Model.Vehicle
	return &findings.Report{Schema: 1, Vehicle: v.Name, Judged: len(a.r.Dives) > a.r.Baseline, Baseline: v.Baseline.Dives, Units: v.Units, Unsettled: a.r.NotConverged() != "", Rebuilt: a.r.Builds(len(a.r.Dives) - 1),
		Dives: []findings.Dive{}, Alarms: []findings.Alarm{}, Findings: []findings.Finding{}}
}

// dive returns one dive's own estimates in the units of the report.
func (a *analysis) dive(n int, services []string) findings.Dive {
	d := &a.r.Dives[n]
	out := findings.Dive{Dive: d.Log.Label, Date: d.Log.Day(), SetAside: append([]fit.Outlier{}, a.r.Outliers(n)...), Estimates: map[string]findings.Estimate{}, Serviced: services, Rebuilt: a.r.RebuiltAt(n), Looks: a.r.Looks(n)}
	if a.r.Baseline < 2 { // with one baseline dive it would be compared with itself
		return out
	}
	for _, c := range a.tracked {
		x := a.r.Departure(n, a.causes[c].Param())
		out.Estimates[a.causes[c].Quantity] = a.displayAbsolute(c, x.Value, x.Low, x.High)
	}
	return out
}
