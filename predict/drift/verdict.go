package drift

import (
	"fmt"
	"strings"

	"sagline/session/units"
)

// What is known of a quantity now.
const (
	Drifting   = "drifting"       // it has a pattern
	Sound      = "sound"          // its level's interval keeps clear of the limit
	CannotTell = "cannot tell"    // the interval reaches too far: the readings leave both open
	NotJudged  = "not yet judged" // no dives after the baseline
)

// soundShare is how much of the way from the sound value to the limit the 95 %
// interval of a sound quantity's level may reach; common practice, no source.
const soundShare = 0.5

// stateOf is a trend's state. One without a limit has only its pattern.
func (a *analysis) stateOf(t *Trend) string {
	switch {
	case len(a.r.Dives) <= a.r.Baseline:
		return NotJudged
	case t.Pattern != Steady:
		return Drifting
	case t.Limit == nil || t.reach() <= soundShare:
		return Sound
	}
	return CannotTell
}

// reach is how much of the way from the sound value to the limit the level's
// interval reaches, 1 and more where it may be past.
func (t *Trend) reach() float64 {
	way := *t.Limit - t.Baseline
	if way == 0 {
		return 1
	}
	return max((t.Level.High-t.Baseline)/way, (t.Level.Low-t.Baseline)/way)
}

// Verdict is the state of the whole vehicle in a clause, for a log without a
// finding: what is not known is not called sound.
func (r *Report) Verdict() string {
	if !r.Judged {
		return fmt.Sprintf("not yet judged: %d of the %d dives that later ones are judged by", len(r.Dives), r.Baseline)
	}
	var open []string
	for _, t := range r.Trends {
		if t.State != CannotTell {
			continue
		}
		u := r.Unit(t.Quantity)
		t = t.In(u)
		open = append(open, strings.TrimSpace(fmt.Sprintf("%s (%s %s", t.Cause.Words, t.Level, u.Name))+", limit "+units.Digits(*t.Limit, 3)+")")
	}
	if len(open) == 0 {
		return fmt.Sprintf("nothing is drifting: after %d dives every quantity is sound", len(r.Dives))
	}
	return "nothing is seen to drift, but these readings cannot tell " + strings.Join(open, ", ")
}
