package simulate

import (
	"cmp"
	"runtime"
	"slices"
	"strconv"
	"time"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/parallel"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// A Rehearsal asks how soon a fault would be noticed on a vehicle, with its
// instruments, dive after dive.
type Rehearsal struct {
	Cause   causes.Cause
	Size    float64 // per dive for a ramp, at once for a step; in the parameter's unit, worse is +
	Step    bool
	Seasons int
	Without []quantity.Quantity // readings that are not taken
	NoDepth bool                // the depth is not written down either
	Seed    uint64
}

// Rehearsed is what a rehearsal showed.
type Rehearsed struct {
	Seasons  int     `json:"seasons"`
	Noticed  int     `json:"noticed"`
	Median   float64 `json:"median_dives"` // from the fault's first dive to its alarm
	Ninety   float64 `json:"ninety_percent_dives"`
	Mistaken int     `json:"mistaken"` // seasons with an alarm for something else until then
	False    int     `json:"false"`    // seasons with an alarm before the fault began
}

// Dives of a rehearsed season, how many of them are sound, and how many are tried first, since most
// faults that are noticed are so by then.
const (
	rehearsedDives = 36
	rehearsedSound = 12
	rehearsedSoon  = rehearsedSound + 8
)

// Run simulates the seasons, every other one in the measured world with instruments that are
// slightly off, each until the fault is noticed. progress, unless nil, is called after each. It returns
// the error of a fit.
func (h Rehearsal) Run(v *vehicle.Vehicle, progress func(done, all int)) (Rehearsed, error) {
	out := Rehearsed{Seasons: h.Seasons}
	alarms, done := make([][]findings.Alarm, h.Seasons), parallel.Counter(progress, h.Seasons)
	err := parallel.Each(make([]struct{}, runtime.GOMAXPROCS(0)), h.Seasons, func(k int, _ struct{}) error {
		defer done()
		whole := Log(v, h.season(v, k))
		for _, dives := range []int{rehearsedSoon, rehearsedDives} {
			log := *whole
			log.Dives = log.Dives[:dives]
			r, err := fit.Fit(v, &log)
			if err != nil {
				return err
			}
			if alarms[k] = drift.Alarms(r, h.noticed); h.noticed(alarms[k]) {
				break
			}
		}
		return nil
	})
	if err != nil {
		return out, err
	}
	var delays []float64
	for _, all := range alarms {
		h.count(all, &out, &delays)
	}
	slices.Sort(delays)
	out.Noticed = len(delays)
	if n := len(delays); n > 0 {
		out.Median, out.Ninety = delays[n/2], delays[n*9/10]
	}
	return out, nil
}

// season returns the kth season.
func (h Rehearsal) season(v *vehicle.Vehicle, k int) Season {
	s := Season{Dives: rehearsedDives, Start: time.Date(2025, 3, 1, 0, 0, 0, 0, time.UTC), Seed: h.Seed + uint64(k), Without: h.Without, Ohms: true, Lights: h.Cause.Param() == predict.LightsA,
		Drift: func(d int, p predict.Params) {
			if d <= rehearsedSound {
				return
			}
			by := cmp.Or(h.Cause.Worse, 1) * h.Size // up where both ways are worse
			if !h.Step {
				by *= float64(d - rehearsedSound)
			}
			for _, t := range h.Cause.Amplitudes[0].Terms {
				p[t.Param] += by * t.Per
			}
		}}
	if h.NoDepth || h.Cause.Param() == predict.AssumedDepthM {
		s.NoDepthFrom = 1
	}
	if k%2 == 1 {
		s.World, s.Meters = NewMeasured(v, s.Seed), true
	}
	return s
}

// notices reports whether an alarm is of the fault, once it has begun.
func (h Rehearsal) notices(a findings.Alarm) bool {
	raised, err := strconv.Atoi(a.RaisedDive)
	return err == nil && raised > rehearsedSound && a.Quantity == h.Cause.Quantity
}

// noticed reports whether the fault is among the alarms.
func (h Rehearsal) noticed(alarms []findings.Alarm) bool {
	return slices.ContainsFunc(alarms, h.notices)
}

// count counts a season as noticed, mistaken or false by its alarms.
func (h Rehearsal) count(alarms []findings.Alarm, out *Rehearsed, delays *[]float64) {
	mistaken, early := false, false
	for _, a := range alarms {
		raised, err := strconv.Atoi(a.RaisedDive)
		switch {
		case err != nil:
		case raised <= rehearsedSound:
			early = true
		case h.notices(a):
			*delays = append(*delays, float64(raised-rehearsedSound))
		default:
			mistaken = true
		}
	}
	if mistaken {
		out.Mistaken++
	}
	if early {
		out.False++
	}
}
