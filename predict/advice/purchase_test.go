package advice

import (
	"math"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sagline/predict"
	"sagline/predict/invented"
	"sagline/predict/published"
	"sagline/predict/vehicle"
	"sagline/session/units"
)

// buyer asks without any doubt in the vehicle.
func buyer(v *vehicle.Vehicle) *Buyer {
	return &Buyer{Vehicle: v, Params: predict.NewModel(v).NewParams(), Condition: predict.Condition{WaterC: 20, DepthM: 3}, DepthM: 3, CopperShare: CopperShare,
		Ranges: func(values []float64, _ map[int]float64, _ func(predict.Params) []float64) (out []Range) {
			for _, x := range values {
				out = append(out, Range{x, x, x})
			}
			return out
		}}
}

// Of the maxima of IEC 60228 class 5 none is more than soldShare above what we
// take, and one is.
func TestSoldConductorsAgainstIEC60228(t *testing.T) {
	worst := 0.0
	for _, row := range published.Rows(t, "../vehicle/testdata/iec60228_20C.csv") {
		c := vehicle.Conductor{AreaMM2: row["mm2"]}
		worst = max(worst, row["class5_plain"]/(1000*c.OhmPerMetre(20))-1)
	}
	assert.InDelta(t, soldShare, worst, 5e-4)
}

// Two-core cords to IEC 60227 are 7.0 and 9.5 mm thick at 0.75 and 2.5 mm².
func TestCopperShareOfCords(t *testing.T) {
	assert.InDelta(t, CopperShare, 2*(2.5-0.75)/(math.Pi/4*(9.5*9.5-7*7)), 0.005)
}

// 25 m of each gauge there and back at 20 °C: twice the printed resistance
// (Floyd, Electric Circuit Fundamentals), 2 % of lay, and 0.04 Ω of joints.
func TestGaugesThatAreSold(t *testing.T) {
	printed := map[float64]float64{}
	for _, row := range published.Rows(t, "../vehicle/testdata/awg_copper_20C.csv") {
		printed[row["awg"]] = row["tab_ohm_per_kft"]
	}
	all := buyer(invented.Vehicle()).Purchases(Sizes(units.Imperial), []float64{25}, []float64{12.6})
	found := 0
	for _, x := range all {
		gauge, err := strconv.ParseFloat(x.Conductor[len("AWG "):], 64)
		require.NoError(t, err)
		if kft, ok := printed[gauge]; ok {
			found++
			assert.InEpsilon(t, 2*25/304.8*kft*1.02+0.04, x.LoopOhm.Value, 1e-3, x.Conductor)
			assert.GreaterOrEqual(t, x.LoopOhm.High, 0.04+(1+soldShare)*(x.LoopOhm.Value-0.04), x.Conductor)
		}
	}
	assert.GreaterOrEqual(t, found, 6)
}

// 4 mm² for 2.5 mm² is 3 mm² more copper and 27.3 mm² more section a leg pair. A metre sinks by its
// copper and PVC less the water that they displace, whatever today's floats lift; so does a thin one.
func TestThickerTetherSinks(t *testing.T) {
	b := buyer(invented.Vehicle())
	x := b.Purchases([]Size{{"4 mm²", 4}}, []float64{30}, []float64{12.6})[0]
	assert.InDelta(t, math.Sqrt(81+4/math.Pi*3/0.11), x.DiameterMM, 1e-9)
	sinks := func(section, copper float64) float64 { return copper*8.96 + (section-copper)*1.4 - section }
	assert.InDelta(t, sinks(math.Pi/4*81+3/0.11, 8), x.WeightGM, 1e-9)
	same := b.Purchases([]Size{{"2.5 mm²", 2.5}}, []float64{30}, []float64{12.6})[0]
	assert.InDelta(t, sinks(math.Pi/4*81, 5), same.WeightGM, 1e-9)
	for _, thin := range b.Purchases([]Size{{"0.2 mm²", 0.2}, {"0.5 mm²", 0.5}}, []float64{30}, []float64{12.6}) {
		assert.Positive(t, thin.WeightGM, thin.Conductor)
	}
	// across the flow to 3 m, along it for the rest: d·(1.2·3 + π·0.012·27)
	assert.InDelta(t, 0.009*(1.2*3+math.Pi*0.012*27), same.DragAreaM2, 1e-9)
}

// Conductors side by side are counted wherever a size is named, and a tether that is bought has one a leg; people who
// buy by gauge are told gauges.
func TestConductorsSideBySide(t *testing.T) {
	v := invented.Vehicle()
	b := buyer(v)
	one := b.Purchases([]Size{{"4 mm²", 4}}, []float64{30}, []float64{12.6})[0]
	v = invented.Vehicle()
	v.Tether.Power.Parallel, v.Tether.Power.AreaMM2 = 2, 0.75
	two := buyer(v).Purchases([]Size{{"4 mm²", 4}}, []float64{30}, []float64{12.6})[0]
	assert.InDelta(t, one.LoopOhm.Value, two.LoopOhm.Value, 1e-9, "as it is bought")
	var names []string
	for _, c := range Changes(v, CopperShare) {
		names = append(names, c.Name)
	}
	assert.Contains(t, names, "conductors of 2 × 1 mm² a leg")
	said := func() (out string) {
		m := asked(v).Judge()
		for _, l := range m.Lines(v.Units) {
			out += l.String() + "\n"
		}
		return out
	}
	assert.Regexp(t, `heating: NOT MET; .* run short, or conductors of 2 × [\d.]+ mm² a leg`, said())
	v.Units = units.Imperial
	assert.Regexp(t, `heating: NOT MET; .* run short, or conductors of 2 × AWG \d+ a leg`, said())
	v.Tether.Power.Parallel = 1
	assert.Regexp(t, `heating: NOT MET; .* run short, or conductors of AWG \d+\n`, said())
}

// What is wanted is held against the lower end, and a battery of more volts than the thrusters' tests say they bear lacks that.
func TestWhatAPurchaseLacks(t *testing.T) {
	b := buyer(invented.Vehicle())
	all := b.Purchases(Sizes(units.Metric), []float64{30, 2}, []float64{12.6, 24})
	require.Len(t, all, 4*len(nominalAreas))
	for _, x := range all {
		assert.Equal(t, x.BatteryV == 24 && (x.LengthM == 2 || x.AreaMM2 >= 1), slices.Contains(x.Lacks, "motors"), "%s, %g m, %g V", x.Conductor, x.LengthM, x.BatteryV)
		assert.Equal(t, x.LengthM == 2, slices.Contains(x.Lacks, "reach"))
		assert.Equal(t, x.FuseA == nil, slices.Contains(x.Lacks, "fuse"))
		assert.Less(t, x.SpeedMS.Low, x.SpeedMS.High)
	}
	assert.True(t, slices.ContainsFunc(all, func(x Purchase) bool { return x.FuseA != nil }))
	x := all[5]
	b.Wanted = Wanted{SpeedMS: x.SpeedMS.Low * 1.001, VehicleV: x.VehicleV.Low * 0.999}
	again := b.Purchases(Sizes(units.Metric), []float64{30}, []float64{12.6})[5]
	assert.Contains(t, again.Lacks, "speed")
	assert.NotContains(t, again.Lacks, "volts")
	b.Wanted = Wanted{VehicleV: x.VehicleV.Low * 1.001}
	assert.Contains(t, b.Purchases(Sizes(units.Metric), []float64{30}, []float64{12.6})[5].Lacks, "volts")
	b.Wanted = Wanted{FuseA: 0.5}
	assert.Contains(t, b.Purchases(Sizes(units.Metric), []float64{30}, []float64{12.6})[5].Lacks, "fuse", "the heaviest run blows it")
}

// Two of the same batteries in series have twice the voltage at rest, the
// resistance and the least voltage; what the log says of the old one's ageing is gone.
// A new tether has none of the old one's excess resistance.
func TestAnotherBatteryIsNew(t *testing.T) {
	b := buyer(testBattery())
	b.Params[predict.BatteryOhm], b.Params[predict.LoopOhm], b.SoundOhm = 0.02, 0.3, 0.005
	w, p := b.fitted(Size{"4 mm²", 4}, 20, 25.2, CopperShare)
	assert.InDelta(t, 0.08, w.Battery.ResistanceOhm, 1e-12)
	assert.InDelta(t, 22, w.Battery.MinimumV, 1e-12)
	assert.InDelta(t, 2*b.Vehicle.Battery.RestV(), p[predict.OpenCircuitV], 1e-12)
	assert.InDelta(t, 0.01, p[predict.BatteryOhm], 1e-12)
	assert.Zero(t, p[predict.LoopOhm])
	w, p = b.fitted(Size{"4 mm²", 4}, 20, 12.6, CopperShare)
	assert.InDelta(t, 0.04, w.Battery.ResistanceOhm, 1e-12)
	assert.InDelta(t, 0.02, p[predict.BatteryOhm], 1e-12)
	assert.InDelta(t, 0.3, b.Params[predict.LoopOhm], 1e-12, "untouched")
}

func testBattery() *vehicle.Vehicle {
	v := invented.Vehicle()
	v.Battery.MinimumV = 11
	return v
}

// The fuse that is named meets its margin when it is wanted, on any vehicle; a
// longer tether has a higher loop; nothing of it touches the vehicle.
func TestPurchasesOfAnyVehicle(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		v := invented.AnyVehicle(rt)
		v.Battery.FuseA = 1000
		b, before := buyer(v), v.Clone()
		sizes := []Size{rapid.SampledFrom(Sizes(units.Metric)).Draw(rt, "size")}
		long := v.Tether.LengthM
		all := b.Purchases(sizes, []float64{long, long / 2}, []float64{v.Battery.NominalV})
		assert.Greater(rt, all[0].LoopOhm.Value, all[1].LoopOhm.Value)
		for _, x := range all {
			if x.FuseA != nil {
				b.Wanted.FuseA = *x.FuseA
				again := b.Purchases(sizes, []float64{x.LengthM}, []float64{x.BatteryV})[0]
				assert.NotContains(rt, again.Lacks, "fuse")
			}
			for _, r := range []*Range{&x.LoopOhm, &x.VehicleV, x.SpeedMS, x.ClimbMS} {
				if r != nil { // it has such thrusters
					assert.True(rt, r.Low <= r.Value && r.Value <= r.High, "%v", r)
				}
			}
		}
		assert.Equal(rt, before, v)
	})
}

// A purchase climbs and lasts as the vehicle with it does; without heave thrusters or a capacity nothing is said of that.
func TestPurchaseClimbsAndLasts(t *testing.T) {
	v := invented.Vehicle()
	v.Battery.CapacityAh = 18
	b := buyer(v)
	x := b.Purchases([]Size{{"4 mm²", 4}}, []float64{30}, []float64{12.6})[0]
	w, p := b.fitted(Size{"4 mm²", 4}, 30, 12.6, CopperShare)
	c := b.Condition
	c.TetherOutM = 30
	m := predict.NewModel(w)
	climb, up := AllUp(m, c, p)
	require.True(t, up)
	assert.Greater(t, climb, 0.0)
	assert.InDelta(t, climb, x.ClimbMS.Value, 1e-9)
	assert.InDelta(t, *AllAhead(m, c, p).EnduranceMin, x.EnduranceMin.Value, 1e-6)
	v.Battery.CapacityAh, v.Thrusters[2].Axis = 0, "surge"
	x = buyer(v).Purchases([]Size{{"4 mm²", 4}}, []float64{30}, []float64{12.6})[0]
	assert.Nil(t, x.ClimbMS)
	assert.NotNil(t, x.SpeedMS)
	assert.Nil(t, x.EnduranceMin)
}

// What a battery usually has at rest is the mean of the vehicles that it may be of; of none what a full one has.
func TestUsualRest(t *testing.T) {
	b := buyer(invented.Vehicle())
	assert.Equal(t, b.Vehicle.Battery.RestV(), b.typicalRest())
	b.Ranges = func(values []float64, _ map[int]float64, solve func(predict.Params) []float64) (out []Range) {
		for _, volts := range []float64{12, 12.1, 12.8} {
			p := slices.Clone(b.Params)
			p[predict.OpenCircuitV] = volts
			solve(p)
		}
		return make([]Range, len(values))
	}
	assert.InDelta(t, 12.3, b.typicalRest(), 1e-12)
}
