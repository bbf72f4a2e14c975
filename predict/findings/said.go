package findings

import (
	"fmt"
	"strings"

	"sagline/predict/fit"
	"sagline/session/units"
)

// TableHead names the columns of Table.
var TableHead = []string{"quantity", "pattern", "since", "level (95 %)", "a dive", "limit", "dives left"}

// Table returns every quantity's trend in words, a row each in the columns of TableHead; "-" where
// there is nothing to say.
func (r *Report) Table() (rows [][]string) {
	for _, t := range r.Trends {
		unit := r.Unit(t.Quantity)
		t = t.In(unit)
		pattern, level := t.State, t.LevelSaid(unit.Name)
		switch pattern {
		case Drifting:
			pattern = t.Pattern
		case NotJudged:
			level = "-"
		}
		rate, left, since, limit := "-", "-", "-", "-"
		if t.PerDive != nil {
			rate = t.PerDive.String()
			if x := t.Cause.Scale.Times(t.PerDive.Value, t.Level.Value); x != 0 {
				rate = "× " + units.Digits(x, 2)
			}
		}
		if t.DivesToLimit != nil {
			left = Left(t.DivesToLimit)
		}
		if t.Limit != nil {
			limit = units.Digits(*t.Limit, 3)
		}
		if t.OnsetDive != "" {
			since = "dive " + t.OnsetDive
		}
		rows = append(rows, []string{t.Cause.Words, pattern, since, level, rate, limit, left})
	}
	return rows
}

// LevelSaid words the level of a trend that is in unit; for a contact that comes and goes, by how
// much it does.
func (t *Trend) LevelSaid(unit string) string {
	if t.ComesBy != nil {
		return t.ComesBy.ComesBy()
	}
	out := strings.TrimSpace(t.Level.String() + " " + unit)
	if t.LastRead != nil {
		out += ", last read " + units.Digits(*t.LastRead, 2)
	}
	return out
}

// Size returns the level of a trend; for a contact that comes and goes, by how much it does.
func (t *Trend) Size() Estimate {
	if t.ComesBy != nil {
		return *t.ComesBy
	}
	return t.Level
}

// ComesBy words by how much a contact comes and goes.
func (e *Estimate) ComesBy() string {
	low, high := units.Digits(e.Low, 2), units.Digits(e.High, 2)
	text := "by about " + low
	if high != low {
		text += " to " + high
	}
	if text += " Ω"; e.High >= fit.MaxIntermittentOhm {
		text += " or more"
	}
	return text
}

// FarAhead is the largest number of dives that a ramp is extrapolated.
const FarAhead = 999.0

// Left words how many dives are left until a limit, which may be passed already.
func Left(e *Estimate) string {
	switch {
	case e.High < 0.5:
		return "none: passed"
	case e.High >= FarAhead && e.Low < 0.5 && (e.Value < 0.5 || e.Value >= FarAhead):
		return CannotTell
	case e.High >= FarAhead && e.Low < 0.5:
		return fmt.Sprintf("%.0f (may be passed, or never)", e.Value)
	case e.High >= FarAhead:
		return fmt.Sprintf("%.0f (%.0f or more)", e.Value, e.Low)
	case e.Low < 0.5:
		return fmt.Sprintf("%.0f (to %.0f; may be passed)", e.Value, e.High)
	}
	return fmt.Sprintf("%.0f (%.0f to %.0f)", e.Value, e.Low, e.High)
}

// An OtherBattery is one than the newest dive's that had an open alarm when it was last used.
type OtherBattery struct {
	Label, Last string // of the battery and of its last dive
	Alarm       *Alarm
}

// Name words the battery.
func (b *OtherBattery) Name() string { return strings.TrimSpace("battery " + b.Label) }

// OfBatteries words the alarms of the battery with a label, or for "" of all others than the newest
// dive's.
func (r *Report) OfBatteries(label string) (out []string) {
	for _, b := range r.OtherBatteries {
		if label == "" || b.Label == label {
			out = append(out, fmt.Sprintf("%s had an open alarm when it was last used, at dive %s: %s, %s since dive %s; look at it before it is used again",
				b.Name(), b.Last, b.Alarm.Cause.Words, b.Alarm.Pattern, b.Alarm.OnsetDive))
		}
	}
	return out
}

// String words an alarm and what became of it.
func (a *Alarm) String() string {
	text := fmt.Sprintf("alarm at dive %s: %s, %s since dive %s", a.RaisedDive, a.Cause.Words, a.Pattern, a.OnsetDive)
	if a.ClearedDive != nil {
		text += " (" + a.Ended(*a.ClearedDive) + ")"
	}
	return text
}

// Ended words how an alarm ended at the dive with a label.
func (a *Alarm) Ended(label string) string {
	switch {
	case a.Gone:
		return fmt.Sprintf("over since dive %s, and no service of it is written down", label)
	case a.Withdrawn:
		return fmt.Sprintf("taken back at dive %s: since then another explanation fits the readings better", label)
	case a.OtherBattery:
		return fmt.Sprintf("closed at dive %s, which was made on another battery", label)
	}
	return fmt.Sprintf("cleared by the service at dive %s", label)
}

// Lines words a finding: what changed, how sure that is and what else it could be, then what to do.
func (f *Finding) Lines() (out []string) {
	since := "since dive " + f.SinceDive
	if f.OnsetFrom != f.OnsetTo {
		since += fmt.Sprintf(" (%s to %s)", f.OnsetFrom, f.OnsetTo)
	}
	if len(f.Again) > 0 {
		since += " and again since " + strings.Join(f.Again, ", ")
	}
	out = append(out, fmt.Sprintf("%s, %s%s", f.What(), since, f.past), fmt.Sprintf("%s (%s sure)%s", f.Words(), Sure(f.Sure()), f.OrElse()))
	for _, e := range f.Evidence {
		out = append(out, "because "+e)
	}
	if f.Test != nil {
		out = append(out, "to tell: "+f.Test.Words)
	}
	return append(out, "next: "+f.CheckNext)
}
