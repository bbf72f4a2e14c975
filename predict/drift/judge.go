package drift

import (
	"math"

	"sagline/predict"
	"sagline/predict/findings"
)

// soundShare is how much of the way from the sound value to the limit the 95 %
// interval of a sound quantity's level may reach; common practice, no source.
const soundShare = 0.5

// surelyBelow is how many standard deviations a level lies below what can be from
// which it is said; common practice, no source.
const surelyBelow = 3.0

// impossible says whether the level of a cause's quantity is one that no vehicle
// has: a battery's resistance below 0, a branch or the loop that has lost more than
// all that it had, or friction so much less that no motor would draw a current
// without load.
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

// stateOf is the state of a trend of a cause's quantity. One without a limit has
// only its pattern.
func (a *analysis) stateOf(c int, t *findings.Trend) string {
	switch {
	case len(a.r.Dives) <= a.r.Baseline:
		return findings.NotJudged
	case t.Pattern != findings.Steady:
		return findings.Drifting
	case a.impossible(c, t):
		return findings.CannotBe
	case t.Limit != nil && a.causes[c].Worse*(a.amplitude(c, t.Level.Value)-a.amplitude(c, *t.Limit)) > 0:
		return findings.PastLimit
	case t.Limit == nil:
		return findings.Sound
	}
	switch from, to := reach(t); {
	case to <= soundShare:
		return findings.Sound
	case from >= soundShare && to < 1:
		return findings.NearLimit
	}
	return findings.CannotTell
}

// reach is from and to what share of the way from the sound value to the limit the interval of a
// trend's level reaches, to 1 and more where it may be past.
func reach(t *findings.Trend) (from, to float64) {
	way := *t.Limit - t.Baseline
	if way == 0 {
		return 0, 1
	}
	low, high := (t.Level.Low-t.Baseline)/way, (t.Level.High-t.Baseline)/way
	return min(low, high), max(low, high)
}
