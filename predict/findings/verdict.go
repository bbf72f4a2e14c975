package findings

import (
	"fmt"
	"slices"
	"strings"

	"sagline/predict/causes"
	"sagline/session/units"
)

// States of a trend: what is known of its quantity now.
const (
	Drifting   = "drifting"       // it has a pattern
	Sound      = "sound"          // its level's interval keeps clear of the limit
	CannotTell = "cannot tell"    // the interval reaches too far: the readings leave both open
	CannotBe   = "cannot be"      // physically impossible: the model or the file is wrong
	PastLimit  = "past its limit" // steadily: from the start, or since a part was fitted; the interval wholly beyond half of the way to it
	NearLimit  = "near its limit" // the level is within the limit, the interval wholly beyond half of the way to it
	NotAsBuilt = "not as built"   // better than any repair of what the file says could make it: another part
	NotJudged  = "not yet judged" // no dives after the baseline
)

// Alarming reports whether an alarm is open, or was on another battery's last dive, or a level stands
// past its limit.
func (r *Report) Alarming() bool {
	return len(r.Findings)+len(r.OtherBatteries) > 0 || slices.ContainsFunc(r.Trends, func(t Trend) bool { return t.State == PastLimit })
}

// Verdict words the state of the whole vehicle in a clause, for a log without a finding that is
// told. What is not known, or may have changed, is not called sound.
func (r *Report) Verdict() string {
	if !r.Judged {
		return fmt.Sprintf("not yet judged: %d of the %d dives that later ones are judged by", len(r.Dives), r.Baseline)
	}
	perhaps := r.perhaps()
	var wrong, another, past, nearLimit, but []string
	var open []Trend
	for _, t := range r.Trends {
		switch t.State {
		case CannotBe:
			wrong = append(wrong, t.Cause.Words)
		case NotAsBuilt:
			another = append(another, r.beside(t))
		case PastLimit:
			past = append(past, t.Cause.Words)
		case NearLimit:
			nearLimit = append(nearLimit, r.beside(t))
		case CannotTell:
			if t.Cause.Kind == causes.Vehicle { // other kinds are in perhaps already
				open = append(open, t)
			}
		}
	}
	if r.Unsettled {
		but = append(but, "the calibration did not converge")
	}
	if r.Differs != "" {
		but = append(but, r.Differs)
	}
	if len(wrong) > 0 {
		but = append(but, "the level of "+strings.Join(wrong, ", ")+" cannot be")
	}
	if len(another) > 0 {
		but = append(but, strings.Join(another, ", ")+are(another, " is", " are")+" not as built")
	}
	for _, b := range r.OtherBatteries {
		but = append(but, b.Name()+" had an open alarm when it was last used")
	}
	if len(past) > 0 {
		but = append(but, strings.Join(past, ", ")+are(past, " stands past its limit", " stand past their limits"))
	}
	if len(nearLimit) > 0 {
		but = append(but, strings.Join(nearLimit, ", ")+are(nearLimit, " stands near its limit", " stand near their limits"))
	}
	if len(open) > 0 {
		but = append(but, "these readings cannot tell "+r.open(open))
	}
	out := "nothing is seen to drift"
	switch {
	case len(perhaps) > 0:
		out = "nothing is sure, but perhaps " + strings.Join(perhaps, ", ")
		if len(but) > 0 {
			out += "; and "
		}
	case len(but) > 0:
		out += ", but "
	default:
		return fmt.Sprintf("nothing is drifting: after %d dives every quantity is sound", len(r.Dives))
	}
	return out + strings.Join(but, ", and ")
}

// mostBeside is up to how many quantities are worded with their levels; beyond that the table has
// them. Common practice, no source.
const mostBeside = 3

// open words which quantities the readings cannot tell.
func (r *Report) open(of []Trend) string {
	var out []string
	if len(of) > mostBeside && len(of) == len(r.Trends) {
		return "any quantity"
	}
	for _, t := range of {
		if len(of) > mostBeside {
			out = append(out, t.Cause.Words)
		} else {
			out = append(out, r.beside(t))
		}
	}
	return strings.Join(out, ", ")
}

// are returns the verb for one thing or for several.
func are(things []string, one, several string) string {
	if len(things) == 1 {
		return one
	}
	return several
}

// beside words a quantity with its level and its limit, if it has one.
func (r *Report) beside(t Trend) string {
	u := r.Unit(t.Quantity)
	t = t.In(u)
	if t.Limit == nil {
		return fmt.Sprintf("%s (%s)", t.Cause.Words, t.LevelSaid(u.Name))
	}
	return fmt.Sprintf("%s (%s, limit %s)", t.Cause.Words, t.LevelSaid(u.Name), units.Digits(*t.Limit, 3))
}

// perhaps words what has a pattern, an open alarm or a finding, each quantity once.
func (r *Report) perhaps() (out []string) {
	var said []string
	add := func(quantity, text string) {
		if !slices.Contains(said, quantity) {
			said, out = append(said, quantity), append(out, text)
		}
	}
	for _, t := range r.Trends {
		if t.State == Drifting {
			add(t.Quantity, fmt.Sprintf("%s (%s since dive %s)", t.Cause.Words, t.Pattern, t.OnsetDive))
		}
	}
	for _, a := range r.Alarms {
		if a.ClearedDive == nil {
			add(a.Quantity, fmt.Sprintf("%s (an alarm is open since dive %s)", a.Cause.Words, a.RaisedDive))
		}
	}
	for _, f := range r.Findings {
		words := f.Cause.Words
		if f.Cause.Kind == causes.NotLogged {
			words = f.Cause.What
		}
		add(f.Cause.Quantity, fmt.Sprintf("%s (since dive %s)", words, f.SinceDive))
	}
	return out
}

// leftOver is the least share of a fault that must surely be left after a service for the remark
// that it mended only a part, and the least share of the way to the limit by which work surely made
// worse what was sound for that to be said: common practice, no source.
const leftOver = 0.25

// leaves reports whether, even at the better end of its interval, the level of a trend is at least
// leftOver of what it was when an era with a fault ended.
func (t *Trend) leaves(before *Era) bool {
	if before.Pattern == Steady || len(before.Levels) == 0 {
		return false
	}
	departure := before.Levels[len(before.Levels)-1].Value - t.Baseline
	return min((t.Level.Low-t.Baseline)/departure, (t.Level.High-t.Baseline)/departure) >= leftOver
}

// worsened reports whether work made a trend worse that was steady, by leftOver of the way to its
// limit even at the better end of its interval.
func (t *Trend) worsened(before *Era) bool {
	if before.Pattern != Steady || len(before.Levels) == 0 {
		return false
	}
	was, way := before.Levels[len(before.Levels)-1].Value, *t.Limit-t.Baseline
	return min((t.Level.Low-was)/way, (t.Level.High-was)/way) >= leftOver
}

// BesideFindings returns the remarks on quantities that stand past their limits or near them, where findings
// are told of others alone and no remark of said has them. Without any finding Verdict has them, and only
// those past their limits are worth a check.
func (r *Report) BesideFindings(said []string) (out []string) {
	told := r.Reported()
	for _, t := range r.Trends {
		if t.State != PastLimit && (t.State != NearLimit || len(told) == 0) || slices.ContainsFunc(told, func(f Finding) bool { return f.Cause.Quantity == t.Quantity }) ||
			slices.ContainsFunc(said, func(s string) bool { return strings.HasPrefix(s, t.Cause.Words+" is ") }) {
			continue
		}
		out = append(out, fmt.Sprintf("%s is %s: %s", r.beside(t), t.State, t.Cause.Check))
	}
	return out
}

// CannotBe returns the remarks on impossible levels.
func (r *Report) CannotBe() (out []string) {
	for _, t := range r.Trends {
		if t.State == CannotBe {
			u := r.Unit(t.Quantity)
			t = t.In(u)
			out = append(out, fmt.Sprintf("%s of %s cannot be: the model or the file is off", t.Cause.Words, t.LevelSaid(u.Name)))
		}
	}
	return out
}

// NotMended returns the remarks on work, on a fault or not, since which a quantity is past its
// limit or near it, with its 95 % interval wholly on the worse side of sound; and on work that left
// part of a fault within the limit, or made a sound quantity worse within it. Another battery is no
// work on the one before.
func (r *Report) NotMended() (out []string) {
	for _, t := range r.Trends {
		n := len(t.Eras)
		if n == 0 || t.Limit == nil || t.Eras[n-1].To != t.From || t.Eras[n-1].Another {
			continue
		}
		way := *t.Limit - t.Baseline
		if way*(t.Level.Low-t.Baseline) <= 0 || way*(t.Level.High-t.Baseline) <= 0 {
			continue
		}
		before, from, u := &t.Eras[n-1], t.From, r.Unit(t.Quantity)
		if t.State != PastLimit && t.State != NearLimit {
			mended := "has mended only part of what was wrong"
			if t.worsened(before) {
				mended = fmt.Sprintf("made it so; look at that work again, or where another part was fitted say it with sagline change --from %q", r.Dives[from].Dive)
			} else if !t.leaves(before) {
				continue
			}
			if t.State != Drifting && len(r.Dives[from].Rebuilt) == 0 {
				t = t.In(u)
				levels := t.Eras[n-1].Levels
				out = append(out, fmt.Sprintf("%s is %s, within its limit, and was %s before dive %s: what was done there %s", t.Cause.Words, t.LevelSaid(u.Name), units.Digits(levels[len(levels)-1].Value, 2), r.Dives[from].Dive, mended))
			}
			continue
		}
		bad := func(e *Era) bool {
			return e.Pattern == Steady && len(e.Levels) > 0 && (e.Levels[len(e.Levels)-1].Value-t.Baseline)/way > 0.5
		}
		for ; n > 1 && bad(before) && t.Eras[n-2].To == before.From; n-- { // it was so before, and is since the work before that
			before, from = &t.Eras[n-2], before.From
		}
		worse := before.Pattern == Steady // it was sound before, so the work made it worse
		if worse && (len(before.Levels) == 0 || bad(before) || len(r.Dives[from].Rebuilt) > 0) {
			continue
		}
		t = t.In(u)
		dive := r.Dives[from].Dive
		if worse {
			out = append(out, fmt.Sprintf("%s is %s since dive %s, %s: what was done before that dive made it so; look at that work again, or where another part was fitted say it with sagline change --from %q", t.Cause.Words, t.State, dive, t.LevelSaid(u.Name), dive))
			continue
		}
		out = append(out, fmt.Sprintf("%s is still %s, %s: what was done at dive %s has not mended all that was wrong before it", t.Cause.Words, t.State, t.LevelSaid(u.Name), dive))
	}
	return out
}
