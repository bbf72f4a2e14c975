package steady

import (
	"math"
	"math/rand/v2"
)

// A phase is a time at one level.
type phase struct{ seconds, volts, amps float64 }

// noisy makes a record of two channels at a rate: levels that a lag of tau
// seconds follows, noise whose neighbours correlate by phi, a slow sag.
func noisy(rng *rand.Rand, hz float64, phases []phase, sdV, sdA, phi, tau, sagPerMinute float64) *Record {
	r := &Record{Channels: []Channel{{Least: 0.02}, {Least: 0.15}}}
	var v, a, ev, ea float64
	fresh := math.Sqrt(1 - phi*phi)
	for i, p := range phases {
		for range int(p.seconds * hz) {
			if i == 0 && len(r.Time) == 0 {
				v, a, ev, ea = p.volts, p.amps, rng.NormFloat64(), rng.NormFloat64()
			}
			k := 1.0
			if tau > 0 {
				k = 1 - math.Exp(-1/(tau*hz))
			}
			v, a = v+k*(p.volts-v), a+k*(p.amps-a)
			ev, ea = phi*ev+fresh*rng.NormFloat64(), phi*ea+fresh*rng.NormFloat64()
			t := float64(len(r.Time)) / hz
			r.Time = append(r.Time, t)
			r.Channels[0].X = append(r.Channels[0].X, v+sdV*ev-sagPerMinute*t/60)
			r.Channels[1].X = append(r.Channels[1].X, a+sdA*ea)
		}
	}
	return r
}
