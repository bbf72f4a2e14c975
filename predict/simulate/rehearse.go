package simulate

import (
	"cmp"
	"slices"
	"strconv"
	"time"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/fit"
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
	Mistaken int     `json:"mistaken"` // seasons with an alarm for something else
	False    int     `json:"false"`    // seasons with an alarm before the fault began
}

// Dives of a rehearsed season, and how many of them are sound.
const (
	rehearsedDives = 36
	rehearsedSound = 12
)

// Run simulates the seasons, every other one in the measured world with instruments that are
// slightly off. progress, unless nil, is called after each. It returns the error of a fit.
func (h Rehearsal) Run(v *vehicle.Vehicle, progress func(done, all int)) (Rehearsed, error) {
	out := Rehearsed{Seasons: h.Seasons}
	var delays []float64
	for k := range h.Seasons {
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
		r, err := fit.Fit(v, Log(v, s), nil)
		if err != nil {
			return out, err
		}
		h.count(drift.Analyse(r), &out, &delays)
		if progress != nil {
			progress(k+1, h.Seasons)
		}
	}
	slices.Sort(delays)
	out.Noticed = len(delays)
	if n := len(delays); n > 0 {
		out.Median, out.Ninety = delays[n/2], delays[n*9/10]
	}
	return out, nil
}

// count counts a season as noticed, mistaken or false by its alarms.
func (h Rehearsal) count(rep *findings.Report, out *Rehearsed, delays *[]float64) {
	noticed, mistaken, early := false, false, false
	for _, a := range rep.Alarms {
		raised, err := strconv.Atoi(a.RaisedDive)
		switch {
		case err != nil:
		case raised <= rehearsedSound:
			early = true
		case a.Quantity == h.Cause.Quantity && !noticed:
			noticed = true
			*delays = append(*delays, float64(raised-rehearsedSound))
		case a.Quantity != h.Cause.Quantity:
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
