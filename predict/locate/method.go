package locate

import (
	"fmt"
	"math"
	"slices"

	"sagline/predict/vehicle"
)

// A method is one way to read something of the chain: a row of the table.
type method struct {
	name    string
	unit    string   // of a reading
	with    []string // units that may be typed beside it
	needs   []string // instruments
	minutes float64  // effort; common practice, no source
	slip    float64  // how far off a slip of a reading may be, in the model's unit
	yesNo   bool
	where   func(s *Search, t *Test) string // the part of a test's name after the method's
	do      func(s *Search, t *Test) string
	safety  string

	// model returns the reading expected under a hypothesis, at the mean of its state: Ω, ln(MΩ), a
	// ratio, a probability of yes, A or kPa. row is its derivative by the state, sd the reading's
	// standard deviation.
	model     func(s *Search, t *Test, c *circumstances, h *hypothesis) (mean, sd float64, row []float64)
	toReading func(c *circumstances, y float64) float64 // from the model's unit to the reading's; nil: the same
}

// Standard deviations of instruments that vehicle.toml does not have: common practice, no source.
const (
	tipsMV         = 0.5  // a voltmeter's millivolts with its tips pressed on by hand
	voltmeterShare = 0.01 // of what it reads
	predictedShare = 0.1  // of a current that is predicted and not read
	leakSD         = 0.5  // ln(MΩ): a leak dries and wets
	soundLeakSD    = 1    // ln(MΩ): sound insulation lies anywhere within a decade
	ratioSD        = 0.015
	gaugeKPa       = 0.4
	modelShare     = 0.03 // of a thruster's current as calibrated
)

const (
	unplugged   = "battery unplugged first"
	bladesClear = "hands clear of the blades; low voltage only, fuse at the battery"
	moved       = 0.9  // probability that a bad contact jumps when it is moved; common practice, no source
	movedElse   = 0.05 // the same when another part is moved
)

var (
	millivolts = method{name: "millivolts", unit: "mV", with: []string{"A", "°C"}, where: between, needs: []string{"voltmeter"}, minutes: 4, slip: 5, safety: bladesClear,
		do: func(s *Search, t *Test) string {
			current := ", and the current"
			switch {
			case slices.Contains(s.without, "clamp"):
				current = ""
			case t.from == 0 && t.to == len(s.parts):
				current += " (four-wire: the current by the clamp, the volts by wires of their own)"
			}
			return fmt.Sprintf("with %s held still, about %.1f A, read the millivolts along the %s leg from %s to %s%s",
				s.load, s.typical.amps, t.leg, s.pointName(t.from), s.pointName(t.to), current)
		},
		model: func(s *Search, t *Test, c *circumstances, h *hypothesis) (float64, float64, []float64) {
			mean, sd, row := s.resistance(t, c, h)
			return mean, math.Hypot(sd, math.Hypot(tipsMV/1000/c.amps, mean*math.Hypot(voltmeterShare, c.ampsShare))), row
		},
		toReading: func(c *circumstances, y float64) float64 { return 1000 * y * c.amps }}

	ohmmeter = method{name: "ohms", unit: "Ω", with: []string{"°C"}, where: func(s *Search, t *Test) string { return " shorted " + s.pointName(t.to) }, needs: []string{"ohmmeter"}, minutes: 5, slip: 5, safety: unplugged + "; take the short off afterwards",
		do: func(s *Search, t *Test) string {
			return fmt.Sprintf("short the pair %s, read the ohms of both legs from the battery clips, less what the tips read when they touch, and note how warm the copper is", s.pointName(t.to))
		},
		model: func(s *Search, t *Test, c *circumstances, h *hypothesis) (float64, float64, []float64) {
			mean, sd, row := s.resistance(t, c, h)
			return mean, math.Hypot(sd, s.v.Instruments.LoopOhm), row
		}}

	insulation = method{name: "insulation", unit: "MΩ", where: between, needs: []string{"insulation"}, minutes: 10, slip: 20,
		safety: unplugged + "; electronics unplugged too where a tester of 250 V or more is used, and the leg discharged afterwards",
		do: func(s *Search, t *Test) string {
			what := "both legs, joined,"
			if t.leg != "" {
				what = "the " + t.leg + " leg, parted from the other and from the vehicle at the box,"
			}
			return fmt.Sprintf("put only the length from %s to %s into the water, the rest dry, and read the megohms from %s to a bare wire in that water",
				s.pointName(t.from), s.pointName(t.to), what)
		},
		model: func(s *Search, t *Test, _ *circumstances, h *hypothesis) (float64, float64, []float64) {
			if t.covers[h.spot] {
				return s.leakLn + h.state[ofSize], leakSD, []float64{1}
			}
			return s.leakLn, soundLeakSD, nil
		},
		toReading: func(_ *circumstances, y float64) float64 { return math.Exp(y) }}

	murray = method{name: "bridge", unit: "", where: func(*Search, *Test) string { return "" }, needs: []string{"voltmeter"}, minutes: 30, slip: 1,
		safety: "battery unplugged from the vehicle first; feed the loop from a small battery through a lamp and a fuse",
		do: func(*Search, *Test) string {
			return "tether in the water, its ends dry, both legs joined at the box and parted from the vehicle; with current around that loop read the volts from a wire in the water " +
				"to the + end and to the - end at the battery, with the battery one way and the other; the reading is the + volts over the sum of both, or the bridge's ratio"
		},
		model: func(s *Search, _ *Test, _ *circumstances, h *hypothesis) (float64, float64, []float64) {
			ratio, sd := s.loopRatio(h.spot)
			return ratio, sd, nil
		}}

	wiggle = method{name: "move", yesNo: true, where: stretch, needs: []string{"clamp"}, minutes: 2, safety: bladesClear,
		do: func(s *Search, t *Test) string {
			return fmt.Sprintf("with one thruster held and running, move and bend%s, and nothing else; does the current jump, yes or no", stretch(s, t))
		},
		model: func(_ *Search, t *Test, _ *circumstances, h *hypothesis) (float64, float64, []float64) {
			if t.covers[h.spot] {
				return moved, 0, nil
			}
			return movedElse, 0, nil
		}}

	oneThruster = method{name: "alone", unit: "A", where: func(s *Search, _ *Test) string { return " " + s.load }, needs: []string{"clamp"}, minutes: 3, slip: 20, safety: bladesClear,
		do: func(s *Search, _ *Test) string {
			return "with " + s.load + " alone, held still, read the battery's current"
		},
		model: func(s *Search, _ *Test, _ *circumstances, h *hypothesis) (float64, float64, []float64) {
			const step = 1e-4
			excess := h.state[ofSize] // 0 where the fault is elsewhere
			mean := s.amps(excess)
			return mean, math.Hypot(s.v.Instruments.CurrentA, modelShare*mean), []float64{(s.amps(excess+step) - mean) / step}
		}}

	hold = method{name: "hold", unit: "kPa", with: []string{"min", "°C"}, where: stretch, needs: []string{"gauge"}, minutes: 20, slip: 20,
		safety: "vacuum rather than pressure, at most 20 kPa; under pressure keep clear of end caps, and open a tube that flooded at depth with care",
		do: func(s *Search, t *Test) string {
			return fmt.Sprintf("hold%s at -20 kPa for 10 minutes; the reading is the pressure at both times, the minutes and the temperature at both times", stretch(s, t))
		},
		model: func(_ *Search, t *Test, c *circumstances, h *hypothesis) (float64, float64, []float64) {
			if t.covers[h.spot] {
				return h.state[ofSize], c.holdSD, []float64{1}
			}
			return 0, c.holdSD, nil
		}}
)

// Instruments names what the methods need.
var Instruments = []string{"voltmeter", "clamp", "ohmmeter", "insulation", "gauge"}

// resistance returns the resistance of a test's stretch under a hypothesis, Ω; sd is what the copper's
// unknown temperature adds, row its derivative by the state.
func (s *Search) resistance(t *Test, c *circumstances, h *hypothesis) (mean, sd float64, row []float64) {
	row = make([]float64, len(h.state))
	copper := 0.0
	for i := range s.spots {
		if t.covers[i] {
			copper += s.spots[i].copper
			mean += s.spots[i].contact + h.state[ofContact+i]
			row[ofContact+i] = 1
		}
	}
	row[ofCopper] = copper * (1 + vehicle.CopperPerK*(c.copperC-20))
	mean += row[ofCopper] * (1 + h.state[ofCopper])
	if t.covers[h.spot] {
		mean, row[ofSize] = mean+h.state[ofSize], 1
	}
	return mean, copper * vehicle.CopperPerK * c.copperSD, row
}

// loopRatio returns where a spot lies on the loop of both legs joined at the far end, from the +
// end, as a share: Murray's loop of a uniform conductor.
func (s *Search) loopRatio(spot int) (ratio, sd float64) {
	sp, end := &s.spots[spot], s.v.Tether.LengthM
	if sp.part == nil {
		return 0.5, 0.5
	}
	x := (sp.FromM + sp.ToM) / 2 / (2 * end)
	if sp.Leg == minus {
		x = 1 - x
	}
	return x, math.Hypot(ratioSD, (sp.ToM-sp.FromM)/(2*end)/math.Sqrt(12))
}
