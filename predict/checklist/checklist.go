// Package checklist lists what to look at before and after a dive, for a vehicle's own parts and
// with limits for each, and what is due for service. It assumes that a person looks at each and
// judges by these limits or by the less favourable of what they see. It never says that a dive is
// safe.
package checklist

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/forecast"
	"sagline/predict/locate"
	"sagline/predict/normal"
	"sagline/predict/outlook"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/problem"
	"sagline/session/quantity"
	"sagline/session/units"
)

// A Check is one thing to look at, with the limit for going.
type Check struct {
	Item string
	Go   string // the condition for going; anything else is "no-go"
}

// Limits of go, common practice, no source.
const (
	goCharge   = 0.75 // least share of the battery's charge at the start
	noGoCharge = 0.5  // below this share charge it first
	meterSDs   = 3.0  // allowed error of a reading, in standard deviations of its meter
)

// Before returns the list before a dive of a fitted log under a condition. reads are the quantities
// for which there is an instrument.
func Before(r *fit.Result, rep *findings.Report, m *advice.Margins, c predict.Condition, reads map[quantity.Quantity]bool) []Check {
	l := list{r: r, rep: rep, v: r.Model.Vehicle, c: c, now: outlook.Present(r, rep), margins: m, clamp: reads[quantity.CurrentA]}
	l.battery()
	l.tether()
	l.tubes()
	for _, name := range l.v.ThrusterNames() {
		l.add("battery unplugged: propeller of "+name+" by hand", "turns freely, tight on its shaft, no weed, no chipped blade")
	}
	l.supplies()
	l.trim()
	for _, f := range rep.Reported() {
		l.add("open since dive "+f.SinceDive+": "+f.Cause.Words, "%s", f.CheckNext)
	}
	return l.out
}

type list struct {
	r       *fit.Result
	rep     *findings.Report
	v       *vehicle.Vehicle
	c       predict.Condition
	now     predict.Params
	margins *advice.Margins
	clamp   bool // there is an instrument for current
	out     []Check
}

func (l *list) add(item, limit string, args ...any) {
	l.out = append(l.out, Check{item, fmt.Sprintf(limit, args...)})
}

// reads returns what a quantity should read with no thruster running.
func (l *list) reads(q quantity.Quantity, p predict.Params, lights bool) float64 {
	c := l.c
	c.Sign, c.Electrical, c.Lights = make([]int8, len(l.v.Thrusters)), true, lights
	var pt predict.Point
	l.r.Model.Solve(&c, p.ReadAsIs(), &pt, nil)
	return pt.Out[q]
}

func (l *list) battery() {
	b := &l.v.Battery
	switch f := &l.margins.Fuse; {
	case b.FuseA == 0 && f.BetterA != nil:
		l.add("fuse at the battery", "one is fitted, %g A would be right: the file states none", *f.BetterA)
	case b.FuseA == 0 && f.LessA != nil:
		l.add("fuse at the battery", "one is fitted, %g A where no more than %s A run at a time: the file states none", *f.LessA, units.Digits(f.AtATimeA(), 3))
	case b.FuseA == 0:
		l.add("fuse at the battery", "one is fitted: the file states none")
	case !f.Met() && f.BetterA != nil:
		l.add("fuse at the battery", "%g A would be right: the %g A of the file do not hold, see the margins", *f.BetterA, b.FuseA)
	case !f.Met() && f.LessA != nil && *f.LessA < b.FuseA:
		l.add("fuse at the battery", "%g A would be right where no more than %s A run at a time: the %g A of the file do not hold, see the margins", *f.LessA, units.Digits(f.AtATimeA(), 3), b.FuseA)
	case !f.Protects():
		l.add("fuse at the battery", "NO-GO with %g A: it lets more pass than the conductors bear, see the margins", b.FuseA)
	case !f.Blows():
		l.add("fuse at the battery", "NO-GO with %g A: it does not open on every short, see the margins", b.FuseA)
	case !f.Carries():
		l.add("fuse at the battery", "fitted, %g A and no more; it may open in the heaviest run: see the margins", b.FuseA)
	default:
		l.add("fuse at the battery", "fitted, %g A and no more", b.FuseA)
	}
	if s := l.margins.Signal; s != nil && !s.Guarded() {
		size := "fitted, smaller than the battery's"
		if s.OwnA != nil {
			size = fmt.Sprintf("fitted, %g A and no more", *s.OwnA)
		}
		l.add("fuse of the signal wires", "%s: the battery's need not open on a short in them", size)
	}
	l.add("battery at rest, an hour after charging", "%.2f V or more (%.0f %% of its charge); below %.2f V charge it first%s", b.RestAt(goCharge), 100*goCharge, b.RestAt(noGoCharge), guessed(l.v))
	if !l.clamp {
		return
	}
	idle := l.reads(quantity.CurrentA, l.r.Base, false)
	l.add("current with everything off", "%.1f A, at most %.1f A: more is a leak or something left on", idle, idle+meterSDs*l.v.Instruments.CurrentA)
}

func (l *list) tether() {
	l.add("tether, hand over hand", "no cut, kink or flat spot; floats in place; %s of it", l.v.Units.Plain(l.v.Tether.LengthM, "m"))
	names := []string{"plug"}
	for i := range l.v.Joints {
		names = append(names, l.v.Joints[i].Name)
	}
	l.add(strings.Join(names, ", "), "dry, home and locked; no green, no warm spot last time")
	sound, limit := l.reads(quantity.LoopOhm, l.r.Base, false), l.v.Limits.ExcessResistanceOhm
	l.add("battery unplugged, far end shorted: ohms of the power pair; take the short off", "%.2f Ω when sound, at most %.2f Ω", sound, sound+limit)
	l.add("battery unplugged, tether wet: megohms from the power pair to the water", "%g MΩ or more (IEC 60364-6 tests extra-low voltage at 250 V and asks 0.5 MΩ; a multimeter's few volts flatter)", l.v.Limits.InsulationMegohm)
}

func (l *list) tubes() {
	for i := range l.v.Tubes {
		t := &l.v.Tubes[i]
		if !t.IsSealed() {
			continue
		}
		limit := fmt.Sprintf("O-rings clean and greased; held at -20 kPa for 10 minutes it loses no more than %.1f kPa", locate.HoldLimitKPa)
		if at := slices.IndexFunc(l.margins.Tubes, func(d advice.TubeDepth) bool { return d.Index == i }); at >= 0 {
			limit += "; no deeper than " + l.v.Units.In("m").Down(l.margins.Tubes[at].DeepestM, 1)
		}
		l.add("tube "+cmp.Or(t.Name, fmt.Sprint(i+1)), "%s", limit)
	}
	if len(l.v.Tubes) == 0 {
		l.add("seals and O-rings", "clean, greased, no hair across them")
	}
}

func (l *list) supplies() {
	v := l.v
	switch {
	case v.Lights.Any() && !l.clamp:
		l.add("lights on", "all of them shine")
	case v.Lights.Any():
		more := l.reads(quantity.CurrentA, l.now, true) - l.reads(quantity.CurrentA, l.now, false)
		by := meterSDs * v.Instruments.CurrentA
		l.add("lights on", "%.1f to %.1f A more than off", max(more-by, 0), more+by)
	}
	switch m := l.margins.Camera; {
	case !v.HasCamera():
	case !v.Camera.OnVehicle():
		l.add("camera", "its own supply charged, the picture is there")
	case m == nil:
		l.add("camera", "the picture stays with all thrusters on")
	case m.Met():
		l.add("camera", "the picture stays with all thrusters on: %.1f V at least, it wants %.1f V", m.V, m.MinimumV)
	default:
		l.add("camera", "NO-GO on the vehicle's supply: it falls to %.1f V, it wants %.1f V", m.V, m.MinimumV)
	}
}

func (l *list) trim() {
	const item = "hover weight at the surface"
	u, limit := l.v.Units.In("g"), l.v.Limits.IngressG
	l.c.DepthM = 0
	p := outlook.Sound(l.r, l.rep)
	sound, now := l.reads(quantity.Trim, p, false), l.reads(quantity.Trim, l.now, false)
	if x := l.hover(p, nil, l.rep.Posterior.OfSound()); x.High-x.Low > 2*limit {
		x = l.hover(l.now, outlook.ToCome(l.r, l.rep), l.rep.Posterior)
		l.add(item, "not known yet, %s to %s: hang weights on it until it hovers, floats where it sinks, and write them down", u.Show(x.Low, 0), u.Show(x.High, 0))
		return
	}
	least, why := sound-limit, "water taken in"
	if sound > 0 && least < 0 { // a craft that floats by less than the limit sinks first
		least, why = 0, "it sinks"
	}
	verdict := ""
	if now <= least {
		verdict = "NO-GO "
	}
	l.add(item, "%s%s by the log, %s when sound; no-go at %s or less: %s", verdict, u.Show(now, 0), u.Show(sound, 0), u.Show(least, 0), why)
}

// hover returns the 95 % range of the hover weight of a vehicle at p. sd is one standard deviation
// of further doubts, by parameter; posterior is as in forecast.New.
func (l *list) hover(p predict.Params, sd map[int]float64, posterior fit.Posterior) normal.Range {
	f := forecast.AsBuilt(l.v)
	if len(l.r.Dives) > 0 {
		f = forecast.New(l.r, p, sd, posterior)
	}
	c := l.c
	c.Sign = make([]int8, len(l.v.Thrusters))
	var pt predict.Point
	return f.Readings([]float64{l.reads(quantity.Trim, p, false)}, []quantity.Quantity{quantity.Trim}, nil, func(p predict.Params) []float64 {
		l.r.Model.Solve(&c, p, &pt, nil)
		return []float64{pt.Out[quantity.Trim]}
	})[0]
}

// After returns the list after a dive.
func After(v *vehicle.Vehicle) []Check {
	return []Check{
		{"unplug the battery", "before anything else is touched"},
		{"rinse vehicle, tether and plugs in fresh water", "no salt, sand or weed left; plugs capped while wet"},
		{"dry, then open the plugs", "dry inside; green or white crust: clean it, and write joint under serviced"},
		{"open tubes slowly, pointed away from people", "dry inside: water in one means hold it, and no dive before"},
		{"turn each propeller by hand", "free: line and weed taken off"},
		{"charge the battery, ashore, charger behind an RCD/GFCI and away from water", fmt.Sprintf("full: %.2f V after hours of rest%s", v.Battery.RestV(), guessed(v))},
		{"write the dive down", "with what was serviced, and the label of the battery"},
	}
}

// guessed says which chemistry is assumed if the file does not state it: half of a lead-acid
// battery's charge by its voltage leaves a lithium one empty.
func guessed(v *vehicle.Vehicle) string {
	if !v.ChemistryGuessed() {
		return ""
	}
	return "; taken for " + v.Battery.Chemistry + " by its volts: if it is another, state battery.chemistry"
}

// DueParts words how the file's maintenance intervals stand on a day, in the file's order. A part
// that was never serviced counts from the first dive.
func DueParts(v *vehicle.Vehicle, log *session.Log, today time.Time) (out []string) {
	for _, m := range v.Maintenance {
		if m.Dives > 0 || m.Days > 0 {
			out = append(out, due(&m, log, today))
		}
	}
	return out
}

func due(m *vehicle.Interval, log *session.Log, today time.Time) string {
	since, word, first := "never serviced in this log", "not yet due", 0
	for i := range log.Dives {
		if slices.ContainsFunc(log.Dives[i].Lines, func(l session.Line) bool { return slices.Contains(l.Serviced, m.Part) }) {
			since, first = "serviced before dive "+log.Dives[i].Label, i
		}
	}
	dives, days := len(log.Dives)-first, 0
	unknown := len(log.Dives) > 0 && log.Dives[first].Day() == ""
	if len(log.Dives) > 0 && !unknown {
		days = max(int(today.Sub(log.Dives[first].Date).Hours()/24), 0)
	}
	var left []string
	for _, x := range []struct {
		every, done int
		unit        string
	}{{m.Dives, dives, "dive"}, {m.Days, days, "day"}} {
		if x.every == 0 {
			continue
		}
		if x.unit == "day" && unknown {
			left = append(left, "an unknown number of "+problem.Count(x.every, x.unit))
			continue
		}
		if x.done >= x.every {
			word = "DUE"
		}
		left = append(left, fmt.Sprintf("%d of %s", x.done, problem.Count(x.every, x.unit)))
	}
	return fmt.Sprintf("%s: %s; %s, %s since", m.Part, word, since, strings.Join(left, ", "))
}
