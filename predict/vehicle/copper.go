package vehicle

import "math"

const (
	// CopperPerK is the temperature coefficient of copper's resistance at 20 °C,
	// 1/K (IEC 60028).
	CopperPerK = 0.00393
	// CopperGCM3 is the density of copper, g/cm³; handbook value from memory.
	CopperGCM3 = 8.96
)

const (
	copperOhmMM2M = 1.0 / 58 // Ω·mm²/m of annealed copper at 20 °C, IEC 60028
	layFactor     = 1.02     // strands are this much longer than the cable; common practice, no source
)

// AWGArea returns the area in mm² of a solid American Wire Gauge conductor (ASTM B258: d = 0.005 in
// · 92^((36−n)/39)).
func AWGArea(gauge float64) float64 {
	d := 0.005 * 25.4 * math.Pow(92, (36-gauge)/39)
	return math.Pi / 4 * d * d
}

// OhmPerMetre returns the resistance of one conductor in Ω/m at a copper temperature in °C. A size
// is taken as stranded; a measured ohm_km needs no lay factor.
func (c *Conductor) OhmPerMetre(tempC float64) float64 {
	warm := 1 + CopperPerK*(tempC-20)
	switch {
	case c.OhmKM > 0:
		return c.OhmKM / 1000 * warm
	case c.AWG != nil:
		return layFactor * copperOhmMM2M / AWGArea(*c.AWG) * warm
	default:
		return layFactor * copperOhmMM2M / c.AreaMM2 * warm
	}
}

// CableOhm returns the resistance of the power loop's copper, without joints, at a water
// temperature in °C.
func (t *Tether) CableOhm(waterC float64) float64 {
	return 2 * t.LengthM * t.Power.OhmPerMetre(waterC) / float64(max(t.Power.Parallel, 1))
}

// Area returns a conductor's copper in mm²: as stated, from its gauge, or from its resistance.
func (c *Conductor) Area() float64 {
	switch {
	case c.AreaMM2 > 0:
		return c.AreaMM2
	case c.AWG != nil:
		return AWGArea(*c.AWG)
	}
	return layFactor * copperOhmMM2M * 1000 / c.OhmKM
}

// Copper returns the copper of one leg, all parallel conductors together, mm².
func (c *Conductor) Copper() float64 { return c.Area() * float64(max(c.Parallel, 1)) }

// MostTetherM returns the tether's length, m, or the upper end of its range where the file gives
// one.
func (v *Vehicle) MostTetherM() float64 {
	if b := v.Belief("tether.length_m"); b.Origin == Range {
		return b.High
	}
	return v.Tether.LengthM
}

// LoopOhm returns the resistance of the whole power loop with its joints at a water temperature in
// °C.
func (v *Vehicle) LoopOhm(waterC float64) float64 {
	return v.Tether.CableOhm(waterC) + v.Tether.Power.JointsOhm
}
