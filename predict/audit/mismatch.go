package audit

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/fit"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/units"
)

// A Mismatch is where the vehicle as dived differs from its file by more than
// the file's own tolerances allow.
type Mismatch struct {
	Path  string  // of the key to look at first; "": it is about one dive
	Dive  int     // index of that dive
	Since string  // label of the [[change]] that rebuilt it; "": from the start
	By    float64 // in the unit of Text; the logarithm of a share; 0 for one dive
	Text  string  // by how much, and what that could be
}

// LoopExcess returns by how much the power loop's resistance exceeds the file's, Ω, and since which
// dive; 0 if it does not.
func LoopExcess(r *fit.Result) (ohm float64, since string) {
	for _, m := range Mismatches(r) {
		if strings.HasPrefix(m.Path, "tether.") && m.By > 0 {
			return m.By, cmp.Or(m.Since, r.Dives[0].Log.Label)
		}
	}
	return 0, ""
}

// Said returns its text with since when.
func (m *Mismatch) Said() string {
	if m.Since != "" {
		return m.Text
	}
	return "from the start: " + m.Text
}

// mismatchOf is a way in which a vehicle may differ from its file.
type mismatchOf struct {
	keys        []string                        // that could be wrong
	param       int                             // parameter in which their effect is measured, or ofKey
	cause       string                          // name of the cause that looks the same from the start; "": none
	unit        string                          // "": a share
	what        string                          // "the loop has"
	than        func(v *vehicle.Vehicle) string // nil: the file says
	more, fewer string                          // what it could be
}

// ofKey marks a mismatch that is measured in the key itself.
const ofKey = -1

var mismatches = []mismatchOf{
	{keys: []string{"tether.power.joints_ohm", "tether.length_m", "tether.power.awg", "tether.power.area_mm2", "tether.power.ohm_km"}, param: predict.LoopOhm, cause: "power_loop", unit: "Ω", what: "the power loop has", than: cable,
		more: "a bad joint from the start, or another cable than the file says?", fewer: "a thicker or a shorter cable than the file says?"},
	{keys: []string{"battery.resistance_ohm"}, param: predict.BatteryOhm, cause: "battery", unit: "Ω", what: "the battery has",
		more: "a bad clip or fuse holder, an old battery, or another than the file says?", fewer: "another battery than the file says?"},
	{keys: []string{"thruster.*.test_a"}, param: ofKey, what: "the thrusters draw",
		more: "propellers fouled from the start, or a test at another voltage?", fewer: "other motors or propellers than were tested, or a test at another voltage?"},
	{keys: []string{"thruster.*.test_n"}, param: ofKey, cause: "thrust", what: "the thrusters pull",
		more: "other propellers than were tested?", fewer: "propellers worn, fouled or badly placed from the start, or a pull test that went wrong?"},
	{keys: []string{"thruster.*.no_load_a"}, param: ofKey, what: "the motors idle on",
		more: "a tight seal or bearing from the start?", fewer: "a no-load current that was read in water?"},
	{keys: []string{"thruster.*.branch_ohm"}, param: ofKey, unit: "Ω", what: "each branch has",
		more: "a bad relay contact or lead from the start?", fewer: "other leads than the file says?"},
	{keys: []string{"thruster.*.prop_pitch_mm", "thruster.*.no_load_rpm"}, param: predict.LogPitch, what: "the propellers screw forward",
		more: "another propeller or motor than the file says?", fewer: "another propeller or motor than the file says?"},
	{keys: []string{"thruster.*.astern"}, param: ofKey, what: "astern they pull",
		more: "other propellers than were tested?", fewer: "other propellers than were tested?"},
	{keys: []string{"hull.drag_area_m2"}, param: ofKey, cause: "drag", what: "the hull drags",
		more: "weed, a skid or a float that the guess left out?", fewer: "a guess that was too large?"},
	{keys: []string{"hull.climb_drag_area_m2"}, param: ofKey, what: "up and down the hull drags",
		more: "a deck or a float that the guess left out?", fewer: "a guess that was too large?"},
	{keys: []string{"hull.trim_g"}, param: predict.TrimG, cause: "ingress", unit: "g", what: "the vehicle floats by",
		more: "ballast that the file still counts, or salt water that no line mentions?", fewer: "water in a tube or foam from the start, or ballast that the file does not know of?"},
	{keys: []string{"hull.displaced_kg"}, param: ofKey, what: "the vehicle displaces",
		more: "a weight that was read without its ballast or tubes?", fewer: "a weight that was read with water in it?"},
}

// cable words what the power loop is by the file.
func cable(v *vehicle.Vehicle) string {
	p := &v.Tether.Power
	size := units.Digits(p.OhmKM, 3) + " Ω/km"
	switch {
	case p.AWG != nil:
		size = fmt.Sprintf("%g AWG", *p.AWG)
	case p.AreaMM2 > 0:
		size = fmt.Sprintf("%g mm²", p.AreaMM2)
	}
	if p.Parallel > 1 {
		size = fmt.Sprintf("%d × %s a leg", p.Parallel, size)
	}
	return v.Units.Plain(v.Tether.LengthM, "m") + " of " + size + " should have"
}

// A difference is reported from sureMismatch standard deviations of the readings and farMismatch of
// the file's own tolerances on. With about twelve such numbers about one sound vehicle in a hundred
// is then said to differ.
const (
	sureMismatch = 3.3
	farMismatch  = vehicle.Z95
)

// Mismatches returns where the vehicle differs from what its file states: by its baseline, and for
// what a [[change]] rebuilt by the first dives after it.
func Mismatches(r *fit.Result) []Mismatch {
	if len(r.Dives) == 0 {
		return nil
	}
	k := keysGiven(r, asDived(r))
	other := func(d fit.DiveFit) bool { return d.Battery != r.Dives[0].Battery }
	var out []Mismatch
	for _, m := range mismatches {
		era, paths := rebuiltLast(r, k, &m)
		switch {
		case era > 0:
			out = append(out, rebuiltOtherwise(r, &m, era, paths)...)
		case m.param == predict.BatteryOhm && slices.ContainsFunc(r.Dives[:r.Baseline], other):
			first := m
			first.what = "battery " + cmp.Or(r.Dives[0].Battery, "one") + " has" // the baseline's mean is no single battery's
			out = append(out, keysGiven(r, r.OfBaseline()).mismatch(r, &first, 0, "")...)
		default:
			out = append(out, k.mismatch(r, &m, 0, "")...)
		}
	}
	return append(fromStart(r, out), oddDives(r)...)
}

// rebuiltLast returns the newest era with dives that rebuilt keys of a row, and their paths; 0
// without one.
func rebuiltLast(r *fit.Result, k *givenKeys, m *mismatchOf) (era int, paths []string) {
	for n := range r.Eras {
		of := slices.DeleteFunc(slices.Clone(r.Eras[n].Changed), func(path string) bool { return !slices.Contains(m.keys, k.keyOf(path)) })
		if len(of) > 0 && r.Eras[n].First < len(r.Dives) {
			era, paths = n, of
		}
	}
	return era, paths
}

// rebuiltOtherwise judges a row in an era by a calibration on the era's own first dives, or on the
// first since the rebuilt part was last serviced.
func rebuiltOtherwise(r *fit.Result, m *mismatchOf, era int, paths []string) []Mismatch {
	log := session.Log{Dives: divesToJudge(r, era, paths)}
	if len(log.Dives) == 0 {
		return nil
	}
	anew, err := fit.Fit(r.Eras[era].Vehicle, &log)
	if err != nil {
		return nil // these dives by themselves cannot be calibrated on
	}
	return keysGiven(anew, asDived(anew)).mismatch(r, m, era, log.Dives[0].Label)
}

// divesToJudge returns the dives of an era by which paths are judged. Those since an instrument was
// replaced are left out: what the new one reads differently would be blamed on the vehicle.
func divesToJudge(r *fit.Result, era int, paths []string) (out []session.Dive) {
	most := r.Eras[era].Vehicle.Baseline.Dives
	replaced := func(d int) bool {
		services := servicesOf(&r.Dives[d])
		return slices.ContainsFunc(r.Space.Causes, func(c causes.Cause) bool { return c.Kind == causes.Instrument && c.ClearedBy(services) })
	}
	at := workedOn(r, era, paths)
	for d := r.Eras[era].First; d < len(r.Dives) && r.Dives[d].Era == era && len(out) < most && !replaced(d); d++ {
		if d >= at {
			out = append(out, *r.Dives[d].Log)
		}
	}
	return out
}

// servicesOf returns what was worked on before lines of a dive.
func servicesOf(d *fit.DiveFit) (out []string) {
	for i := range d.Log.Lines {
		out = append(out, d.Log.Lines[i].Serviced...)
	}
	return out
}

// workedOn returns the dive of an era at which a part of the paths was last serviced, else its
// first dive.
func workedOn(r *fit.Result, era int, paths []string) int {
	e := &r.Eras[era]
	at, params := e.First, fit.Anew(e.Vehicle, paths)
	for d := e.First; d < len(r.Dives) && r.Dives[d].Era == era; d++ {
		services := servicesOf(&r.Dives[d])
		if slices.ContainsFunc(r.Space.Causes, func(c causes.Cause) bool {
			return c.ClearedBy(services) && slices.ContainsFunc(c.Reach(), func(t causes.Term) bool { return slices.Contains(params, t.Param) })
		}) {
			at = d
		}
	}
	return at
}

// keyOf returns the key of a path, "" for none; thrusters share their keys.
func (k *givenKeys) keyOf(path string) string {
	for _, d := range k.keys {
		if slices.Contains(d.Paths, path) {
			return strings.TrimSuffix(d.Key, vehicle.LeftOut)
		}
	}
	return ""
}

// mismatch returns the mismatch of a row, if any: of the vehicle from the start (era 0), or of an
// era from a dive on.
func (k *givenKeys) mismatch(r *fit.Result, m *mismatchOf, era int, dive string) []Mismatch {
	w := mat.NewVecDense(max(len(k.keys), 1), nil)
	mean, far, given, path := 0.0, 0.0, false, ""
	for i, d := range k.keys {
		b := k.v.Belief(d.Paths[0])
		if !slices.Contains(m.keys, d.Key) || era == 0 && slices.ContainsFunc(d.Paths, func(path string) bool { return rebuilt(r, path) }) {
			continue
		}
		given = given || b.Origin != vehicle.Prior
		by := b.SD
		switch {
		case m.param >= 0:
			by = d.By[m.param]
		case m.unit == "" && !b.Log:
			by /= math.Abs(b.Value)
		}
		w.SetVec(i, by)
		mean += by * k.z[d.Key]
		far += k.shift(m, &k.keys[i], by)
		switch anew := slices.IndexFunc(d.Paths, func(path string) bool { return slices.Contains(r.Eras[era].Changed, path) }); {
		case anew >= 0:
			path = d.Paths[anew]
		case era == 0 && (path == "" || d.Key == m.keys[0]):
			path = d.Paths[0]
		}
	}
	before := mat.Norm(w, 2)
	if before == 0 || !given {
		return nil
	}
	learnt := math.Sqrt(max(before*before-mat.Inner(w, k.cov, w), 0))
	if c := toldFromStart(r); c != nil && m.isOf(c) && era == 0 { // the whole departure, more than its keys account for
		far = r.Base[c.Param()] - r.Space.Prior.Mean[r.Space.InStatic[r.Space.Place[c.Param()]]]
		mean = far
	} else if math.Abs(mean) < farMismatch*before || math.Abs(mean) < sureMismatch*learnt {
		return nil
	}
	could, than, from := m.more, "the file says", ""
	if mean < 0 {
		could = m.fewer
	}
	if m.than != nil {
		than = m.than(k.v)
	}
	if era > 0 {
		could, from = strings.Replace(could, " from the start", " since then", 1), "from dive "+dive+" on "
	}
	return []Mismatch{{Path: path, Since: r.Eras[era].Dive, By: far, Text: fmt.Sprintf("%s%s %s than %s: %s", from, m.what, m.amount(k.v, far), than, could)}}
}

// shift returns how far a key lies from the file in the unit of a row. For keys known only to a
// factor it does not use the slope at the file's value.
func (k *givenKeys) shift(m *mismatchOf, d *priors.Doubt, by float64) float64 {
	z := k.z[d.Key]
	switch b := k.v.Belief(d.Paths[0]); {
	case m.unit == "":
		return by * z
	case m.param >= 0:
		return predict.Difference(k.v, k.v.Varied(map[string]float64{d.Key: z}))[m.param]
	default:
		return b.At(z) - b.Value
	}
}

// amount words a departure in its unit, or as a share.
func (m *mismatchOf) amount(v *vehicle.Vehicle, x float64) string {
	than := "more"
	if x < 0 {
		than = "less"
	}
	if m.unit != "" {
		u := v.Units.In(m.unit)
		return strings.TrimSpace(fmt.Sprintf("%s %s %s", units.Digits(math.Abs(u.FromBase(x)), 2), u.Name, than))
	}
	return fmt.Sprintf("%.0f %% %s", 100*math.Abs(math.Exp(x)-1), than)
}

// fewestAlike is the least number of dives in a baseline for one to differ from the others.
const fewestAlike = 3

// oddDives returns the dives of the baseline that contradict themselves, and those that differ from
// its others by more than sound dives do, one Mismatch per quantity.
func oddDives(r *fit.Result) (out []Mismatch) {
	for b := range r.Dives[:r.Baseline] {
		if sum := r.Dives[b].Summary; sum.Contradicts {
			so := "its readings count for next to nothing"
			if !sum.LeftOut {
				so = "so do all others of the baseline, and all that rests on it may be off"
			}
			how := "contradicts itself from line to line, as a contact that comes and goes does"
			if as := r.Looks(b).AsIf(); as != "" {
				how = "looks " + as + ", or " + how
			}
			out = append(out, Mismatch{Dive: b, Text: fmt.Sprintf("dive %s of the baseline %s: %s", r.Dives[b].Log.Label, how, so)})
		}
	}
	if r.Baseline < fewestAlike {
		return out
	}
	for _, c := range r.Space.Causes {
		if c.Tracked && !c.Scale.Absolute && r.Space.Place[c.Param()] >= 0 {
			out = append(out, oddBy(r, &c, r.Space.Place[c.Param()])...)
		}
	}
	return out
}

// rebuiltSinceFirst reports whether a rebuild up to dive b has set a place's level anew since the
// first dive.
func rebuiltSinceFirst(r *fit.Result, b, at int) bool {
	for era := 1; era <= r.Dives[b].Era; era++ {
		if slices.ContainsFunc(r.Rebuilt(era), func(f fit.Free) bool { return f.Place == at }) {
			return true
		}
	}
	return false
}

// oddBy returns the dives of the baseline that differ from its others by a cause's quantity, at a
// place of the space, in at most one Mismatch.
func oddBy(r *fit.Result, c *causes.Cause, at int) []Mismatch {
	u := r.Model.Vehicle.Units.In(c.Scale.Unit)
	var dives []int
	var labels, values []string
	for b := range r.Dives[:r.Baseline] {
		if r.Dives[b].Departures == nil || r.Dives[b].Summary.Contradicts || rebuiltSinceFirst(r, b, at) {
			continue
		}
		x, p := r.Dives[b].Departures[at], r.Space.Known(at)
		if i := r.Space.InStatic[at]; i >= 0 { // the baseline's mean includes that dive
			x.Mean -= r.SoundOffset[i]
		}
		if sq(x.Mean) > sq(fit.FarOut)*(sq(p.Scatter)+x.Variance) {
			dives, labels, values = append(dives, b), append(labels, r.Dives[b].Log.Label), append(values, units.Digits(u.FromBase(c.Scale.Show(x.Mean, 0)), 2))
		}
	}
	amounts := strings.TrimSpace(c.Words + " " + strings.Join(values, ", ") + " " + u.Name)
	switch len(dives) {
	case 0:
		return nil
	case 1:
		return []Mismatch{{Dive: dives[0], Text: fmt.Sprintf("dive %s differs from the other dives of the baseline: %s; is that dive to count as sound?", labels[0], amounts)}}
	}
	return []Mismatch{{Dive: dives[0], Text: fmt.Sprintf("dives %s of the baseline differ from each other: %s; what changed between them, and which are to count as sound?", strings.Join(labels, ", "), amounts)}}
}
