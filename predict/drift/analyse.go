package drift

import (
	"math"
	"runtime"
	"slices"

	"sagline/predict"
	"sagline/predict/audit"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/parallel"
	"sagline/session/quantity"
)

// Analyse reads a fitted log dive by dive, using at each dive only what was known then. It reports
// which alarms each dive raised, which services cleared them, and what is known at the newest dive.
func Analyse(r *fit.Result) *findings.Report {
	a := newAnalysis(r)
	rep := a.empty()
	var now explanation
	alarms := newAlarmBook(a, rep)
	for n := range r.Dives {
		a.next(n, &now, alarms)
	}
	rep.Levels = a.addLevels(rep.Levels, &now)
	a.estimates(rep, &now)
	a.trends(rep, &now)
	rep.Statics = a.statics(&now)
	rep.SetPosterior(a.posterior(&now))
	a.findings(rep, &now, alarms)
	var mismatches []string
	mismatches, rep.Differs = a.mismatches()
	rep.OtherBatteries = a.alarmsOfOtherBatteries(rep.Alarms)
	rep.Remarks = slices.Concat([]string{}, a.notConverged(), rep.Unsure(), a.repeats(&now), a.oddDive(&now), a.farReadings(&now), a.mended(&now), rep.NotMended(), rep.BesideFindings(rep.NotMended()), rep.CannotBe(), a.lowBattery(&now), a.unreadWarming(rep.Statics), rep.OfBatteries(""), a.otherBuilds(rep.Trends), a.otherMotors(&now, &rep.Posterior), mismatches, a.remarks(rep.Trends))
	return rep
}

// Alarms returns the alarms that Analyse reports up to the first dive by which they are enough.
func Alarms(r *fit.Result, enough func([]findings.Alarm) bool) []findings.Alarm {
	a := newAnalysis(r)
	rep := a.empty()
	var now explanation
	alarms := newAlarmBook(a, rep)
	for n := range r.Dives {
		if a.next(n, &now, alarms); enough(rep.Alarms) {
			break
		}
	}
	return rep.Alarms
}

// next takes in dive n: what services and rebuilds end, what explains the dives up to it, and which
// alarms that raises.
func (a *analysis) next(n int, now *explanation, alarms *alarmBook) {
	rep, services := alarms.rep, a.services(n)
	rep.Dives = append(rep.Dives, a.dive(n, services))
	if n > a.r.Baseline && a.setsAnew(n, services) {
		rep.Levels = a.addLevels(rep.Levels, now)
	}
	ending := a.ending(n, now, services)
	another := a.begin(n, now)
	if n > 0 && len(services) > 0 {
		a.service(n, services, now)
		alarms.service(n, services)
	}
	if n < a.r.Baseline {
		return
	}
	a.end(ending, n)
	a.learn(n)
	a.extendStreaks(n)
	if e, ok := a.explain(now); ok {
		*now = a.allowOverdispersion(e)
		alarms.judge(n, now)
		if another {
			alarms.otherBattery(n)
		}
	}
	a.fixExplained(now)
	a.dropEnded(now)
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

// Remarks returns the remarks that hold for each dive: on the calibration, and on what one dive's
// readings leave open.
func Remarks(r *fit.Result) []string {
	a := newAnalysis(r)
	mismatches, _ := a.mismatches()
	return slices.Concat(a.notConverged(), mismatches, a.remarks(nil))
}

func (a *analysis) empty() *findings.Report {
	v := a.r.Model.Vehicle
	return &findings.Report{Schema: 1, Vehicle: v.Name, Judged: len(a.r.Dives) > a.r.Baseline, Baseline: v.Baseline.Dives, Units: v.Units, Unsettled: a.r.NotConverged() != "", Rebuilt: a.r.Builds(len(a.r.Dives) - 1),
		Dives: []findings.Dive{}, Alarms: []findings.Alarm{}, Findings: []findings.Finding{}}
}

// dive returns the report of one dive, without its estimates.
func (a *analysis) dive(n int, services []string) findings.Dive {
	d := &a.r.Dives[n]
	out := findings.Dive{Dive: d.Log.Label, Date: d.Log.Day(), SetAside: append([]fit.Outlier{}, a.r.Outliers(n)...), Estimates: map[string]findings.Estimate{}, Serviced: services, Rebuilt: a.r.RebuiltAt(n), Looks: a.r.Looks(n)}
	return out
}

// estimates fills in what each dive's own readings say, by the levels that the sound vehicle has had
// since later dives and by how likely it is that what is found acts in it. Without the latter a joint that
// the dives together were sure of was 0.005 ± 0.02 Ω in every dive that left it open by 0.2 Ω.
func (a *analysis) estimates(rep *findings.Report, now *explanation) {
	if a.r.Baseline < 2 { // with one baseline dive it would be compared with itself
		return
	}
	_ = parallel.Each(make([]struct{}, runtime.GOMAXPROCS(0)), len(rep.Dives), func(n int, _ struct{}) error {
		d, since := &rep.Dives[n], &fit.Since{}
		if i := fit.LevelsAt(rep.Levels, n); i >= 0 {
			since = &rep.Levels[i]
		}
		departure := a.r.Departures(n, since, a.acting(now, n))
		d.Sound = map[string]findings.Estimate{}
		for _, c := range a.tracked {
			row := &a.causes[c]
			if row.Param() == predict.LogInsulation && !a.reads(n, quantity.Insulation) { // no other reading tells it
				continue
			}
			x, sound := departure(row.Param()), a.r.SoundIn(n, row.Param(), since)
			d.Estimates[row.Quantity] = a.displayAbsolute(c, x.Value, x.Low, x.High)
			d.Sound[row.Quantity] = a.displayAbsolute(c, sound.Value, sound.Low, sound.High)
		}
		return nil
	})
}

// surelyActs bounds the probability that a cause acts in a dive: one dive's readings may say otherwise.
// Common practice, no source.
const surelyActs = 0.9

// acting returns the log odds that causes act in dive n, by all dives: as they are found to, or begin
// there, or act there once. Of dives before a cause's service, rebuild or other battery it says nothing.
func (a *analysis) acting(now *explanation, n int) map[int]float64 {
	out := map[int]float64{}
	for c := range a.causes {
		if n < a.epoch[c] {
			continue
		}
		p := a.causes[c].Begins() + a.causes[c].Once
		for i := range now.components {
			if e := &now.components[i]; (e.hypothesis.stays() || n < e.until) && e.pattern != findings.Turns {
				p += e.stays[c] * e.begunBy(n)
			}
		}
		p = min(p, surelyActs)
		out[c] = math.Log(p / (1 - p))
	}
	return out
}

// begunBy returns the probability that a change that began did so by dive n.
func (e *component) begunBy(n int) (p float64) {
	for _, o := range e.onsets {
		if o.h.onset <= n {
			p += o.p
		}
	}
	return p
}
