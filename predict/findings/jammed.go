package findings

import (
	"fmt"
	"slices"
	"strings"

	"sagline/predict/causes"
	"sagline/predict/vehicle"
)

// jams returns the jams of open alarms and of findings that are told, with what may be one: for each,
// the names of the thrusters any one of which may be jammed.
func (r *Report) jams() (out [][]string) {
	add := func(faults ...string) {
		var names []string
		for _, fault := range faults {
			_, name, _ := strings.Cut(fault, ":")
			names = append(names, name)
		}
		if !slices.ContainsFunc(out, func(said []string) bool { return slices.Contains(said, names[0]) }) {
			out = append(out, names)
		}
	}
	for _, f := range r.Reported() {
		if f.Cause.Fails.Jam() || r.hardlyTurns(&f) {
			add(f.Names()...)
		}
	}
	for _, a := range r.Alarms {
		if a.Cause.Fails.Jam() && a.ClearedDive == nil {
			add(a.Cause.Name)
		}
	}
	return out
}

// hardlyTurning is the share of the amplitude with which its motor would stand, from which what a
// finding is about may be a jam, read with a hot winding: about what a motor takes with its propeller.
// Common practice, no source.
const hardlyTurning = 0.3

// hardlyTurns reports whether a finding of one thruster is of so much friction that it may be a jam.
func (r *Report) hardlyTurns(f *Finding) bool {
	t := r.Trend(f.Cause.Quantity)
	return f.Cause.Kind == causes.Vehicle && f.Cause.Most > 0 && strings.Contains(f.Cause.Name, ":") && t != nil && t.Level.Value >= hardlyTurning*f.Cause.Most
}

// jammed words which thrusters may be jammed, "" if none.
func (r *Report) jammed() string {
	var out []string
	for _, names := range r.jams() {
		out = append(out, strings.Join(names, " or "))
	}
	return strings.Join(out, " and ")
}

// UntilFreed returns the remark that statements on the vehicle as it is now leave a jam out; nil if
// nothing is jammed.
func (r *Report) UntilFreed() []string {
	names := r.jammed()
	if names == "" {
		return nil
	}
	return []string{fmt.Sprintf("by the log %s may be jammed: see that it turns freely, battery unplugged, before it runs again; what is said of it running holds once it does", names)}
}

// Without returns remarks for numbers of a sound vehicle: on the faults that are told, and on
// levels that are not those of the first dives. Parameters in now are left out: the numbers have
// them as they are now.
func (r *Report) Without(now ...int) (out []string) {
	for _, f := range r.Reported() {
		if (f.Cause.Kind == causes.Vehicle || f.Cause.Mends != "") && !f.Cause.Fails.Jam() && !slices.Contains(now, f.Cause.Param()) {
			out = append(out, fmt.Sprintf("%s since dive %s (%s sure) is not in these numbers, which are those of the sound vehicle", f.Cause.Words, f.SinceDive, Sure(f.Sure())))
		}
	}
	for _, t := range r.Trends {
		if (t.State == NotAsBuilt || t.State == PastLimit || t.State == NearLimit) && t.Cause.Kind == causes.Vehicle && !slices.Contains(now, t.Cause.Param()) {
			u := r.Unit(t.Quantity)
			t = t.In(u)
			out = append(out, fmt.Sprintf("%s of %s, %s, is not in these numbers, which are those of the first dives", t.Cause.Words, t.LevelSaid(u.Name), t.State))
		}
	}
	return append(out, r.UntilFreed()...)
}

// OnceFreed returns a mark for numbers of running thrusters, signs as in predict.Condition, if one
// of them may be jammed, else "".
func (r *Report) OnceFreed(v *vehicle.Vehicle, sign []int8) string {
	for i := range sign {
		if sign[i] != 0 && r.MayBeJammed(v.Thrusters[i].Name) {
			return " (once " + r.jammed() + " turns freely)"
		}
	}
	return ""
}

// MayBeJammed reports whether a thruster may be jammed now.
func (r *Report) MayBeJammed(thruster string) bool {
	return slices.ContainsFunc(r.jams(), func(names []string) bool { return slices.Contains(names, thruster) })
}
