package predict

import "math"

// BallastFor is the dry mass in g to add (+) or take off (−), beside the
// condition's BallastG, so that the vehicle floats by wantG where the
// condition says: Archimedes' b − want = m·(1 − ρ/ρ_ballast).
func (m *Model) BallastFor(c *Condition, p Params, wantG float64) float64 {
	rho := WaterDensity(c.WaterC, c.Salinity)
	return (m.NetBuoyancyG(c) + p[TrimG] - wantG) / (1 - rho/m.Vehicle.Hull.BallastDensityKGM3)
}

// FloodedG is what a tube gains in g when it fills with water of density rho
// (kg/m³): its inside, end caps' thickness left out.
func (t *Tube) FloodedG(rho float64) float64 {
	bore := max(t.OuterMM-2*t.WallMM, 0) / 1000
	return 1000 * rho * math.Pi / 4 * bore * bore * t.LengthMM / 1000
}
