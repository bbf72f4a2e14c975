package outlook

import (
	"maps"
	"slices"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/audit"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/forecast"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// Margins judges a vehicle as built and, if it has a log, as the log says that it is now: on the
// battery with a label, or for "" on each that the next dive may be on. openV is its battery's
// voltage at rest; 0 stands for what a battery usually comes to a dive with.
func Margins(v *vehicle.Vehicle, r *fit.Result, rep *findings.Report, log *session.Log, c predict.Condition, openV float64, battery string) advice.Margins {
	return ToldBy(r, rep, log, battery).Asked(v, c, openV).Judge()
}

// A Told is what a logbook tells of the margins of any vehicle that its own is rebuilt into.
type Told struct {
	r         *fit.Result
	rep       *findings.Report
	log       *session.Log
	excessOhm float64 // of the loop over the file's, from the start
	on        []onBattery
}

// An onBattery is the vehicle as it is now on a battery that the next dive may be on.
type onBattery struct {
	label string
	p     predict.Params
	doubt float64 // one standard deviation of the battery's resistance, Ω
}

// ToldBy returns what a log tells of margins on the battery with a label, or for "" on each that the
// next dive may be on; r is nil or empty for a log without dives.
func ToldBy(r *fit.Result, rep *findings.Report, log *session.Log, battery string) Told {
	b := Told{r: r, rep: rep, log: log}
	if r == nil || len(r.Dives) == 0 {
		return b
	}
	b.excessOhm, _ = audit.LoopExcess(r)
	labels := inUse(r)
	if battery != "" {
		labels = []string{battery}
	}
	for _, label := range labels {
		p, doubt := On(r, rep, label)
		b.on = append(b.on, onBattery{label, p, doubt})
	}
	return b
}

// Asked returns what Margins judges.
func (b Told) Asked(v *vehicle.Vehicle, c predict.Condition, openV float64) advice.Question {
	r, rep, log := b.r, b.rep, b.log
	q := advice.Ask(v, c, max(c.DepthM, log.DeepestM()))
	q.SaltPSU = log.SaltiestPSU()
	if openV > 0 {
		q.Rest = advice.Range{Low: openV, Value: openV, High: openV}
	}
	if r != nil && len(r.Dives) > 0 {
		doubts := ToCome(r, rep)
		q.ExcessOhm = b.excessOhm
		times := advice.InSeries(r.Model.Vehicle, v)
		for _, on := range b.on {
			p := slices.Clone(on.p)
			p[predict.BatteryOhm] *= times
			as := []predict.Params{p}
			if len(rep.Reported()) > 0 { // what is found takes current off, and may be mended before the next dive
				mended := Sound(r, rep)
				mended[predict.BatteryOhm] = p[predict.BatteryOhm]
				as = append(as, mended)
			}
			for _, p := range as {
				q.Logged(advice.ByLog(q.Cases[0].Model, &c, p, doubts[predict.LoopOhm], times*on.doubt, r.OfThrusters()...))
			}
			if x := BegunAt(r, on.label, &v.Battery); openV == 0 && x > 0 && (q.BegunV == 0 || x < q.BegunV) {
				q.BegunV = x
			}
		}
		if rep.Judged || len(r.Dives) >= fewestBegun {
			q.LearnBattery()
		}
	}
	q.Megohm = leak(rep, log)
	return q
}

// leak returns the least that is known of the insulation: its newest reading, or the low end of
// what all of them say; nil if it was never read.
func leak(rep *findings.Report, log *session.Log) *float64 {
	x, ok := log.Newest(quantity.Insulation)
	if !ok {
		return nil
	}
	if rep == nil || !rep.Judged {
		return &x
	}
	for _, t := range rep.Trends {
		if t.Cause.Param() == predict.LogInsulation {
			x = min(x, t.Level.Low)
		}
	}
	return &x
}

// ToCome returns Doubts with the uncertainty of what was rebuilt and no dive has seen yet.
func ToCome(r *fit.Result, rep *findings.Report) map[int]float64 {
	doubts := rep.Doubts()
	maps.Copy(doubts, r.ToCome())
	return doubts
}

// Ranges returns the 95 % ranges of what solve computes, over what a forecast does not know of its
// vehicle, with some parameters fixed; values are its results at the mean.
func Ranges(f *forecast.Forecast, values []float64, fixed map[int]float64, solve func(predict.Params) []float64) (out []advice.Range) {
	of := slices.Repeat([]quantity.Quantity{quantity.Count}, len(values)) // no instrument reads them
	for _, x := range f.Readings(values, of, fixed, solve) {
		out = append(out, advice.Range{Low: x.Low, Value: x.Value, High: x.High})
	}
	return out
}
