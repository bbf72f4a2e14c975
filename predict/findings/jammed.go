package findings

import (
	"fmt"
	"slices"
	"strings"

	"sagline/predict/causes"
	"sagline/predict/vehicle"
)

// jams are the jammed thrusters of an open alarm or of a finding that is told: the names of each, any one of which
// may be the one.
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
	for _, f := range r.Told() {
		if f.Cause.Fails.Jam() {
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

// jammed words which thrusters are, "" where none is.
func (r *Report) jammed() string {
	var out []string
	for _, names := range r.jams() {
		out = append(out, strings.Join(names, " or "))
	}
	return strings.Join(out, " and ")
}

// UntilFreed is a remark on what is said of a vehicle as it is now, which leaves a jam out; none where nothing is jammed.
func (r *Report) UntilFreed() []string {
	names := r.jammed()
	if names == "" {
		return nil
	}
	return []string{fmt.Sprintf("by the log %s may be jammed: see that it turns freely, battery unplugged, before it runs again; what is said of it running holds once it does", names)}
}

// Without are remarks on what is said of a sound vehicle: what is told to be wrong with it now, or stands at another
// level than its first dives', but for the parameters that are taken as they are now.
func (r *Report) Without(now ...int) (out []string) {
	for _, f := range r.Told() {
		if f.Cause.Kind == causes.Vehicle && !f.Cause.Fails.Jam() && !slices.Contains(now, f.Cause.Param()) {
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

// OnceFreed marks what is said of some thrusters running, signs as in predict.Condition, where a jammed one is among
// them; "" where none is.
func (r *Report) OnceFreed(v *vehicle.Vehicle, sign []int8) string {
	for i := range sign {
		if sign[i] != 0 && r.MayBeJammed(v.Thrusters[i].Name) {
			return " (once " + r.jammed() + " turns freely)"
		}
	}
	return ""
}

// MayBeJammed says whether a thruster is one that may be jammed now.
func (r *Report) MayBeJammed(thruster string) bool {
	return slices.ContainsFunc(r.jams(), func(names []string) bool { return slices.Contains(names, thruster) })
}
