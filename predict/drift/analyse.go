package drift

import (
	"slices"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/audit"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/normal"
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
		if n > r.Baseline && a.setsAnew(n, services) {
			rep.Levels = a.addLevels(rep.Levels, &now)
		}
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
	rep.Levels = a.addLevels(rep.Levels, &now)
	a.trends(rep, &now)
	rep.Statics = a.statics(&now)
	rep.SetJoint(a.joint(&now))
	a.findings(rep, &now, &alarms)
	var mismatches []string
	mismatches, rep.Differs = a.mismatches()
	rep.Remarks = slices.Concat([]string{}, a.notConverged(), rep.Unsure(), a.repeats(&now), a.oddDive(&now), a.farReadings(&now), a.mended(&now), rep.NotMended(), rep.BesideFindings(rep.NotMended()), rep.CannotBe(), a.lowBattery(&now), a.unreadWarming(rep.Statics), a.alarmsOfOtherBatteries(rep.Alarms), a.otherBuilds(rep.Trends), a.otherMotors(&rep.Joint), mismatches, a.remarks(rep.Trends))
	return rep
}

// Levels returns those that services, rebuilds and other batteries have left the sound vehicle at,
// oldest first.
func Levels(r *fit.Result) []fit.Since {
	a := &analysis{r: r}
	for n := r.Baseline + 1; n < len(r.Dives); n++ {
		if a.setsAnew(n, a.services(n)) {
			return Analyse(r).Levels
		}
	}
	return nil
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

// ofHover are the parameters of the hover weight. What a dive says of them is known of their sum.
var ofHover = []int{predict.TrimG, predict.TrimPerM, predict.LogDisplaced, predict.HullPerK, predict.BallastLift}

// readLater is to which share later dives must lower the variance that the baseline left to a
// parameter of a thruster to count instead of the baseline: half the standard deviation. Common
// practice, no source.
const readLater = 0.25

// readLate reports whether later dives tell far more of any thruster than the baseline does, whose
// dives may never have run it, or only with others. Of a log on several batteries it is false: what
// is predicted may be on another than the newest dive's.
func (a *analysis) readLate(now *explanation) bool {
	if slices.ContainsFunc(a.r.Dives, func(d fit.DiveFit) bool { return d.Battery != a.battery }) {
		return false
	}
	all := a.statics(now).Cov
	for j, at := range a.r.Space.Static {
		if a.r.Space.All[at] >= predict.FirstThruster && all.At(j, j) < readLater*a.r.Cov.At(j, j) {
			return true
		}
	}
	return false
}

// joint returns what all dives say together of the parameters of the hover weight, of those whose
// levels services, rebuilds or another battery have set anew and, if the baseline hardly tells some
// thruster, of all that dives share. What instruments have wrong and what
// was not written down is left out.
func (a *analysis) joint(now *explanation) (out fit.Joint) {
	last := len(a.r.Dives) - 1
	if last < a.r.Baseline {
		return out
	}
	places := make([]int, 0, len(ofHover))
	for _, k := range ofHover {
		places = append(places, a.r.Space.Place[k])
	}
	for at, l := range a.levels {
		if l.sd > 0 && !slices.Contains(places, at) {
			places = append(places, at)
		}
	}
	if a.readLate(now) {
		for _, at := range a.r.Space.Static {
			if !slices.Contains(places, at) {
				places = append(places, at)
			}
		}
	}
	places = slices.DeleteFunc(places, func(at int) bool { return at < 0 })
	for _, at := range places {
		out.Params = append(out.Params, a.r.Space.All[at])
	}
	hs := now.hypotheses()
	out.Sound, out.SoundCov = a.moments(places, hs, func(c *column) bool { return c.setAnew() })
	if c := slices.IndexFunc(a.causes, func(c causes.Cause) bool { return c.Param() == predict.TrimG }); a.active(c, now) == nil && !a.renewed[c] {
		hs = append(hs, hypothesis{cause: c, pattern: findings.Step, onset: a.r.Baseline}) // as in level
	}
	out.Now, out.Cov = a.moments(places, hs, func(c *column) bool {
		return c.setAnew() || c.of >= 0 && !c.offLevel && a.causes[hs[c.of].cause].Kind == causes.Vehicle
	})
	if out.Sound == nil || out.Now == nil {
		return fit.Joint{}
	}
	return out
}

// setsAnew reports whether services, a rebuild or another battery may set levels anew at dive n.
func (a *analysis) setsAnew(n int, services []string) bool {
	d, before := &a.r.Dives[n], &a.r.Dives[n-1]
	return len(services) > 0 || d.Era != before.Era || d.Battery != before.Battery
}

// addLevels adds the sound levels that services, rebuilds or another battery have left by the newest
// dive taken in, if any.
func (a *analysis) addLevels(all []fit.Since, now *explanation) []fit.Since {
	of := fit.Since{From: a.r.Baseline}
	var places []int
	for at, l := range a.levels {
		if l.sd > 0 {
			places, of.Params = append(places, at), append(of.Params, a.r.Space.All[at])
			of.From = max(of.From, l.since)
		}
	}
	if len(places) == 0 || a.n < a.r.Baseline {
		return all
	}
	if of.Sound, of.SoundCov = a.moments(places, now.hypotheses(), func(c *column) bool { return c.setAnew() }); of.Sound == nil {
		return all
	}
	return append(all, of)
}

// moments returns the mean and covariance of some places at the newest dive under hypotheses, which
// may bend; of their columns those that counts accepts. They are nil if there is no solution.
func (a *analysis) moments(places []int, hs []hypothesis, counts func(*column) bool) (mean []float64, cov *mat.SymDense) {
	static, n := len(a.r.Space.Static), len(places)
	all, _ := a.bending(hs, a.n, anyColumn)
	if len(all) == 0 {
		return nil, nil
	}
	mean, cov = make([]float64, n), mat.NewSymDense(n, nil)
	for _, b := range all {
		x, rows := mat.NewVecDense(n, nil), normal.Rows(n, b.n)
		for i, at := range places {
			if j := a.r.Space.InStatic[at]; j >= 0 {
				rows[i][j] = 1
			}
			for c := range b.cols {
				for _, t := range b.cols[c].terms {
					if t.at == at && counts(&b.cols[c]) {
						rows[i][static+c] += t.per * b.cols[c].profile(a.n)
					}
				}
			}
			x.SetVec(i, blas64.Dot(vector(rows[i]), vector(b.lin)))
			mean[i] += b.weight * x.AtVec(i)
			b.whiten(row(rows[i]))
			for j := range i + 1 {
				cov.SetSym(i, j, cov.At(i, j)+b.weight*blas64.Dot(vector(rows[i]), vector(rows[j])))
			}
		}
		cov.SymRankOne(cov, b.weight, x)
	}
	cov.SymRankOne(cov, -1, mat.NewVecDense(n, mean))
	return mean, cov
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
