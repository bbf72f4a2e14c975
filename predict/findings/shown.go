package findings

import (
	"slices"

	"sagline/session/units"
)

// Unit returns the unit in which a quantity of the report is shown to a person. The report itself,
// and so its JSON form, is in the units that its names give; only its evidence is worded in the
// reader's.
func (r *Report) Unit(quantity string) units.Unit {
	if t := r.Trend(quantity); t != nil {
		return r.Units.In(t.Cause.Scale.Unit)
	}
	return r.Units.In("")
}

// Trend returns the trend of a quantity, nil if it has none.
func (r *Report) Trend(quantity string) *Trend {
	if i := slices.IndexFunc(r.Trends, func(t Trend) bool { return t.Quantity == quantity }); i >= 0 {
		return &r.Trends[i]
	}
	return nil
}

// In converts an estimate from its quantity's own unit.
func (e Estimate) In(u units.Unit) Estimate {
	return Estimate{u.FromBase(e.Value), u.FromBase(e.Low), u.FromBase(e.High)}
}

// In converts a trend from its quantity's own unit.
func (t Trend) In(u units.Unit) Trend {
	t.Level, t.Baseline = t.Level.In(u), u.FromBase(t.Baseline)
	if t.Limit != nil {
		t.Limit = new(u.FromBase(*t.Limit))
	}
	if t.PerDive != nil {
		t.PerDive = new(t.PerDive.In(u))
	}
	t.Levels = in(t.Levels, u)
	t.Ahead, t.Eras = slices.Clone(t.Ahead), slices.Clone(t.Eras)
	for i := range t.Ahead {
		t.Ahead[i].Level = t.Ahead[i].Level.In(u)
	}
	for i := range t.Eras {
		e := &t.Eras[i]
		e.Levels = in(e.Levels, u)
		if e.PerDive != nil {
			e.PerDive = new(e.PerDive.In(u))
		}
	}
	return t
}

func in(es []Estimate, u units.Unit) []Estimate {
	out := make([]Estimate, len(es))
	for i, e := range es {
		out[i] = e.In(u)
	}
	return out
}
