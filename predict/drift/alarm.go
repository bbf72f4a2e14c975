package drift

import (
	"slices"

	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/fit"
)

// An alarm is raised when the probability that something has happened is at least surely, it more
// likely stays than not (else the component is one dive alone), and the family of causes that is
// named has at least mostly of the probability of staying. Set by simulation: see
// TestOperatingCharacteristics. With 0.95 instead of 0.9, 14 instead of 16 of 373 sound seasons of
// two simulators with other physics raised an alarm, and in the model's own world ramps of thrust,
// of leaks and of batteries were raised a dive later. What the newest dive alone shows must be as
// sure as surelyAtOnce: it may be that dive's alone, and the next one tells. With that instead of
// surely, of 462 simulated seasons none had an alarm later and one lost a wrong one, and of 12 sound
// ones whose vehicle's file has little more than names one raised no alarm any more.
const (
	surely       = 0.9
	surelyAtOnce = 0.97
	mostly       = 0.6
)

// If a change that began at least lasting dives ago has a probability of at least certainly, the
// likeliest cause is alarmed however many causes share that probability, unless an alarm is open for
// one of them. Of 83 seasons simulated with other physics and a fault of eight standard deviations
// 72 had an open alarm at the end, against 60 without this rule; of 80 sound ones five had any,
// against four.
const (
	certainly = 0.99
	lasting   = 3
)

// possibly is the share of a component's probability at which an open alarm's quantity keeps the
// alarm open although a likelier cause, which has no alarm, is named: common practice, no source.
const possibly = 0.2

// withdrawAfter is the number of dives in a row whose readings are explained without an open
// alarm's quantity after which the alarm is withdrawn.
const withdrawAfter = 2

// alarmBook raises and closes alarms.
type alarmBook struct {
	a       *analysis
	rep     *findings.Report
	open    map[string]int  // by quantity: index of the open alarm in the report's alarms
	raised  map[string]int  // by quantity: dive at which the open alarm was raised
	missing map[string]int  // by quantity: dives in a row that are explained without the open alarm
	shared  map[string]bool // by quantity: whether its last alarm was raised or kept open on a shared probability
}

func newAlarmBook(a *analysis, rep *findings.Report) *alarmBook {
	return &alarmBook{a: a, rep: rep, open: map[string]int{}, raised: map[string]int{}, missing: map[string]int{}, shared: map[string]bool{}}
}

// judge raises alarms at dive n, and withdraws those that its explanation no longer supports.
func (b *alarmBook) judge(n int, now *explanation) {
	label := b.a.r.Dives[n].Log.Label
	var active, possible []string
	for i := range now.components {
		e := &now.components[i]
		if !e.hypothesis.stays() || b.a.unfit(now, e) {
			continue
		}
		of := b.a.suspectsOf(e)
		for _, c := range of.causes {
			active = append(active, b.a.family(c)...)
		}
		if slices.ContainsFunc(of.causes, b.isOpen) {
			continue
		}
		those := b.a.mayBe(e)
		possible = append(possible, those...)
		raise, shared := b.raises(n, now, e, of.p, those)
		if !raise {
			continue
		}
		quantity := b.a.causes[of.causes[0]].Quantity
		b.raised[quantity], b.shared[quantity] = n, shared
		if i := b.onThisBattery(quantity); i >= 0 {
			b.rep.Alarms[i].ClearedDive, b.rep.Alarms[i].OtherBattery = nil, false
			b.open[quantity] = i
			continue
		}
		b.open[quantity] = len(b.rep.Alarms)
		b.rep.Alarms = append(b.rep.Alarms, findings.Alarm{Quantity: quantity, RaisedDive: label, OnsetDive: b.a.r.Dives[e.onset].Log.Label, Pattern: e.pattern, Cause: of.row})
	}
	for quantity, i := range b.open {
		if slices.Contains(active, quantity) {
			b.missing[quantity] = 0
			continue
		}
		b.missing[quantity]++
		if slices.Contains(possible, quantity) {
			b.shared[quantity] = b.shared[quantity] || b.missing[quantity] >= withdrawAfter
			continue
		}
		if b.missing[quantity] >= withdrawAfter || b.rep.Alarms[i].Pattern == findings.Step && b.wasOnce(now, quantity) {
			b.close(quantity, i, n, true)
			if since, gone := b.endedSince(now, quantity); gone {
				b.rep.Alarms[i].ClearedDive, b.rep.Alarms[i].Gone = &b.a.r.Dives[since].Log.Label, true
			}
		}
	}
}

// raises reports whether dive n raises an alarm for a component that has none, and whether several
// causes share the component's probability. p is the probability of the causes that the component
// is named, those are the quantities of all that it may be.
func (b *alarmBook) raises(n int, now *explanation, e *component, p float64, those []string) (raise, shared bool) {
	happened := surely
	if e.onset == n {
		happened = surelyAtOnce
	}
	if jam := now.jam(b.a); jam >= 0 && jam != e.cause || b.a.ownCourse(now, e) || b.a.ofFailed(now, e) || 1-e.none < happened {
		return false, false
	}
	least := mostly
	if b.wavers(now) {
		least = surely
	}
	if p >= least*e.changed() {
		return true, false
	}
	another := slices.ContainsFunc(those, func(quantity string) bool { _, open := b.open[quantity]; return open })
	return e.changed() >= certainly && n-e.onset >= lasting && !another, true
}

// mayBe returns the quantities of all causes that have at least possibly of a component's
// probability.
func (a *analysis) mayBe(e *component) (out []string) {
	for c, p := range e.stays {
		if p >= possibly*e.changed() {
			out = append(out, a.family(c)...)
		}
	}
	return out
}

// suspects are what one component's alarm covers: the named cause first, then those that cannot be
// told from it; the row that words them; and their joint probability. A failed thruster needs a
// look before it is known which one failed, or how.
type suspects struct {
	causes []int
	row    *causes.Cause
	p      float64
}

func (a *analysis) suspectsOf(e *component) suspects {
	c, p := a.named(e)
	row, either := a.either(e, c)
	out := suspects{causes: []int{c}, row: row, p: p}
	if o := a.otherFailure(e); o >= 0 {
		out.causes = append(out.causes, o)
	}
	if either != nil {
		out.p = 0
	}
	for _, of := range either {
		out.p += of.Probability
		out.causes = append(out.causes, slices.IndexFunc(a.causes, func(o causes.Cause) bool { return o.Name == of.Fault }))
	}
	return out
}

// wasOnce reports whether what raised a quantity's alarm is now explained by one dive alone.
func (b *alarmBook) wasOnce(now *explanation, quantity string) bool {
	return slices.ContainsFunc(now.components, func(e component) bool {
		return e.pattern == findings.Once && e.onset >= b.raised[quantity] && e.onset < b.a.n && slices.Contains(b.a.family(e.cause), quantity)
	})
}

// endedSince returns the dive from which the cause of a quantity's alarm is gone without a service.
func (b *alarmBook) endedSince(now *explanation, quantity string) (dive int, gone bool) {
	for _, h := range b.a.unsaid(now) {
		if h.until > dive && h.until > b.raised[quantity] && slices.Contains(b.a.family(h.cause), quantity) {
			dive, gone = h.until, true
		}
	}
	return dive, gone
}

// wavers reports whether an open alarm has lost its explanation. What explains the readings instead
// must then be surer than a first alarm.
func (b *alarmBook) wavers(now *explanation) bool {
	for quantity := range b.open {
		if !slices.ContainsFunc(now.components, func(e component) bool {
			return e.pattern != findings.Once && (slices.Contains(b.a.family(e.cause), quantity) || b.shared[quantity] && slices.Contains(b.a.mayBe(&e), quantity))
		}) {
			return true
		}
	}
	return false
}

// jam returns the cause of the explanation's jammed thruster, −1 for none. While a thruster is
// jammed all else in its dives' readings is doubtful.
func (e *explanation) jam(a *analysis) int {
	for i := range e.components {
		if p := &e.components[i]; p.hypothesis.stays() && a.causes[p.cause].Fails.Jam() {
			return p.cause
		}
	}
	return -1
}

// isOpen reports whether an alarm is open for a cause or one of its family.
func (b *alarmBook) isOpen(c int) bool {
	for _, quantity := range b.a.family(c) {
		if _, open := b.open[quantity]; open {
			return true
		}
	}
	return false
}

// service closes the alarms that services clear.
func (b *alarmBook) service(n int, services []string) {
	for quantity, i := range b.open {
		for c := range b.a.causes {
			if b.a.causes[c].Quantity == quantity && b.a.causes[c].ClearedBy(services) {
				b.close(quantity, i, n, false)
				break
			}
		}
	}
}

// otherBattery closes the alarms of the previous battery where dive n, on another, is explained
// without them.
func (b *alarmBook) otherBattery(n int) {
	for quantity, i := range b.open {
		if c := b.rep.Alarms[i].Cause; b.missing[quantity] > 0 && c.ClearedBy([]string{"battery"}) {
			b.close(quantity, i, n, false)
			b.rep.Alarms[i].OtherBattery = true
		}
	}
}

// onThisBattery returns the index of a quantity's alarm that was closed when the battery in use was
// last swapped out, −1 if there is none or the battery was worked on since. That alarm is reopened.
func (b *alarmBook) onThisBattery(quantity string) int {
	for i := len(b.rep.Alarms) - 1; i >= 0; i-- {
		alarm := &b.rep.Alarms[i]
		if alarm.Quantity != quantity || !alarm.OtherBattery {
			continue
		}
		if last := b.a.lastOn(alarm); b.a.r.Dives[last].Battery == b.a.battery {
			if b.a.workedOnSince(last, "battery") {
				return -1
			}
			return i
		}
	}
	return -1
}

// lastOn returns the last dive on the battery of an alarm that was closed as another came into use.
func (a *analysis) lastOn(alarm *findings.Alarm) int {
	return slices.IndexFunc(a.r.Dives, func(d fit.DiveFit) bool { return d.Log.Label == *alarm.ClearedDive }) - 1
}

// workedOnSince reports whether a part was serviced after dive d, up to the newest dive taken in.
func (a *analysis) workedOnSince(d int, part string) bool {
	for d++; d < len(a.r.Dives) && d <= a.n; d++ {
		if slices.Contains(a.services(d), part) {
			return true
		}
	}
	return false
}

func (b *alarmBook) close(quantity string, i, n int, withdrawn bool) {
	label := b.a.r.Dives[n].Log.Label
	b.rep.Alarms[i].ClearedDive, b.rep.Alarms[i].Withdrawn = &label, withdrawn
	delete(b.open, quantity)
	delete(b.missing, quantity)
}
