package advice

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sagline/predict"
	"sagline/predict/invented"
	"sagline/predict/vehicle"
	"sagline/session/units"
)

// IEC 60364-5-54: k = 115 for PVC from 70 to 160 °C, 143 from 30 to 160 °C;
// 2.5 mm² at 300 A reaches it in 0.918 s.
func TestAdiabaticConstant(t *testing.T) {
	assert.InDelta(t, 115.0044814865, adiabaticK(70, 160), 1e-9)
	assert.InDelta(t, 142.8952604460, adiabaticK(30, 160), 1e-9)
}

// A relay maker's note: 320 Ω at 25 °C is 443.3 Ω at 125 °C, and a pull-in of
// 13.0 V becomes 18 V.
func TestRelayWindingGetsHot(t *testing.T) {
	assert.InDelta(t, 443.3, 320*hotter(25, 125), 0.05)
	assert.InDelta(t, 18.0, 13*hotter(25, 125), 0.05)
}

// A coil behind a shared return sees every other coil's current: three coils
// of 100 Ω on wires of 1 Ω with one return of 1 Ω get 100/(100+1+3) each.
func TestRelaysOnASharedReturn(t *testing.T) {
	v := invented.Vehicle()
	v.Relay = vehicle.Relay{CoilOhm: 100, CoilV: 12, PullInV: 9}
	v.Tether.Signal = vehicle.Conductor{OhmKM: 1000 / v.Tether.LengthM, SharedReturn: 1}
	m := predict.NewModel(v)
	c := &predict.Condition{WaterC: 20}
	assert.InDelta(t, 12*100/104.0, coilV(m, c, 3, 12), 1e-9)
	v.Tether.Signal.SharedReturn = 0
	assert.InDelta(t, 12*100/102.0, coilV(m, c, 3, 12), 1e-9)
}

// A dead short at the far end: 12.6 V over 0.03 + 0.44 Ω is 26.8085 A, as
// ngspice 39 solves testdata/tether.cir with its load shorted.
func TestFarEndShort(t *testing.T) {
	v := invented.Vehicle()
	v.Battery = vehicle.Battery{NominalV: 12.6, ResistanceOhm: 0.03}
	v.Tether.LengthM, v.Tether.Power = 1, vehicle.Conductor{OhmKM: 210, Parallel: 1, JointsOhm: 0.02}
	s := asBuilt(predict.NewModel(v), &predict.Condition{WaterC: 20})
	short := s.short(Range{12.6, 12.6, 12.6})
	assert.InDelta(t, 26.808510638, short.Value, 1e-8)
	assert.Less(t, short.Low, short.Value)
	assert.Greater(t, short.High, short.Value)
}

// asked is the question of a vehicle as built, on a full 12 V battery.
func asked(v *vehicle.Vehicle) Question {
	m := predict.NewModel(v)
	c := predict.Condition{WaterC: 15, TetherOutM: v.Tether.LengthM}
	return Question{Cases: []Case{asBuilt(m, &c)}, built: 1, Condition: c, Drives: m.Combinations(), Rest: Range{12.2, 12.65, 12.65}}
}

// A log that says less resistance than the file has does not help the fuse,
// and one that says more lets the conductors off nothing.
func TestMarginsOnTheLessFavourable(t *testing.T) {
	v := invented.Vehicle()
	v.Battery.FuseA = 12
	q := asked(v)
	built := q.Judge()
	p := q.Cases[0].Model.NewParams()
	p[predict.LoopOhm] = -0.15
	better := ByLog(q.Cases[0].Model, &q.Condition, p, 0.01, 0.002)
	q.Cases = append(q.Cases, better)
	both := q.Judge()
	assert.Equal(t, built.Fuse.ShortA, both.Fuse.ShortA, "a dead short by the highest loop resistance")
	assert.Greater(t, both.Heating.Density.High, built.Heating.Density.High, "heating by the lowest")
	p[predict.LoopOhm] = 0.4
	q.Cases[1] = ByLog(q.Cases[0].Model, &q.Condition, p, 0.01, 0.002)
	both = q.Judge()
	assert.Less(t, both.Fuse.ShortA.Low, built.Fuse.ShortA.Low)
	assert.Equal(t, built.Heating.Density.High, both.Heating.Density.High)
	q.Cases[1] = ByLog(q.Cases[0].Model, &q.Condition, p, 0.1, 0.002)
	assert.Less(t, q.Judge().Fuse.ShortA.Low, both.Fuse.ShortA.Low, "and what is less well known is less favourable")
}

// Where a margin is not met, the value that is named meets it, and the next
// larger fuse does not.
func TestRemediesMeetTheMargin(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		v := invented.AnyVehicle(rt)
		v.Battery.FuseA = rapid.Float64Range(0.5, 60).Draw(rt, "fuse")
		q := asked(v)
		m := q.Judge()
		if better := m.Fuse.BetterA; better != nil {
			v.Battery.FuseA = *better
			m = q.Judge()
			assert.True(rt, m.Fuse.Met(), "a fuse of %g A", *better)
			if i := slices.Index(FuseSizes, *better); i+1 < len(FuseSizes) {
				v.Battery.FuseA = FuseSizes[i+1]
				m = q.Judge()
				assert.False(rt, m.Fuse.Met(), "a larger one, of %g A", FuseSizes[i+1])
			}
		}
		if area := m.Heating.BetterOf; area != nil {
			assert.False(rt, m.Heating.Met())
			v.Tether.Power.AreaMM2 = *area
			m = asked(v).Judge()
			assert.True(rt, m.Heating.Met(), "conductors of %g mm²", *area)
		}
	})
}

// The times that blade fuses may take are those of the table between which the
// power law runs, and never longer for more current.
func TestFuseTimes(t *testing.T) {
	for rating, table := range map[float64][]opens{10: blade, 40: blade, 50: bolted} {
		for _, row := range table {
			assert.InEpsilon(t, row.seconds, fuseSeconds(rating*row.times, rating), 1e-9)
		}
	}
	for amps, seconds := range map[float64]float64{13.5: 600, 16: 50, 20: 5, 35: 0.5, 60: 0.15, 120: 0.0375} {
		assert.InEpsilon(t, seconds, fuseSeconds(amps, 10), 1e-9, "%g A", amps)
	}
	for amps, seconds := range map[float64]float64{67.5: 1800, 100: 50, 175: 7, 300: 1, 600: 0.25} {
		assert.InEpsilon(t, seconds, fuseSeconds(amps, 50), 1e-9, "%g A", amps)
	}
	assert.InEpsilon(t, 5, fuseSeconds(80, 40), 1e-9, "the largest of the quick kind")
	assert.True(t, math.IsInf(fuseSeconds(13, 10), 1))
	last := math.Inf(1)
	for amps := 13.5; amps < 200; amps += 0.5 {
		s := fuseSeconds(amps, 10)
		assert.Less(t, s, last)
		last = s
	}
}

// The tether heats instead only where it is hot before the fuse has opened: a
// thin one on a large fuse, not a thick one.
func TestHeatsInsteadOfTheFuse(t *testing.T) {
	v := invented.Vehicle()
	v.Battery.FuseA = 20
	thick := asked(v).Judge()
	assert.False(t, thick.Fuse.Blows())
	v.Tether.Power.AreaMM2, v.Tether.LengthM = 0.1, 2
	thin := asked(v).Judge()
	assert.True(t, thin.Fuse.CableFirst())
	assert.Contains(t, thin.Fuse.words(units.Metric, "", ""), "the tether would heat instead")
	v.Tether.Power.AreaMM2, v.Tether.LengthM = 16, 120
	thick = asked(v).Judge()
	assert.False(t, thick.Fuse.CableFirst() && thick.Fuse.Blows())
}

// A jammed thruster draws E/(R_b + R_s + R_a + branch) and burns I²·R_a in its
// winding, which its copper bears for m·c·ΔT over that.
func TestJammedThruster(t *testing.T) {
	v := invented.Vehicle()
	v.Battery.FuseA = 10
	m := predict.NewModel(v)
	c := predict.Condition{WaterC: 15, TetherOutM: 30}
	s := asBuilt(m, &c)
	s.LoopOhm.Low, s.LoopOhm.High = s.LoopOhm.Value, s.LoopOhm.Value
	s.Battery.Low, s.Battery.High, s.Doubts = s.Battery.Value, s.Battery.Value, nil
	j := jams([]Case{s}, &c, Range{12, 12, 12}, v.Battery.FuseA)
	require.Len(t, j, 3)
	amps := 12 / (0.04 + v.Tether.CableOhm(15) + 0.04 + 0.5 + 0.03)
	assert.InDelta(t, amps, j[0].CurrentA, 1e-6)
	assert.InDelta(t, amps*amps*0.5, j[0].WindingW, 1e-5)
	assert.InDelta(t, 0.3*12*7*0.385*115/(amps*amps*0.5), j[0].Seconds, 1e-3)
	assert.False(t, j[0].FuseBlows, "%.1f A through a fuse of 10 A", amps)
	assert.True(t, jams([]Case{s}, &c, Range{12, 12, 12}, 3)[0].FuseBlows)

	p := m.NewParams()
	p[predict.OpenCircuitV], p[predict.LogArmature], p[predict.LogSize] = 12, 0.2, -0.1
	winding := 0.5 * math.Exp(0.3)
	amps = 12 / (0.04 + v.Tether.CableOhm(15) + 0.04 + winding + 0.03)
	copper := 0.3 * 12 * 7 * math.Exp(-0.1) * 0.385 // J/K of the smaller motor's
	assert.InDeltaSlice(t, []float64{amps, amps * amps * winding, amps * amps * winding / copper}, s.jam(&c, p, 0), 1e-6, "as calibrated")
}

// Lights of 3 V LEDs behind two 100 Ω resistors on 2 Ω of signal wire and
// return: 12 V leaves (12 + 2·0.02·3)/(1 + 2·0.02) V across them.
func TestLightsOnASignalConductor(t *testing.T) {
	v := invented.Vehicle()
	v.Tether.Signal = vehicle.Conductor{OhmKM: 1000 / v.Tether.LengthM, SharedReturn: 1}
	v.Lights = vehicle.Lights{LEDV: 3, ResistorOhm: []float64{100, 100}, Supply: "signal"}
	m := predict.NewModel(v)
	got, ok := signalLightsV(m, &predict.Condition{WaterC: 20}, 12)
	assert.True(t, ok)
	assert.InDelta(t, (12+2*0.02*3)/(1+2*0.02), got, 1e-12)
	v.Lights = vehicle.Lights{CurrentA: 0.5, Supply: "signal"}
	got, _ = signalLightsV(m, &predict.Condition{WaterC: 20}, 12)
	assert.InDelta(t, 11, got, 1e-12)
	judged := func(ledV float64) (out []Line) {
		all := Margins{Lights: &Least{V: 11, MinimumV: ledV}}
		return slices.DeleteFunc(all.Lines(units.Metric), func(l Line) bool { return l.Name != "lights" })
	}
	assert.Equal(t, "lights: met; their signal conductor leaves them 11.0 V", judged(9)[0].String())
	assert.Equal(t, "lights: their signal conductor leaves them 11.0 V", judged(0)[0].String(), "of amperes alone nothing says what they want")
	v.Lights.Supply = "power"
	_, ok = signalLightsV(m, &predict.Condition{}, 12)
	assert.False(t, ok)
}

// What the power pair leaks to the water is a margin, where it was read.
func TestInsulationIsAMargin(t *testing.T) {
	v := invented.Vehicle()
	v.Limits.InsulationMegohm = 1
	q := asked(v)
	m := q.Judge()
	assert.NotContains(t, m.NotMet(), "insulation")
	for megohm, met := range map[float64]bool{0.02: false, 50: true} {
		q.Megohm = &megohm
		m = q.Judge()
		assert.Equal(t, !met, slices.Contains(m.NotMet(), "insulation"))
		line := m.Lines(units.Metric)[slices.IndexFunc(m.Lines(units.Metric), func(l Line) bool { return l.Name == "insulation" })]
		assert.Equal(t, met, line.Met)
	}
}

// A thicker conductor does not mend the joint that the log found.
func TestThickerConductorKeepsTheJoint(t *testing.T) {
	v := invented.Vehicle()
	v.Battery.FuseA, v.Tether.Power.AreaMM2 = 20, 0.5
	q := asked(v)
	sound := q.Judge()
	require.NotNil(t, sound.Fuse.BetterOf)
	p := q.Cases[0].Model.NewParams()
	p[predict.LoopOhm] = 1.5
	q.Cases = append(q.Cases, ByLog(q.Cases[0].Model, &q.Condition, p, 0.01, 0.002))
	assert.Nil(t, q.Judge().Fuse.BetterOf, "no conductor lets a fuse see a short behind 1.5 Ω")
}

// Where the loop has more resistance by the log than by the file, measuring it comes
// before another cable, and what re-made joints would meet is said.
func TestJointsAreMeasuredBeforeACableIsBought(t *testing.T) {
	v := vehicle.Example()
	require.NoError(t, v.Set("battery.fuse_a=10"))
	require.NoError(t, v.Set("camera.current_a=0.3"))
	require.NoError(t, v.Set("camera.supply=shared"))
	require.NoError(t, v.Set("camera.minimum_v=8.5"))
	q := Ask(v, predict.Condition{WaterC: 15, TetherOutM: v.Tether.LengthM}, 0)
	q.Cases[0].Doubts = nil
	log := func(ohm float64) (fuse, camera string) {
		p := q.Cases[0].Model.NewParams()
		p[predict.LoopOhm] = ohm
		with := q
		with.Cases = append([]Case{q.Cases[0]}, ByLog(q.Cases[0].Model, &q.Condition, p, 0.01, 0.002))
		m := with.Judge()
		for _, l := range m.Lines(units.Metric) {
			switch l.Name {
			case "fuse":
				fuse = l.String()
			case "camera":
				camera = l.String()
			}
		}
		return fuse, camera
	}
	fuse, _ := log(0)
	assert.NotContains(t, fuse, "first measure it")
	fuse, camera := log(0.9)
	first := "by the log the loop has about 0.9 Ω more than by the file: first measure it (battery unplugged, far end shorted, the short taken off again), for that may be in joints; "
	assert.Contains(t, fuse, first+"with the loop as in the file a fuse of 10 A meets the margin; as it is no standard fuse")
	assert.Contains(t, camera, first+"as it is its own supply")
}

// A tether that bears a short for long does not heat instead of the fuse.
func TestCoolTetherDoesNotHeatInstead(t *testing.T) {
	f := Fuse{RatingA: 20, ShortA: Range{6, 7, 7}, HeavyA: 4, FuseS: math.Inf(1), CableS: 3000, Density: 2.8}
	assert.NotContains(t, f.words(units.Metric, "", ""), "heat instead")
	assert.Contains(t, f.words(units.Metric, "", ""), "draws 7.0 A (6.0 to 7.0)")
	f.Density = 4
	assert.Contains(t, f.words(units.Metric, "", ""), "wound on its reel the tether would heat instead")
	f.Density = 6
	assert.Contains(t, f.words(units.Metric, "", ""), ": the tether would heat instead")
}

// What would meet a voltage that is not met does: the next signal conductor, a
// battery of less resistance.
func TestRemediesOfVoltages(t *testing.T) {
	v := invented.Vehicle()
	v.Relay = vehicle.Relay{CoilOhm: 90, CoilV: 12, PullInV: 8.4}
	v.Tether.Signal = vehicle.Conductor{AreaMM2: 0.1, SharedReturn: 1}
	v.Camera = vehicle.Camera{CurrentA: 0.3, MinimumV: 8, Supply: "shared"}
	v.Battery.ResistanceOhm, v.Battery.MinimumV = 0.2, 11
	m := asked(v).Judge()
	require.False(t, m.Relay.Met() || m.Battery.Met() || m.Camera.Met())
	require.NotNil(t, m.Battery.Better)
	assert.Contains(t, fmt.Sprint(m.Lines(units.Metric)), "Ω, leads in it, would do")
	ohm := *m.Battery.Better
	v.Battery.ResistanceOhm = ohm
	measured := func() Margins { // the battery is that one
		q := asked(v)
		q.Cases[0].Battery = Range{ohm, ohm, ohm}
		return q.Judge()
	}
	m = measured()
	assert.True(t, m.Battery.Met(), "%g Ω", ohm)
	w := v.Clone()
	require.NoError(t, w.Set(fmt.Sprintf("battery.resistance_ohm=%g", ohm)))
	stated := asked(w).Judge()
	assert.True(t, stated.Battery.Met(), "%g Ω as stated in the file", ohm)
	require.NoError(t, w.Set(fmt.Sprintf("battery.resistance_ohm=%g", 1.1*ohm)))
	stated = asked(w).Judge()
	assert.False(t, stated.Battery.Met(), "%g Ω as stated in the file", 1.1*ohm)
	require.NotNil(t, m.Relay.BetterOf)
	v.Tether.Signal.AreaMM2 = *m.Relay.BetterOf
	m = measured()
	assert.True(t, m.Relay.Met())
	require.NotNil(t, m.Camera.Better)
	v.Tether.Power.AreaMM2 = *m.Camera.Better
	m = measured()
	assert.True(t, m.Camera.Met())
}

// A margin that rests on a guess of the battery's resistance says so, until the file or
// the dives tell it: then it is judged on that.
func TestBatteryThatIsGuessed(t *testing.T) {
	read := func(ohm string) Question {
		v, err := vehicle.Read(strings.NewReader("name = \"x\"\nbattery = {nominal_v = 12, capacity_ah = 2, fuse_a = 10"+ohm+"}\ntether.length_m = 30\ntether.power.area_mm2 = 2.5\n"+
			"[[thruster]]\nname = \"port\"\naxis = \"surge\"\ntest_v = 12\ntest_a = 7\n"), vehicle.FileName)
		require.NoError(t, err)
		return Ask(v, predict.Condition{WaterC: 15, TetherOutM: 30}, 0)
	}
	said := func(q Question) string { m := q.Judge(); return fmt.Sprint(m.Lines(units.Metric)) }
	const guess = "on a guess of the battery's resistance by its label, "
	assert.NotContains(t, said(read(", resistance_ohm = 0.05")), guess)
	q := read("")
	assert.Equal(t, 2, strings.Count(said(q), guess), "of the battery, and of the fuse that need not open")
	c := q.Cases[0]
	log := func(ohm, sd float64) Question {
		with := q
		p := c.Model.NewParams()
		p[predict.BatteryOhm] = ohm - c.Model.Vehicle.Battery.ResistanceOhm
		with.Logged(ByLog(c.Model, &q.Condition, p, 0.01, sd))
		with.LearnBattery()
		return with
	}
	assert.Contains(t, said(log(0.05, 0.1)), guess, "the log does not tell it either")
	told := log(0.05, 0.002)
	assert.NotContains(t, said(told), guess)
	stated := read(", resistance_ohm = 0.05").Judge()
	m := told.Judge()
	assert.Empty(t, m.NotMet())
	assert.InDelta(t, stated.Fuse.ShortA.Value, m.Fuse.ShortA.Value, 0.05)
}

// The margins of several batteries are the worst that one of them has alone. As built, the loop as the file has it and the
// resistance of one battery were judged with the range of all: a fuse that did not open in time on one was met.
func TestWorstOfTheBatteries(t *testing.T) {
	v, err := vehicle.Read(strings.NewReader("name = \"x\"\nbattery = {nominal_v = 12, capacity_ah = 17, fuse_a = 10}\ntether.length_m = 30\ntether.power.area_mm2 = 2.5\n"+
		"[[thruster]]\nname = \"port\"\naxis = \"surge\"\ntest_v = 12\ntest_a = 7\n"), vehicle.FileName)
	require.NoError(t, err)
	of := func(ohms ...float64) Margins {
		q := Ask(v, predict.Condition{WaterC: 15, TetherOutM: 30}, 0)
		c := q.Cases[0]
		for _, ohm := range ohms {
			p := c.Model.NewParams()
			p[predict.BatteryOhm] = ohm - c.Model.Vehicle.Battery.ResistanceOhm
			q.Logged(ByLog(c.Model, &q.Condition, p, 0.01, 0.002))
		}
		q.LearnBattery()
		return q.Judge()
	}
	good, worn := of(0.02), of(0.12)
	require.Less(t, worn.Fuse.ShortA.Low, good.Fuse.ShortA.Low-1)
	for _, both := range []Margins{of(0.02, 0.12), of(0.12, 0.02)} {
		assert.Equal(t, worn.Fuse.ShortA, both.Fuse.ShortA)
		assert.Equal(t, worn.Battery.V, both.Battery.V)
		assert.Equal(t, good.Fuse.HeavyA, both.Fuse.HeavyA)
	}
}

// What is not known of the thrusters is in the margins, too: of a file without a
// test the heaviest run may be anything, until the dives tell.
func TestThrustersDoubtsAreInTheMargins(t *testing.T) {
	read := func(test string) *vehicle.Vehicle {
		v, err := vehicle.Read(strings.NewReader("name = \"x\"\nbattery.nominal_v = 12\nbattery.fuse_a = 10\ntether.length_m = 20\ntether.power.area_mm2 = 2.5\n"+
			"[[thruster]]\nname = \"port\"\naxis = \"surge\"\n"+test+"[[thruster]]\nname = \"starboard\"\naxis = \"surge\"\n"+test), vehicle.FileName)
		require.NoError(t, err)
		return v
	}
	tested, open := asked(read("test_v = 12\ntest_a = 5\n")), asked(read(""))
	known, unknown := tested.Judge(), open.Judge()
	assert.InEpsilon(t, known.Fuse.LikelyA, unknown.Fuse.LikelyA, 0.05)
	assert.Less(t, known.Fuse.HeavyA, 1.3*known.Fuse.LikelyA)
	assert.Greater(t, unknown.Fuse.HeavyA, 1.5*unknown.Fuse.LikelyA)
	assert.Contains(t, unknown.Fuse.words(units.Metric, "", ""), "A likely: read one thruster's amperes")
	assert.Greater(t, unknown.Jammed[0].CurrentA, known.Jammed[0].CurrentA)

	m := open.Cases[0].Model
	open.Logged(ByLog(m, &open.Condition, m.NewParams(), 0.01, 0.002))
	logged := open.Judge()
	assert.Less(t, logged.Fuse.HeavyA, 1.1*logged.Fuse.LikelyA)
	more := m.NewParams().Times(0)
	more[predict.LogTorque] = 0.2
	open.Logged(ByLog(m, &open.Condition, m.NewParams(), 0.01, 0.002, more))
	vague := open.Judge()
	assert.Greater(t, vague.Fuse.HeavyA, 1.1*vague.Fuse.LikelyA)
}

// A motor that was tested at 12 V may get 15 V, and no more; where the file says of
// no test nothing is judged.
func TestMotorsByTheirTest(t *testing.T) {
	read := func(volts float64, test string) Margins {
		v, err := vehicle.Read(strings.NewReader(fmt.Sprintf("name = \"x\"\nbattery.nominal_v = %g\ntether.length_m = 1\ntether.power.area_mm2 = 10\n[[thruster]]\nname = \"port\"\naxis = \"surge\"\n%s", volts, test)), "vehicle.toml")
		require.NoError(t, err)
		return Ask(v, predict.Condition{WaterC: 15, TetherOutM: 1}, 0).Judge()
	}
	m := read(12, "test_v = 12")
	assert.True(t, m.Motors.Met())
	m = read(24, "test_v = 12")
	assert.Contains(t, m.NotMet(), "motors")
	m = read(24, "test_v = 24")
	assert.NotContains(t, m.NotMet(), "motors")
	m = read(24, "")
	assert.Nil(t, m.Motors)
	assert.True(t, (&Motors{V: 15, TestedV: 12}).Met())
	assert.False(t, (&Motors{V: 15.1, TestedV: 12}).Met())
}

// Currents of cords are those of the tables at their sizes, between them on a power of the
// cross-section; two conductors bear twice as much as one.
func TestCordsBear(t *testing.T) {
	for mm2, amps := range map[float64]float64{0.25: 1.5, 0.5: 3, 0.75: 6, 1: 10, 1.5: 16, 2.5: 25, 4: 32, 6: 39, 10: 51, 16: 73, 32: 73 * math.Pow(2, 0.625)} {
		assert.InEpsilon(t, amps, bearsA(mm2, 0), 1e-9, "%g mm²", mm2)
		assert.InEpsilon(t, 2*amps, bearsA(2*mm2, 2), 1e-9, "twice %g mm²", mm2)
	}
	assert.InEpsilon(t, math.Sqrt(25*32), bearsA(math.Sqrt(2.5*4), 1), 1e-9)
}

// A fuse that a dead short blows and the heaviest run does not is still too large for
// thin conductors, which an overload heats.
func TestFuseGuardsTheConductors(t *testing.T) {
	f := Fuse{RatingA: 10, ShortA: Range{32, 46, 52}, HeavyA: 4, FuseS: 0.7, CableS: 6, BearsA: 16. / 3}
	require.True(t, f.Blows())
	require.True(t, f.Carries())
	assert.False(t, f.Met())
	f.BetterA = largestFuse(f.does)
	require.NotNil(t, f.BetterA)
	assert.Equal(t, 5.0, *f.BetterA)
	assert.Contains(t, f.words(units.Metric, "", ""), "the conductors bear 5.3 A for long, less than it lets pass; one of 5 A opens at once, carries the heaviest run, 4.0 A, and guards the conductors")
	f.HeavyA = 5.4
	assert.Contains(t, f.words(units.Metric, "", ""), "carries the heaviest run, 5.4 A (for long it carries 1.1 times its rating), and guards")
	f.RatingA = 5
	assert.True(t, f.Met())
	v := invented.Vehicle()
	v.Battery.FuseA, v.Tether.LengthM, v.Tether.Power = 15, 3, vehicle.Conductor{AreaMM2: 0.75, Parallel: 1}
	m := asked(v).Judge()
	assert.Contains(t, m.NotMet(), "fuse")
	thin := math.Pow(math.Exp(-z95*0.03), math.Log(6./3)/math.Log(0.75/0.5)) // copper to its tolerance, between 3 A at 0.5 mm² and 6 A at 0.75 mm²
	assert.InDelta(t, 6*thin, m.Fuse.BearsA, 0.02)
	v.Tether.Power.Parallel = 2
	m = asked(v).Judge()
	assert.InDelta(t, 12*thin, m.Fuse.BearsA, 0.04)
}

// A dead short in a thin signal pair: 2·20 m of 0.25 mm² at 20 °C, 1/58 Ω·mm²/m and
// a lay factor of 1.02, are 2.814 Ω; with 0.05 Ω of battery 12 V give 4.19 A, on which
// a fuse of 10 A never opens and which 0.25 mm² does not bear. Lights of 5 A are
// 20 A/mm² in it. Wire, joints and lights count at the worse end of their tolerances.
func TestSignalWires(t *testing.T) {
	v := invented.Vehicle()
	v.Battery.FuseA, v.Tether.LengthM, v.Tether.Signal = 10, 20, vehicle.Conductor{AreaMM2: 0.25}
	c := &predict.Condition{WaterC: 20}
	s := signal(v, c, Range{12, 12.5, 13}, 0.05)
	assert.InEpsilon(t, 0.93*12/(40/0.25/58*1.02+0.05), s.ShortA, 0.01)
	assert.InDelta(t, 1.5/math.Exp(z95*0.03), s.BearsA, 0.01)
	assert.False(t, s.Guarded())
	require.NotNil(t, s.OwnA)
	assert.Equal(t, 1.0, *s.OwnA, "3.9 A may be too little to open 2 A at once")
	assert.Equal(t, "signal wires: a dead short at the vehicle draws 3.9 A through one, the battery's fuse need not open on that and it bears 1.4 A for long: a fuse of its own, of at most 1 A",
		s.lines()[0].String())
	assert.Len(t, s.lines(), 1)
	v.Lights = vehicle.Lights{CurrentA: 5, Supply: "signal"}
	s = signal(v, c, Range{12, 12.5, 13}, 0.05)
	assert.Equal(t, "lights' wire: NOT MET; it carries 22.4 A/mm², more than 5 gets hot: a thicker one, or feed the lights from the power pair", s.lines()[1].String())
	assert.Contains(t, s.lines()[0].String(), "a fuse of its own, of at most 1 A, which the lights' 5.5 A would open: a thicker conductor")
	v.Lights = vehicle.Lights{LEDV: 9, ResistorOhm: []float64{4}, Supply: "signal"}
	s = signal(v, c, Range{12, 12.5, 13}, 0.05)
	assert.InEpsilon(t, 1.12*(13-9)/(4+40/0.25/58*1.02), s.LightsA, 0.02, "on a full battery")
	v.Lights = vehicle.Lights{CurrentA: 5, Supply: "signal"}
	v.Tether.Signal.AreaMM2, v.Battery.FuseA = 1.5, 3
	s = signal(v, c, Range{12, 12.5, 13}, 0.05)
	assert.True(t, s.Guarded(), "20 A through a fuse of 3 A")
	assert.Regexp(t, `^signal wires: a dead short at the vehicle draws 19\.\d A through one$`, s.lines()[0].String())
	assert.Equal(t, "lights' wire: met; it carries 3.7 A/mm²", s.lines()[1].String())
	v.Tether.Signal = vehicle.Conductor{AreaMM2: 0.25, SharedReturn: 1}
	assert.InEpsilon(t, 0.93*12/(40/0.25/58*1.02+0.05), signal(v, c, Range{12, 12.5, 13}, 0.05).ShortA, 0.01, "one alone has the return for itself")
	v.Tether.Signal = vehicle.Conductor{}
	assert.Nil(t, signal(v, c, Range{12, 12.5, 13}, 0.05))
}

// A range in the file counts at the end that is worse for each margin.
func TestMarginsAtTheWorseEnd(t *testing.T) {
	of := func(sets ...string) Margins {
		v := vehicle.Example()
		for _, set := range append([]string{"battery.fuse_a=10", "relay.coil_ohm=90", "relay.coil_v=12", "relay.pull_in_v=8", "tether.signal.area_mm2=0.25",
			"lights.current_a=1", "lights.supply=signal", "camera.current_a=1", "camera.supply=shared", "camera.minimum_v=6"}, sets...) {
			require.NoError(t, v.Set(set))
		}
		return Ask(v, predict.Condition{WaterC: 15, TetherOutM: v.Tether.LengthM}, 0).Judge()
	}
	stated := of()
	power := of("tether.power.area_mm2=[1.5, 2.5]")
	assert.Less(t, power.Fuse.BearsA, 1.1*16)
	assert.Greater(t, power.Heating.Density.High, 1.1*stated.Heating.Density.High)
	assert.Less(t, power.Fuse.CableS, stated.Fuse.CableS)

	wire := of("tether.signal.area_mm2=[0.1, 0.4]")
	assert.Less(t, wire.Signal.ShortA, 0.7*stated.Signal.ShortA)
	assert.Less(t, wire.Signal.BearsA, 0.5*stated.Signal.BearsA)
	assert.Less(t, wire.Lights.V, stated.Lights.V-0.5)
	assert.Less(t, wire.Relay.CoilV, stated.Relay.CoilV-0.1)

	lights := of("lights.current_a=[0.5, 2]") // 1 A in the middle
	assert.Greater(t, lights.Signal.LightsA, 1.9)
	assert.Greater(t, lights.Fuse.HeavyA, stated.Fuse.HeavyA+0.01)
	assert.Less(t, lights.Lights.V, stated.Lights.V-0.5)
	assert.Greater(t, of("camera.current_a=[0.3, 3.3]").Fuse.HeavyA, stated.Fuse.HeavyA+0.05)

	relay := of("relay.pull_in_v=[7, 9]", "relay.coil_ohm=[60, 130]")
	assert.InDelta(t, 9, relay.Relay.PullInV, 1e-9)
	assert.Less(t, relay.Relay.CoilV, stated.Relay.CoilV)
}

// Endurance is by the highest resistance of all cases, whichever of them draws most.
func TestEnduranceByTheWorstBattery(t *testing.T) {
	v := vehicle.Example()
	q := Ask(v, predict.Condition{WaterC: 15, TetherOutM: v.Tether.LengthM}, 0)
	built := q.Judge()
	p := q.Cases[0].Model.NewParams()
	p[predict.BatteryOhm] = 0.1
	q.Cases = append(q.Cases, ByLog(q.Cases[0].Model, &q.Condition, p, 0.01, 0.002))
	aged := q.Judge()
	assert.Less(t, aged.Endurance.Low, 0.95*built.Endurance.Low)
}

// Volts that are just the least suffice.
func TestLeastVolts(t *testing.T) {
	assert.True(t, (&Least{V: 11, MinimumV: 11}).Met())
	assert.False(t, (&Least{V: 10.99, MinimumV: 11}).Met())
	assert.True(t, (&Relay{CoilV: 10, HotV: 10, MostV: 15.6, RatedV: 12}).Met())
	assert.False(t, (&Relay{CoilV: 9.99, HotV: 10, RatedV: 12}).Met())
	assert.False(t, (&Relay{CoilV: 10, HotV: 10, MostV: 15.61, RatedV: 12}).Met())
	assert.True(t, (&Heating{Density: Range{High: openDensity}}).Met())
	assert.False(t, (&Heating{Density: Range{High: openDensity + 0.01}}).Met())
}

// As JSON what the file states is a number, what it does not, and an endless time, null.
func TestMarginsAsJSON(t *testing.T) {
	of := func(v *vehicle.Vehicle) (out map[string]any) {
		text, err := json.Marshal(asked(v).Judge())
		require.NoError(t, err)
		require.NoError(t, json.Unmarshal(text, &out))
		return out
	}
	stated := []string{"fuse_a", "fuse_opens_s", "relay_coil_v", "relay_coil_high_v", "relay_pull_in_v", "relay_pull_in_hot_v", "battery_v", "battery_minimum_v", "camera_v", "camera_minimum_v", "lights_v",
		"endurance_min", "signal_short_a", "signal_bears_a", "signal_lights_a_mm2", "motor_v", "motor_tested_v"}
	v := invented.Vehicle()
	none := of(v)
	v.Battery.FuseA, v.Battery.MinimumV, v.Battery.CapacityAh = 1, 11, 18
	v.Relay = vehicle.Relay{CoilOhm: 90, CoilV: 12, PullInV: 9}
	v.Tether.Signal = vehicle.Conductor{AreaMM2: 0.5}
	v.Camera = vehicle.Camera{CurrentA: 0.3, MinimumV: 8, Supply: "shared"}
	v.Lights = vehicle.Lights{CurrentA: 0.5, Supply: "signal"}
	all := of(v)
	for _, key := range stated {
		assert.IsType(t, 0.0, all[key], key)
		if !strings.HasPrefix(key, "motor") { // whose test is stated
			assert.Nil(t, none[key], key)
		}
		assert.Contains(t, none, key)
	}
	assert.InDelta(t, 9*math.Exp(z95*0.03), all["relay_pull_in_v"], 0.02)
	assert.Less(t, all["endurance_low_min"], all["endurance_high_min"])
	assert.NotContains(t, none, "endurance_low_min")
	assert.Equal(t, []any{}, none["tubes"])
	v.Battery.FuseA = 100
	assert.Nil(t, of(v)["fuse_opens_s"], "it need not open")
}

// Fuses are sold in steps, each the next larger.
func TestFuseSizes(t *testing.T) {
	assert.True(t, slices.IsSorted(FuseSizes))
	for i, size := range FuseSizes[1:] {
		assert.LessOrEqual(t, size, 2*FuseSizes[i])
	}
}

// Where no fuse meets the margin, what does is named: other conductors, a shorter tether, less at a time. Less than one
// thruster draws is no help.
func TestFuseRemedies(t *testing.T) {
	for _, c := range []struct {
		thrusters int
		sets      string
		want      string
		less      bool
	}{
		{3, "battery.nominal_v=12 battery.capacity_ah=7 tether.length_m=15 tether.power.area_mm2=0.75",
			"guards the conductors: as it is one of 5 A does where no more than 5.5 A run at a time", true},
		{1, "battery.nominal_v=6 battery.capacity_ah=4 tether.length_m=8 tether.power.awg=24",
			"guards the conductors: with conductors of THICKER one of 10 A does", false},
		{1, "battery.nominal_v=12 battery.capacity_ah=30 battery.resistance_ohm=0.01 tether.length_m=45 tether.power.area_mm2=4 tether.power.joints_ohm=0.02 thruster.t0.test_v=12 thruster.t0.test_a=18 thruster.t0.test_n=20", "with a tether of ", true},
		{1, "battery.nominal_v=12 battery.capacity_ah=100 battery.resistance_ohm=0.01 tether.length_m=80 tether.power.area_mm2=0.75 tether.power.joints_ohm=0.02 thruster.t0.test_v=12 thruster.t0.test_a=30 thruster.t0.test_n=40", "guards the conductors: with conductors of THICKER one of 20 A does", false},
	} {
		var thrusters []vehicle.Thruster
		for i := range c.thrusters {
			thrusters = append(thrusters, vehicle.Thruster{Name: fmt.Sprintf("t%d", i), Axis: "surge"})
		}
		v := vehicle.Begin("Reed", thrusters)
		for set := range strings.FieldsSeq(c.sets + " battery.chemistry=lead-acid") {
			require.NoError(t, v.Set(set))
		}
		v, err := vehicle.Read(strings.NewReader(string(v.Text())), vehicle.FileName) // with what it leaves out
		require.NoError(t, err)
		q := Ask(v, predict.Condition{WaterC: 15, TetherOutM: v.Tether.LengthM}, 0)
		f := q.Judge().Fuse
		require.Nil(t, f.BetterA, c.sets)
		assert.Contains(t, f.words(units.Metric, "", "THICKER"), c.want)
		assert.Equal(t, c.less, f.LessA != nil, c.sets)
		if f.LessA != nil {
			g := f
			g.RatingA, g.HeavyA, g.FuseS = *f.LessA, f.AtATimeA(), fuseSeconds(f.ShortA.Low, *f.LessA)
			assert.True(t, g.Met())
		}
		if f.BetterOf != nil {
			w := v.Clone()
			require.NoError(t, w.Set(fmt.Sprintf("battery.fuse_a=%g", *f.ThenA)))
			w.Tether.Power.AreaMM2, w.Tether.Power.AWG = *f.BetterOf, nil
			m := Ask(w, predict.Condition{WaterC: 15, TetherOutM: w.Tether.LengthM}, 0).Judge()
			assert.True(t, m.Fuse.Met() && m.Heating.Met(), "%s: %+v", c.sets, m.Heating)
		}
		if f.ShorterM != nil {
			require.NoError(t, v.Set(fmt.Sprintf("tether.length_m=%g", *f.ShorterM)))
			require.NoError(t, v.Set(fmt.Sprintf("battery.fuse_a=%g", *f.OnShorterA)))
			m := Ask(v, predict.Condition{WaterC: 15, TetherOutM: *f.ShorterM}, 0).Judge()
			assert.True(t, m.Fuse.Met() && m.Heating.Met(), "%+v", m.Fuse)
			q.DepthM = *f.ShorterM
			assert.Nil(t, q.Judge().Fuse.ShorterM, "it would not reach the depth")
		}
	}
}

// Readings that hardly tell the loop's resistance do not widen that of another cable; a joint that the log surely has stays.
func TestThickerBesideALog(t *testing.T) {
	v := invented.Vehicle()
	v.Battery.FuseA, v.Tether.LengthM, v.Tether.Power = 0, 40, vehicle.Conductor{AreaMM2: 0.75, Parallel: 1, JointsOhm: 0.04}
	q := asked(v)
	fuse := q.Judge().Fuse
	require.NotNil(t, fuse.BetterOf)
	for excess, same := range map[float64]bool{0: true, 1.2: false} {
		with := asked(v)
		p := with.Cases[0].Model.NewParams()
		p[predict.LoopOhm] = excess
		with.Cases = append(with.Cases, ByLog(with.Cases[0].Model, &with.Condition, p, 0.2, 0.002))
		m := with.Judge()
		assert.Equal(t, same, m.Fuse.BetterOf != nil && *m.Fuse.BetterOf == *fuse.BetterOf, "%g Ω: %v", excess, m.Fuse.BetterOf)
	}
}

// A fuse that opens at once is said so; one that carries its overload for long carries the heaviest run.
func TestFuseSaid(t *testing.T) {
	f := Fuse{RatingA: 10, ShortA: Range{32, 46, 52}, HeavyA: 11, LikelyA: 10, FuseS: 0.7, CableS: 6, BearsA: 10}
	assert.True(t, f.Met())
	assert.Equal(t, "a dead short at the vehicle end draws 46 A (32 to 52), at the least of which the 10 A fuse opens within 0.7 s", f.words(units.Metric, "", ""))
	f.HeavyA = 11.1
	assert.False(t, f.Carries())
	assert.Contains(t, f.words(units.Metric, "", ""), "; the heaviest run may draw 11.1 A, which it need not carry; no standard fuse opens at once")
	f.LikelyA = 8
	assert.Contains(t, f.words(units.Metric, "", ""), "may draw 11.1 A (8.0 A likely: ")
	f.RatingA, f.FuseS = 100, math.Inf(1)
	assert.Contains(t, f.words(units.Metric, "", ""), "at the least of which the 100 A fuse need not open at all; ")
	f.FuseS = 9
	assert.Contains(t, f.words(units.Metric, "", ""), "at the least of which the 100 A fuse may take 9 s; ")
	f.RatingA = 0
	assert.Equal(t, "none stated; a dead short at the vehicle end draws 46 A (32 to 52): fuse at the battery; no standard fuse opens at once on that, carries the heaviest run, 11.1 A (8.0 A likely: read one thruster's amperes in a tub, which narrows this most), and guards the conductors: fewer thrusters at a time or such as draw less, or readings that narrow these ranges: the loop's ohms, one thruster's amperes",
		f.words(units.Metric, "", ""))
	f.LikelyA = 11
	assert.Contains(t, f.words(units.Metric, "", ""), "carries the heaviest run, 11.1 A, and guards")
}

// Thrusters that would fare alike when jammed are told in one line, with what the fuse does.
func TestJammedSaid(t *testing.T) {
	m := Margins{Jammed: []Jam{{Thruster: "port", CurrentA: 21, WindingW: 200, Seconds: 8}, {Thruster: "starboard", CurrentA: 21, WindingW: 200, Seconds: 8},
		{Thruster: "vertical", CurrentA: 30, WindingW: 400, Seconds: 4, FuseBlows: true}}}
	for fuse, want := range map[float64]string{0: "alone it draws up to 21.0 A, no fuse is stated; 200 W heat its winding, which has about 8 s to 130 °C",
		10: "alone it draws up to 21.0 A, the 10 A fuse does not see it in time; 200 W heat its winding"} {
		m.Fuse.RatingA = fuse
		lines := m.jammedLines(units.Metric)
		require.Len(t, lines, 2)
		assert.Equal(t, "jammed port or starboard", lines[0].Name)
		assert.Contains(t, lines[0].Text, want)
		assert.Equal(t, "jammed vertical", lines[1].Name)
	}
	assert.Contains(t, m.jammedLines(units.Metric)[1].Text, "A fuse opens in time")
}

// Copper of a given length and size is known to their tolerances either way, the longer and the thinner the more it resists.
func TestCableShare(t *testing.T) {
	v := vehicle.Example()
	off := func(path string) float64 { b := v.Belief(path); return (b.High - b.Value) / b.Value }
	length, area := off("tether.length_m"), off("tether.power.area_mm2")
	require.Greater(t, min(length, area), 0.01)
	assert.InDelta(t, math.Hypot(length, area), cableShare(v, true), 0.1*area)
	assert.InDelta(t, math.Hypot(length, area), cableShare(v, false), 0.1*area)
}

// Who states a gauge is told of gauges, of each kind of conductor apart.
func TestSizesAsTheOwnerBuys(t *testing.T) {
	v := vehicle.Example()
	for _, set := range []string{"tether.power.awg=18", "battery.fuse_a=10", "relay.coil_ohm=60", "relay.coil_v=12", "relay.pull_in_v=9", "tether.signal.area_mm2=0.1"} {
		require.NoError(t, v.Set(set))
	}
	m := Ask(v, predict.Condition{WaterC: 15, TetherOutM: v.Tether.LengthM}, 0).Judge()
	all := fmt.Sprint(m.Lines(units.Metric))
	require.NotNil(t, m.Heating.BetterOf)
	assert.Contains(t, all, "they get hot even paid out: run short, or conductors of AWG ")
	assert.Regexp(t, `signal conductors of [0-9.]+ mm² would do`, all)
	assert.Contains(t, Changes(v, 0.1)[0].Name, "AWG")
}

// A battery that dives begin with under half of its charge is judged as that, not as a full one.
func TestBatteryAsDivesBegin(t *testing.T) {
	v := vehicle.Example()
	require.NoError(t, v.Set("battery.minimum_v=11.6"))
	q := Ask(v, predict.Condition{WaterC: 15, TetherOutM: v.Tether.LengthM}, 0)
	full := q.Judge()
	q.BegunV = 11.9
	spent := q.Judge()
	assert.InDelta(t, full.Battery.V-(v.Battery.RestV()-11.9), spent.Battery.V, 0.1)
	assert.Less(t, spent.Fuse.ShortA.Low, full.Fuse.ShortA.Low)
	assert.Equal(t, full.Heating.Density.High, max(full.Heating.Density.High, spent.Heating.Density.High-0.1))
	assert.Contains(t, fmt.Sprint(spent.Lines(units.Metric)), "V under the heaviest run from a battery that rests at 11.90 V, as dives begin with, it may not fall below 11.60 V; charge it first, or ")
	assert.True(t, Charged(v, 12.5))
	assert.False(t, Charged(v, 12.0))
}

// A loop that has had more resistance than its file says may be of thinner copper, which gets
// hotter and bears less; a new cable is not.
func TestThinnerCopperThanTheFileSays(t *testing.T) {
	v := vehicle.Example()
	require.NoError(t, v.Set("battery.fuse_a=15"))
	q := Ask(v, predict.Condition{WaterC: 15, TetherOutM: v.Tether.LengthM}, 0)
	file := q.Judge()
	q.ExcessOhm = v.Tether.CableOhm(15)
	thin := q.Judge()
	assert.InDelta(t, v.Tether.Power.Area()/2, thin.Heating.ThinMM2, 1e-9)
	assert.Greater(t, thin.Heating.Density.High, 1.9*thin.Heating.Density.Value)
	assert.Greater(t, thin.Heating.Density.High, file.Heating.Density.High)
	assert.InDelta(t, bearsA(v.Tether.Power.Area()/2, 1), thin.Fuse.BearsA, 1e-9)
	assert.Less(t, thin.Fuse.CableS, file.Fuse.CableS)
	assert.Contains(t, fmt.Sprint(thin.Lines(units.Metric)), "is a cable of 1.2 mm² a leg: read its jacket")
	assert.NotContains(t, fmt.Sprint(file.Lines(units.Metric)), "read its jacket")
}
