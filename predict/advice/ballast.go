package advice

import "sagline/predict"

// LightestBallast is the least density of what is used as ballast, kg/m³: stone and concrete have
// 2,000 to 2,700; from memory. Where a log's hover weights show less, ballast_g has a slip.
const LightestBallast = 2000.0

// BallastShare returns the share of its dry weight that ballast has in the condition's water, by
// what is known of it but not below that of the lightest.
func BallastShare(m *predict.Model, c *predict.Condition, p predict.Params) float64 {
	rho := predict.WaterDensity(c.WaterC, c.Salinity)
	return max(m.BallastShare(rho, p), 1-rho/LightestBallast)
}

// BallastFor returns the dry mass in g to add (+) or take off (−), beside the condition's BallastG,
// so that the vehicle floats by wantG under the condition: Archimedes' b − want = m·(1 −
// ρ/ρ_ballast).
func BallastFor(m *predict.Model, c *predict.Condition, p predict.Params, wantG float64) float64 {
	return (m.NetBuoyancyG(c, p) - wantG) / BallastShare(m, c, p)
}
