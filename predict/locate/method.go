package locate

import (
	"fmt"
	"math"

	"sagline/predict/vehicle"
)

// A method is one way to read something of the chain: a row of the table.
type method struct {
	name    string
	unit    string   // of a reading
	with    []string // dimensions of what may stand beside it
	needs   []string // instruments
	minutes float64  // effort; common practice, no source
	slip    float64  // how far a slip of a reading may lie out, in the model's unit
	yesNo   bool
	do      func(s *Search, t *Test) string
	safety  string

	// model is what the method reads where the fault has a size and sits in a
	// spot, with one standard deviation: ohms, ln(MΩ), a ratio, a probability of
	// yes, amperes or kPa.
	model func(s *Search, t *Test, c *circumstances, spot int, size float64) (mean, sd float64)
	shown func(c *circumstances, y float64) float64 // the model's unit to the reading's; nil: the same
}

// What instruments err by, one standard deviation, where vehicle.toml does not
// say: common practice, no source.
const (
	tipsMV         = 0.5  // a voltmeter's millivolts with its tips pressed on by hand
	voltmeterShare = 0.01 // of what it reads
	predictedShare = 0.1  // of a current that is predicted and not read
	leakSD         = 0.5  // of ln(MΩ): a leak dries and wets
	soundLeakSD    = 1    // of ln(MΩ): sound insulation lies anywhere within a decade
	ratioSD        = 0.015
	gaugeKPa       = 0.4
	modelShare     = 0.03 // of a thruster's current as calibrated
)

const (
	unplugged   = "battery unplugged first"
	bladesClear = "hands clear of the blades; low voltage only, fuse at the battery"
	moved       = 0.9  // that a bad contact jumps when it is moved; common practice, no source
	movedElse   = 0.05 // that it does when something else is
)

var (
	millivolts = method{name: "millivolts", unit: "mV", with: []string{"A", "°C"}, needs: []string{"voltmeter"}, minutes: 4, slip: 5, safety: bladesClear,
		do: func(s *Search, t *Test) string {
			four := ""
			if t.From == 0 && t.To == len(s.parts) {
				four = " (four-wire: the current by the clamp, the volts by wires of their own)"
			}
			return fmt.Sprintf("with %s held still, about %.1f A, read the millivolts along the %s leg from %s to %s, and the current%s",
				s.load, s.usual.amps, t.Leg, s.pointName(t.From), s.pointName(t.To), four)
		},
		model: func(s *Search, t *Test, c *circumstances, spot int, size float64) (float64, float64) {
			mean, sd := s.soundOver(t, c)
			if t.covers[spot] {
				mean += size
			}
			return mean, math.Hypot(sd, math.Hypot(tipsMV/1000/c.amps, mean*math.Hypot(voltmeterShare, c.ampsShare)))
		},
		shown: func(c *circumstances, y float64) float64 { return 1000 * y * c.amps }}

	ohmmeter = method{name: "ohms", unit: "Ω", with: []string{"°C"}, needs: []string{"ohmmeter"}, minutes: 5, slip: 5, safety: unplugged + "; take the short off afterwards",
		do: func(s *Search, t *Test) string {
			return fmt.Sprintf("short the pair %s, read the ohms of both legs from the battery clips, less what the tips read when they touch, and note how warm the copper is", s.pointName(t.To))
		},
		model: func(s *Search, t *Test, c *circumstances, spot int, size float64) (float64, float64) {
			mean, sd := s.soundOver(t, c)
			if t.covers[spot] {
				mean += size
			}
			return mean, math.Hypot(sd, s.v.Instruments.LoopOhm)
		}}

	insulation = method{name: "insulation", unit: "MΩ", needs: []string{"insulation"}, minutes: 10, slip: 20,
		safety: unplugged + "; electronics unplugged too where a tester of 250 V or more is used, and the leg discharged afterwards",
		do: func(s *Search, t *Test) string {
			what := "both legs, joined,"
			if t.Leg != "" {
				what = "the " + t.Leg + " leg, parted from the other and from the vehicle at the box,"
			}
			return fmt.Sprintf("put only the length from %s to %s into the water, the rest dry, and read the megohms from %s to a bare wire in that water",
				s.pointName(t.From), s.pointName(t.To), what)
		},
		model: func(s *Search, t *Test, _ *circumstances, spot int, size float64) (float64, float64) {
			if t.covers[spot] {
				return s.leakLn + size, leakSD
			}
			return s.leakLn, soundLeakSD
		},
		shown: func(_ *circumstances, y float64) float64 { return math.Exp(y) }}

	murray = method{name: "bridge", unit: "", needs: []string{"voltmeter"}, minutes: 20, slip: 1,
		safety: "battery unplugged from the vehicle first; feed the loop from a small battery through a lamp and a fuse",
		do: func(*Search, *Test) string {
			return "tether in the water, its ends dry, both legs joined at the box and parted from the vehicle; with current around that loop read the volts from a wire in the water " +
				"to the + end and to the - end at the battery, with the battery one way and the other; the reading is the + volts over the sum of both, or the bridge's ratio"
		},
		model: func(s *Search, _ *Test, _ *circumstances, spot int, _ float64) (float64, float64) {
			return s.loopRatio(spot)
		}}

	wiggle = method{name: "move", yesNo: true, needs: []string{"clamp"}, minutes: 2, safety: bladesClear,
		do: func(s *Search, t *Test) string {
			return fmt.Sprintf("with one thruster held and running, move and bend %s, and nothing else; does the current jump, yes or no", s.stretch(t))
		},
		model: func(_ *Search, t *Test, _ *circumstances, spot int, _ float64) (float64, float64) {
			if t.covers[spot] {
				return moved, 0
			}
			return movedElse, 0
		}}

	oneThruster = method{name: "alone", unit: "A", needs: []string{"clamp"}, minutes: 3, slip: 20, safety: bladesClear,
		do: func(s *Search, _ *Test) string {
			return "with " + s.load + " alone, held still, read the battery's current"
		},
		model: func(s *Search, t *Test, _ *circumstances, spot int, size float64) (float64, float64) {
			if !t.covers[spot] {
				size = 0
			}
			mean := s.amps(size)
			return mean, math.Hypot(s.v.Instruments.CurrentA, modelShare*mean)
		}}

	hold = method{name: "hold", unit: "kPa", with: []string{"min", "°C"}, needs: []string{"gauge"}, minutes: 20, slip: 20,
		safety: "vacuum rather than pressure, at most 20 kPa; under pressure keep clear of end caps, and open a tube that flooded at depth with care",
		do: func(s *Search, t *Test) string {
			return fmt.Sprintf("hold %s at -20 kPa for 10 minutes; the reading is the pressure at both times, the minutes and the temperature at both times", s.parts[t.From].name)
		},
		model: func(_ *Search, t *Test, c *circumstances, spot int, size float64) (float64, float64) {
			if !t.covers[spot] {
				size = 0
			}
			return size, c.holdSD
		}}
)

var methods = []*method{&millivolts, &ohmmeter, &insulation, &murray, &wiggle, &oneThruster, &hold}

// Instruments are what the methods need, for who has not got one.
var Instruments = []string{"voltmeter", "clamp", "ohmmeter", "insulation", "gauge"}

// soundOver is what a test's stretch has when sound, with one standard
// deviation of what is not known of it.
func (s *Search) soundOver(t *Test, c *circumstances) (mean, sd float64) {
	warm := 1 + vehicle.CopperPerK*(c.copperC-20)
	copper, variance := 0.0, 0.0
	for i := range s.spots {
		if !t.covers[i] {
			continue
		}
		o := s.sound[s.spots[i].at]
		copper += o.copper * warm
		mean += o.contacts
		variance += contactsSD * contactsSD * o.contacts * o.contacts
	}
	return mean + copper, math.Sqrt(variance + copper*copper*(lengthsSD*lengthsSD+vehicle.CopperPerK*vehicle.CopperPerK*c.copperSD*c.copperSD))
}

// loopRatio is where a spot lies on the loop of both legs joined at the far
// end, from the + end, as a share: Murray's loop of a uniform conductor.
func (s *Search) loopRatio(spot int) (ratio, sd float64) {
	sp, end := &s.spots[spot], s.v.Tether.LengthM
	if sp.at < 0 {
		return 0.5, 0.5
	}
	x := (sp.FromM + sp.ToM) / 2 / (2 * end)
	if sp.Leg == minus {
		x = 1 - x
	}
	return x, math.Hypot(ratioSD, (sp.ToM-sp.FromM)/(2*end)/math.Sqrt(12))
}
