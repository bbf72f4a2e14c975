package advice

import (
	"math"
	"slices"
)

// FuseSizes are the ratings in which blade and bolt-down fuses are sold, A: ISO 8820-3 and 8820-5,
// from memory.
var FuseSizes = []float64{1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 40, 50, 60, 70, 80, 100, 125, 150, 175, 200, 225, 250, 300, 350, 400, 450, 500}

// An opens is the longest time in which a fuse opens, s, at a multiple of its rating.
type opens struct{ times, seconds float64 }

// blade and bolted are those of fuses up to mostBlade and above: a maker's data
// sheets of blade fuses to ISO 8820-3 of 1 to 40 A (0.75 to 600 s
// at 1.35 times, 0.25 to 50 s at 1.6, 0.15 to 5 s at 2, 0.08 to 0.5 s at 3.5, at
// most 0.15 s at 6) and of 20 to 80 A (60 to 1,800 s, at 2 times 2 to 50 s, 0.2
// to 7 s, 0.04 to 1 s), as two other projects quote them. Below the first a fuse
// need not open.
var (
	blade  = []opens{{1.35, 600}, {1.6, 50}, {2, 5}, {3.5, 0.5}, {6, 0.15}}
	bolted = []opens{{1.35, 1800}, {2, 50}, {3.5, 7}, {6, 1}}
)

// mostBlade is the rating of the largest quick blade fuse, A.
const mostBlade = 40

// disconnectionS is the longest time in which a dead short must open the fuse, s: IEC 60364-4-41
// for disconnection, from memory. A blade fuse takes that long at twice its rating.
const disconnectionS = 5.0

// fuseSeconds returns the longest time in which a fuse opens, s. Between the multiples of its table
// it is a power of the current, above them it follows I²t; it is infinite if the fuse need not
// open.
func fuseSeconds(amps, rating float64) float64 {
	table := blade
	if rating > mostBlade {
		table = bolted
	}
	times := amps / rating
	if times < table[0].times {
		return math.Inf(1)
	}
	for i, to := range table[1:] {
		if from := table[i]; times <= to.times {
			share := math.Log(times/from.times) / math.Log(to.times/from.times)
			return from.seconds * math.Pow(to.seconds/from.seconds, share)
		}
	}
	last := table[len(table)-1]
	return last.seconds * math.Pow(last.times/times, 2)
}

// Fuse compares the fuse at the battery with a dead short at the vehicle's end of the tether and
// with the heaviest run.
type Fuse struct {
	RatingA    float64  // 0: none stated
	ShortA     Range    // current of a dead short, on the less favourable vehicle
	HeavyA     float64  // the most that the heaviest run may draw
	LikelyA    float64  // what it likely draws
	FuseS      float64  // fuseSeconds at the least short
	BearsA     float64  // current that the power conductors bear for long, by bearsA
	Density    float64  // A/mm² in the power conductors at the most that a short may draw
	CableS     float64  // until the power conductors reach 160 °C at the least short, no heat lost
	BetterA    *float64 // the largest standard fuse that meets the margin
	MendedA    *float64 // without such a fuse, the one that meets it once the loop is as in the file; nil: none
	BetterOf   *float64 // mm²: without such a fuse, the next conductor size with which there is one
	ThenA      *float64 // and that fuse
	ShorterM   *float64 // m: without such a fuse, a shorter tether with which there is one
	OnShorterA *float64 // and that fuse
	LessA      *float64 // without such a fuse, the largest that meets it with fewer thrusters at a time; nil: none
}

// Blows reports whether a dead short blows the fuse at once, before the tether gets hot.
func (f *Fuse) Blows() bool {
	return f.RatingA > 0 && fuseSeconds(f.ShortA.Low, f.RatingA) <= min(disconnectionS*(1+1e-9), f.CableS)
}

// overload is how many times its rating a fuse carries for a hundred hours: "110 %:
// 100 h without opening, 135 %: opens between 0.75 s and 600 s" in a maker's data
// sheet of blade fuses to ISO 8820-3, as another project quotes it. Small fuses to
// UL 248-14 carry it for 4 h, those to IEC 60269-1 1.25 times and more; the data
// sheets of blade and bolted have the hundred hours of the rating itself.
const overload = 1.1

// Carries reports whether the fuse lets the heaviest run pass.
func (f *Fuse) Carries() bool { return f.HeavyA <= overload*f.RatingA }

// cords are the currents in A that two-core flexible cords bear for long at 30 °C, by mm²: to 4 mm²
// BS 7671, table 4F3A (PVC), from there on a maker's table for rubber cords to BS 7919, as sellers
// quote them.
var cords = []struct{ mm2, amps float64 }{{0.5, 3}, {0.75, 6}, {1, 10}, {1.25, 13}, {1.5, 16}, {2.5, 25}, {4, 32}, {6, 39}, {10, 51}, {16, 73}}

// beyondCords is the power of the cross-section by which the current grows above the table: IEC
// 60364-5-52, annex D, from memory.
const beyondCords = 0.625

// bearsA returns the current that conductors side by side, of so much copper together, bear for
// long, A.
func bearsA(mm2 float64, parallel int) float64 {
	n := float64(max(parallel, 1))
	return n * oneBearsA(mm2/n)
}

// oneBearsA is bearsA of one conductor. Between sizes of the table it is a power of the
// cross-section, below them proportional to it.
func oneBearsA(mm2 float64) float64 {
	first, last := cords[0], cords[len(cords)-1]
	switch {
	case mm2 <= first.mm2:
		return first.amps * mm2 / first.mm2
	case mm2 >= last.mm2:
		return last.amps * math.Pow(mm2/last.mm2, beyondCords)
	}
	i := slices.IndexFunc(cords, func(c struct{ mm2, amps float64 }) bool { return c.mm2 > mm2 })
	from, to := cords[i-1], cords[i]
	return from.amps * math.Pow(to.amps/from.amps, math.Log(mm2/from.mm2)/math.Log(to.mm2/from.mm2))
}

// Protects reports whether the power conductors bear the fuse's rating for long, so that they bear
// for a while what it lets pass: IEC 60364-4-43 asks this, and that it opens at 1.45 times what
// they bear; from memory. Blade fuses open at 1.35 times their rating.
func (f *Fuse) Protects() bool { return f.RatingA <= f.BearsA*(1+1e-9) }

// Met reports whether the fuse blows, carries and protects.
func (f *Fuse) Met() bool { return f.Blows() && f.Carries() && f.Protects() }

// does reports whether a fuse of a rating in A would meet the margin.
func (f *Fuse) does(rating float64) bool {
	other := *f
	other.RatingA = rating
	return other.Met()
}

// doesForLess is does if no more runs at a time than the fuse carries.
func (f *Fuse) doesForLess(rating float64) bool {
	other := *f
	other.RatingA = rating
	return other.Blows() && other.Protects()
}

// AtATimeA returns the highest current that may run at a time on a fuse of LessA, A.
func (f *Fuse) AtATimeA() float64 { return overload * *f.LessA }

// CableFirst reports whether the tether, at least if wound on its reel, is hot before the fuse
// opens.
func (f *Fuse) CableFirst() bool { return f.CableS < f.FuseS && f.Density > reelDensity }

// largestFuse returns the largest standard fuse that will do, nil for none.
func largestFuse(does func(size float64) bool) *float64 {
	for _, size := range slices.Backward(FuseSizes) {
		if does(size) {
			return &size
		}
	}
	return nil
}
