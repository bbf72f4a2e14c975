package vehicle

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Medians against what is measured and printed: a 12 V lead battery of 7 Ah has
// 25 mΩ by its maker, without fuse and leads; two-core PVC cords to IEC 60227
// are 7.0, 7.8, 9.5 mm thick at 0.75, 1.5, 2.5 mm².
func TestPriorsAgainstPublished(t *testing.T) {
	b := Battery{NominalV: 12, CapacityAh: 7, Chemistry: "lead-acid"}
	assert.InDelta(t, 0.025, batteryOhm(&Vehicle{Battery: b}, 0)-terminalsOhm, 0.001)
	spread := byPath["tether.diameter_mm"].prior.spread.sd
	for area, mm := range map[float64]float64{0.75: 7.0, 1.5: 7.8, 2.5: 9.5} {
		v := &Vehicle{Tether: Tether{Power: Conductor{AreaMM2: area, Parallel: 1}}}
		assert.InDelta(t, 0, math.Log(mm/tetherMM(v, 0)), spread, "%g mm²", area)
	}
}

// No vehicle drawn from the priors pulls more than momentum theory allows, has
// more copper than tether, stalls in its own test, or turns water faster than
// its motor turns: at most one in a hundred, by its far tail.
func TestPriorsAgainstPhysics(t *testing.T) {
	v := reads(t, leastKnown)
	normal := rand.New(rand.NewPCG(3, 4)).NormFloat64
	const n = 1000
	bad := map[string]int{}
	for range n {
		w := v.Draw(normal)
		p := &w.Thrusters[0]
		if p.TestN > momentumLimitN(p.PropDiameterMM/1000, p.shaftW(), 1000) {
			bad["momentum"]++
		}
		if 2*w.Tether.Power.Area() > math.Pi/4*w.Tether.DiameterMM*w.Tether.DiameterMM {
			bad["copper"]++
		}
		if p.TestV-p.TestA*p.ArmatureOhm < 0.1*p.TestV {
			bad["stall"]++
		}
		if 1.4*math.Pow(w.Hull.DisplacedKG/1000, 2.0/3)/w.Hull.DragAreaM2 > 10 {
			bad["drag"]++
		}
	}
	for what, count := range bad {
		assert.LessOrEqual(t, count, n/50, what)
	}
}

// Arms that nobody states let all surge thrusters together run straight, and
// no fewer, ahead or astern.
func TestArmsUnknown(t *testing.T) {
	for n := 2; n <= 5; n++ {
		v := &Vehicle{stated: map[keyElement]stated{}}
		for range n {
			v.Thrusters = append(v.Thrusters, Thruster{Axis: "surge"})
		}
		straight := 0
		for signs := range int(math.Pow(3, float64(n))) {
			sum, running := 0.0, 0
			for i := range n {
				if s := signs%3 - 1; s != 0 {
					sum, running = sum+float64(s)*arm(v, i), running+1
				}
				signs /= 3
			}
			if math.Abs(sum) < Straight && running > 0 {
				straight++
				assert.Equal(t, n, running)
			}
		}
		assert.Equal(t, 2, straight, "all ahead, all astern")
	}
}
