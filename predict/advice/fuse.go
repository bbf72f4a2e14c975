package advice

import (
	"math"
	"slices"
)

// fuseSizes are the ratings that blade and bolt-down fuses are sold in, A: ISO
// 8820-3 and 8820-5, from memory.
var fuseSizes = []float64{1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 40, 50, 60, 70, 80, 100, 125, 150, 175, 200, 225, 250, 300, 350, 400, 450, 500}

// opening is the longest that a blade fuse may take to open, s, at multiples
// of its rating: ISO 8820-3, from memory. Below the first it need not open.
var opening = []struct{ times, seconds float64 }{{1.35, 600}, {1.6, 50}, {2, 5}, {3.5, 0.5}, {6, 0.1}}

// FuseBlows is how many times its rating a dead short is to drive through a
// fuse, which then opens within five seconds (ISO 8820-3, from memory).
const FuseBlows = 2.0

// fuseSeconds is the longest that a fuse takes to open, between the multiples
// of the table as a power of the current, beyond them as its heat says (I²t);
// infinite where it need not open.
func fuseSeconds(amps, rating float64) float64 {
	times := amps / rating
	if times < opening[0].times {
		return math.Inf(1)
	}
	for i, to := range opening[1:] {
		if from := opening[i]; times <= to.times {
			share := math.Log(times/from.times) / math.Log(to.times/from.times)
			return from.seconds * math.Pow(to.seconds/from.seconds, share)
		}
	}
	last := opening[len(opening)-1]
	return last.seconds * math.Pow(last.times/times, 2)
}

// Fuse is the fuse at the battery against a dead short at the vehicle's end of
// the tether and against the heaviest run.
type Fuse struct {
	RatingA  float64  // 0: none stated
	ShortA   Range    // of a dead short, on the less favourable vehicle
	HeavyA   float64  // most that the heaviest run may draw
	FuseS    float64  // the longest that the fuse may take at the least short; infinite: it need not open
	CableS   float64  // until the power conductors reach 160 °C at the least short, no heat lost
	BetterA  *float64 // the largest standard fuse that a dead short blows and the heaviest run does not
	BetterOf *float64 // mm²: without such a fuse, the next conductor that has one
}

// Blows says whether a dead short blows the fuse at once, and before the
// tether gets hot.
func (f *Fuse) Blows() bool { return f.RatingA > 0 && f.blows(f.RatingA) }

// carries is how many times its rating a fuse carries for a hundred hours (ISO
// 8820-3, from memory).
const carries = 1.1

// Carries says whether the fuse lets the heaviest run pass.
func (f *Fuse) Carries() bool { return f.HeavyA <= carries*f.RatingA }

// Met says whether the fuse is as it should be.
func (f *Fuse) Met() bool { return f.Blows() && f.Carries() }

// CableFirst says whether the tether is hot before the fuse has opened.
func (f *Fuse) CableFirst() bool { return f.CableS < f.FuseS }

func (f *Fuse) blows(rating float64) bool {
	return f.ShortA.Low >= FuseBlows*rating && fuseSeconds(f.ShortA.Low, rating) <= f.CableS
}

// suggest finds the largest standard fuse that would do.
func (f *Fuse) suggest() *float64 {
	for _, size := range slices.Backward(fuseSizes) {
		if f.blows(size) && f.HeavyA <= carries*size {
			return &size
		}
	}
	return nil
}
