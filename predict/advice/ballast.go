package advice

import "sagline/predict"

// BallastFor returns the dry mass in g to add (+) or take off (−), beside the condition's BallastG,
// so that the vehicle floats by wantG under the condition: Archimedes' b − want = m·(1 −
// ρ/ρ_ballast).
func BallastFor(m *predict.Model, c *predict.Condition, p predict.Params, wantG float64) float64 {
	rho := predict.WaterDensity(c.WaterC, c.Salinity)
	return (m.NetBuoyancyG(c, p) - wantG) / m.BallastShare(rho, p)
}
