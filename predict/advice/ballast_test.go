package advice

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"sagline/predict"
	"sagline/predict/invented"
	"sagline/session/quantity"
)

// With the ballast that BallastFor asks for, the vehicle as its dives have it floats
// as wanted, in water of any density.
func TestBallastBringsTheTrimWanted(t *testing.T) {
	m := predict.NewModel(invented.Vehicle())
	rapid.Check(t, func(rt *rapid.T) {
		c := predict.Condition{Sign: make([]int8, 3), WaterC: rapid.Float64Range(0, 30).Draw(rt, "t"), Salinity: rapid.Float64Range(0, 40).Draw(rt, "s"),
			DepthM: rapid.Float64Range(0, 20).Draw(rt, "h"), BallastG: rapid.Float64Range(-500, 500).Draw(rt, "ballast")}
		p := m.NewParams()
		p[predict.TrimG] = rapid.Float64Range(-100, 100).Draw(rt, "trim")
		p[predict.LogDisplaced], p[predict.TrimPerM] = rapid.Float64Range(-2, 2).Draw(rt, "displaced"), rapid.Float64Range(-5, 5).Draw(rt, "per m")
		want := rapid.Float64Range(-50, 200).Draw(rt, "want")
		c.BallastG += BallastFor(m, &c, p, want)
		var pt predict.Point
		m.Solve(&c, p, &pt, nil)
		assert.InDelta(rt, want, pt.Out[quantity.Trim], 1e-9*(1+math.Abs(c.BallastG)))
	})
}

// From fresh to sea water a hull of 11 kg gains 11 kg·(ρ/ρ_ref − 1): with the
// densities of Unesco 44 at 25 °C, S 35 against fresh water at 15 °C.
func TestSaltWaterFloatsTheHull(t *testing.T) {
	m := predict.NewModel(invented.Vehicle())
	c := predict.Condition{Sign: make([]int8, 3), WaterC: 25, Salinity: 35}
	assert.InDelta(t, 60+11000*(1023.34306/predict.WaterDensity(15, 0)-1), m.NetBuoyancyG(&c, m.NewParams()), 1e-3)
}

// Where a slip in ballast_g makes a log's ballast as light as water or lighter, what to add is reckoned for stone, and
// keeps its sign.
func TestBallastIsNoLighterThanStone(t *testing.T) {
	m := predict.NewModel(invented.Vehicle())
	c := predict.Condition{Sign: make([]int8, 3), WaterC: 15}
	for _, kgM3 := range []float64{900, 1000, 1100, 1900} {
		p := m.NewParams()
		p[predict.BallastLift] = (1/kgM3 - 1/m.Vehicle.Hull.BallastDensityKGM3) * predict.WaterDensity(15, 0)
		assert.InDelta(t, (60-30)/(1-predict.WaterDensity(15, 0)/2000), BallastFor(m, &c, p, 30), 1e-6, "%g kg/m³", kgM3)
	}
	p := m.NewParams()
	p[predict.BallastLift] = (1./2400 - 1/m.Vehicle.Hull.BallastDensityKGM3) * predict.WaterDensity(15, 0)
	assert.InDelta(t, 30/(1-predict.WaterDensity(15, 0)/2400), BallastFor(m, &c, p, 30), 0.01)
}
