package drift

import "slices"

// An alarm is raised when it is surer than surely that something has begun and
// stays, and the quantity it is put down to has more than mostly of all
// probability. Set by simulation: see TestOperatingCharacteristics.
const (
	surely = 0.95
	mostly = 0.6
)

// withdrawAfter is how many dives in a row an open alarm's quantity may be
// explained otherwise before the alarm is withdrawn.
const withdrawAfter = 2

// alarmBook raises alarms and closes them.
type alarmBook struct {
	a       *analysis
	rep     *Report
	open    map[string]int // by quantity, into the report's alarms
	missing map[string]int // dives in a row that explain an open alarm's readings otherwise
}

// ofQuantity is the probability that a part is put down to a quantity.
func (a *analysis) ofQuantity(e *explained, quantity string) float64 {
	sum := 0.0
	for i, p := range e.stays {
		if a.causes[i].Quantity == quantity {
			sum += p
		}
	}
	return sum
}

// judge raises alarms at dive n, and withdraws those that its explanation no
// longer has.
func (b *alarmBook) judge(n int, now *explanation) {
	label := b.a.r.Dives[n].Log.Label
	var active []string
	for i := range now.parts {
		e := &now.parts[i]
		if e.pattern == Once {
			continue
		}
		quantity := b.a.causes[e.cause].Quantity
		active = append(active, quantity)
		if _, open := b.open[quantity]; open || e.changed() < surely || b.a.ofQuantity(e, quantity) < mostly {
			continue
		}
		b.open[quantity] = len(b.rep.Alarms)
		b.rep.Alarms = append(b.rep.Alarms, Alarm{Quantity: quantity, RaisedDive: label, OnsetDive: b.a.r.Dives[e.onset].Log.Label, Pattern: e.pattern, Cause: &b.a.causes[e.cause]})
	}
	for quantity, i := range b.open {
		if slices.Contains(active, quantity) {
			b.missing[quantity] = 0
			continue
		}
		if b.missing[quantity]++; b.missing[quantity] >= withdrawAfter {
			b.close(quantity, i, n, true)
		}
	}
}

// service clears the alarms that services end.
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

func (b *alarmBook) close(quantity string, i, n int, withdrawn bool) {
	label := b.a.r.Dives[n].Log.Label
	b.rep.Alarms[i].ClearedDive, b.rep.Alarms[i].Withdrawn = &label, withdrawn
	delete(b.open, quantity)
	delete(b.missing, quantity)
}
