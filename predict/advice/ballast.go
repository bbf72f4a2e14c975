package advice

import "sagline/predict"

// leastBallastShare is the least share of its dry weight that any ballast has in water: stone and
// concrete, of 2,000 to 2,700 kg/m³, have half of it or more; from memory. Where a log's hover
// weights show less, ballast_g has a slip.
const leastBallastShare = 0.5

// BallastShare returns the share of its dry weight that ballast has in the condition's water, by
// what is known of it but not below that of stone.
func BallastShare(m *predict.Model, c *predict.Condition, p predict.Params) float64 {
	return max(m.BallastShare(predict.WaterDensity(c.WaterC, c.Salinity), p), leastBallastShare)
}

// BallastFor returns the dry mass in g to add (+) or take off (−), beside the condition's BallastG,
// so that the vehicle floats by wantG under the condition: Archimedes' b − want = m·(1 −
// ρ/ρ_ballast).
func BallastFor(m *predict.Model, c *predict.Condition, p predict.Params, wantG float64) float64 {
	return (m.NetBuoyancyG(c, p) - wantG) / BallastShare(m, c, p)
}
