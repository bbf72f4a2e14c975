package drift

import "sagline/session/units"

// Unit is the unit that a quantity of the report is shown in to a person. The
// report itself, and so its JSON form, is in the units that its names say;
// only its evidence is worded in the reader's.
func (r *Report) Unit(quantity string) units.Unit {
	_, base := Words(quantity)
	return r.Units.In(base)
}

// In is an estimate in another unit than its quantity's own.
func (e Estimate) In(u units.Unit) Estimate {
	return Estimate{u.FromBase(e.Value), u.FromBase(e.Low), u.FromBase(e.High)}
}

// In is a trend in another unit than its quantity's own.
func (t Trend) In(u units.Unit) Trend {
	t.Level, t.Limit, t.Baseline = t.Level.In(u), u.FromBase(t.Limit), u.FromBase(t.Baseline)
	if t.PerDive != nil {
		rate := t.PerDive.In(u)
		t.PerDive = &rate
	}
	believed := make([]Estimate, len(t.Believed))
	for i, e := range t.Believed {
		believed[i] = e.In(u)
	}
	t.Believed = believed
	return t
}
