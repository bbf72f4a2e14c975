package drift

import (
	"fmt"
	"math"
	"slices"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/instrument"
	"sagline/predict/priors"
	"sagline/session/quantity"
)

// soundShare is the share of the way from the sound value to the limit that the 95 % interval of a
// sound level may reach; common practice, no source.
const soundShare = 0.5

// surelyBelow is how many standard deviations a level must lie below the possible to be reported as
// impossible; common practice, no source.
const surelyBelow = 3.0

// impossible reports whether the level of a cause's quantity is physically impossible: a battery
// resistance below 0, a branch or loop that has lost more resistance than it had, or friction so
// low that no motor would draw a current without load.
func (a *analysis) impossible(c int, t *findings.Trend) bool {
	k, had := a.causes[c].Param(), 0.0
	switch {
	case t.Limit == nil:
		return false
	case k == predict.BatteryOhm:
		return t.Level.High < 0
	case k == predict.LoopOhm:
		had, _ = a.r.Model.BuiltOhm(k)
		had += a.r.Model.Vehicle.Tether.CableOhm(20)
	case k == predict.FrictionA:
		for i, th := range a.r.Model.Vehicle.Thrusters {
			had = max(had, th.NoLoadA*math.Exp(a.r.Base[predict.LogSize])+a.r.Base[predict.OfThruster(i, predict.OneFrictionA)])
		}
	default:
		branch := false
		if had, branch = a.r.Model.BuiltOhm(k); !branch {
			return false
		}
	}
	return t.Level.Value+surelyBelow/z95*(t.Level.High-t.Level.Value) < -max(had+a.r.Base[k], 0)
}

// notAsBuilt reports whether the power loop has lost more resistance than all its joints had,
// beyond the file's tolerances: no work on the same cable does that, another cable does.
func (a *analysis) notAsBuilt(c int, t *findings.Trend) bool {
	if t.Limit == nil || a.causes[c].Param() != predict.LoopOhm {
		return false
	}
	joints, _ := a.r.Model.BuiltOhm(predict.LoopOhm)
	least := -max(joints+a.r.Base[predict.LoopOhm], 0) - z95*priors.Parameters(a.r.Model)[predict.LoopOhm].Prior
	return t.Level.Value+surelyBelow/z95*(t.Level.High-t.Level.Value) < least
}

// otherBuilds returns the remarks on trends in state NotAsBuilt.
func (a *analysis) otherBuilds(trends []findings.Trend) (out []string) {
	for _, t := range trends {
		if t.State != findings.NotAsBuilt {
			continue
		}
		dive := a.r.Dives[t.From].Log.Label
		if i := slices.IndexFunc(trends, func(o findings.Trend) bool { return o.Cause.Mends == t.Cause.Name }); i >= 0 {
			dive = trends[i].OnsetDive
		}
		out = append(out, fmt.Sprintf("since dive %s the power loop has less resistance than its cable alone should have (%s): was the tether shortened or exchanged? If so say it with sagline change --from %q --set tether.length_m=…; until then the readings that are expected are the old one's",
			dive, t.LevelSaid("Ω"), dive))
	}
	return out
}

// stateOf returns the state of a trend of a cause's quantity. One without a limit has only its
// pattern, or CannotTell if none is sure.
func (a *analysis) stateOf(c int, t *findings.Trend) string {
	switch {
	case len(a.r.Dives) <= a.r.Baseline:
		return findings.NotJudged
	case t.Pattern != findings.Steady:
		return findings.Drifting
	case a.impossible(c, t):
		return findings.CannotBe
	case a.notAsBuilt(c, t):
		return findings.NotAsBuilt
	case t.Limit == nil: // it has a trend because something may have begun, and no pattern because that is not sure
		return findings.CannotTell
	}
	past := func(level float64) bool {
		return a.causes[c].Worse*(a.amplitude(c, level)-a.amplitude(c, *t.Limit)) > 0
	}
	switch from, to := reach(t); {
	case past(t.Level.Value) && (from >= soundShare || past(t.Baseline)):
		return findings.PastLimit
	case c == a.insulation() && a.newest(quantity.Insulation, t.From) < *t.Limit: // whatever the dives before say
		return findings.PastLimit
	case past(t.Level.Value): // but it may be next to sound
		return findings.CannotTell
	case to <= soundShare:
		return findings.Sound
	case from >= soundShare: // and it may be past
		return findings.NearLimit
	}
	return findings.CannotTell
}

// insulation returns the cause of the power pair's insulation.
func (a *analysis) insulation() int {
	return slices.IndexFunc(a.causes, func(c causes.Cause) bool { return c.Name == "insulation" })
}

// reads reports whether a dive has a reading of a quantity.
func (a *analysis) reads(dive int, q quantity.Quantity) bool {
	return slices.ContainsFunc(a.r.Dives[dive].Cells, func(c fit.Cell) bool { return c.Quantity == q })
}

// newest returns the newest reading of a quantity from a dive on that was not set aside, +Inf for none.
func (a *analysis) newest(q quantity.Quantity, from int) float64 {
	for n := len(a.r.Dives) - 1; n >= from; n-- {
		for _, c := range slices.Backward(a.r.Dives[n].Cells) {
			if c.Quantity == q && !c.Outlier {
				return instrument.OffScale(q, c.Value)
			}
		}
	}
	return math.Inf(1)
}

// reach returns the shares of the way from the sound value to the limit that the ends of the
// interval of a trend's level reach: 1 or more may be past the limit.
func reach(t *findings.Trend) (from, to float64) {
	way := *t.Limit - t.Baseline
	if way == 0 {
		return 0, 1
	}
	low, high := (t.Level.Low-t.Baseline)/way, (t.Level.High-t.Baseline)/way
	return min(low, high), max(low, high)
}
