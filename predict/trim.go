package predict

// BallastFor is the dry mass in g to add (+) or take off (−), beside the
// condition's BallastG, so that the vehicle floats by wantG where the
// condition says: Archimedes' b − want = m·(1 − ρ/ρ_ballast).
func (m *Model) BallastFor(c *Condition, p Params, wantG float64) float64 {
	rho := WaterDensity(c.WaterC, c.Salinity)
	return (m.NetBuoyancyG(c) + p[TrimG] - wantG) / (1 - rho/m.Vehicle.Hull.BallastDensityKGM3)
}
