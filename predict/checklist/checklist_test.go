package checklist

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/causes"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/outlook"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// before is the list of the example vehicle as built, by what to look at.
func before(t *testing.T, margins *advice.Margins, change func(v *vehicle.Vehicle)) map[string]string {
	return beforeWith(t, margins, change, map[quantity.Quantity]bool{quantity.CurrentA: true})
}

func beforeWith(t *testing.T, margins *advice.Margins, change func(v *vehicle.Vehicle), reads map[quantity.Quantity]bool) map[string]string {
	v, err := vehicle.Open("../../examples/joint")
	require.NoError(t, err)
	change(v)
	r, err := fit.Fit(v, &session.Log{})
	require.NoError(t, err)
	out := map[string]string{}
	rep := &findings.Report{Findings: []findings.Finding{{Fault: "power_loop", Probability: 0.9, Cause: &causes.Cause{Name: "power_loop", Words: "excess loop resistance"}, SinceDive: "9", CheckNext: "flex each joint: 100 % of them"}}}
	for _, c := range Before(r, rep, margins, predict.Condition{WaterC: 20, TetherOutM: 30}, reads) {
		out[c.Item] = c.Go
	}
	return out
}

// Limits in numbers are those of tables and of the model: rest voltages by the
// BCI table for lead-acid; 30 m of 2.5 mm² there and back at 20 °C, 1/58 Ω·mm²/m
// with a lay factor of 1.02, and the file's 0.04 Ω of joints: 0.462 Ω, 0.3 Ω
// more at its limit; three standard deviations of a clamp meter of 0.15 A.
func TestLimits(t *testing.T) {
	sound := &advice.Margins{Fuse: advice.Fuse{RatingA: 20}}
	got := before(t, sound, func(*vehicle.Vehicle) {})
	assert.Equal(t, "12.45 V or more (75 % of its charge); below 12.24 V charge it first", got["battery at rest, an hour after charging"])
	assert.Equal(t, "0.46 Ω when sound, at most 0.76 Ω", got["battery unplugged, far end shorted: ohms of the power pair; take the short off"])
	assert.Equal(t, "0.0 A, at most 0.4 A: more is a leak or something left on", got["current with everything off"])
	assert.Contains(t, got["battery unplugged, tether wet: megohms from the power pair to the water"], "1 MΩ or more (IEC 60364-6")
	assert.Equal(t, "flex each joint: 100 % of them", got["open since dive 9: excess loop resistance"])
	assert.Contains(t, got, "battery unplugged: propeller of vertical by hand")
	assert.Contains(t, got, "seals and O-rings", "no tube is named")
	assert.NotContains(t, got, "lights on")
}

// Nobody is asked for amperes who has no meter for them.
func TestAmperesNeedAClamp(t *testing.T) {
	lit := func(v *vehicle.Vehicle) { require.NoError(t, v.Set("lights.current_a=2")) }
	got := before(t, &advice.Margins{}, lit)
	assert.Equal(t, "1.6 to 2.5 A more than off", got["lights on"])
	got = beforeWith(t, &advice.Margins{}, lit, map[quantity.Quantity]bool{quantity.BatteryV: true})
	assert.NotContains(t, got, "current with everything off")
	assert.Equal(t, "all of them shine", got["lights on"])
}

// The hover weight is that at the surface however deep the dive is planned, with a
// limit once it is known better than by that limit: 70 g by the
// file, ±78 g, are not; 60 g of water are too much.
func TestHoverWeight(t *testing.T) {
	const look = "hover weight at the surface"
	assert.Regexp(t, `^not known yet, -\d+ g to 1\d\d g: hang weights on it until it hovers, floats where it sinks, and write them down$`, before(t, &advice.Margins{}, func(*vehicle.Vehicle) {})[look])
	v, err := vehicle.Open("../../examples/sound")
	require.NoError(t, err)
	log, err := session.Open("../../examples/sound")
	require.NoError(t, err)
	r, err := fit.Fit(v, log)
	require.NoError(t, err)
	said := func(depth float64) string {
		all := Before(r, drift.Analyse(r), &advice.Margins{}, predict.Condition{WaterC: 15, TetherOutM: 30, DepthM: depth}, nil)
		return all[slices.IndexFunc(all, func(c Check) bool { return c.Item == look })].Go
	}
	assert.Regexp(t, `^\d+ g by the log, \d+ g when sound; no-go at \d+ g or less: water taken in$`, said(0))
	assert.Equal(t, said(0), said(25))

	r.Model.Vehicle.Limits.IngressG = 1 // less than is known of it: then what it is now is said, with 300 g of water in it
	rep := drift.Analyse(r)
	rep.Posterior = fit.Posterior{}
	for i := range rep.Trends {
		if x := &rep.Trends[i]; x.Quantity == "ingress_g" {
			x.Level = findings.Estimate{Value: 300, Low: 290, High: 310}
			x.Levels[len(x.Levels)-1] = x.Level
		}
	}
	l := list{r: r, rep: rep, v: r.Model.Vehicle, now: outlook.Present(r, rep), margins: &advice.Margins{}}
	l.trim()
	assert.Regexp(t, `^not known yet, -2\d\d g to -1\d\d g: `, l.out[0].Go)

	// a limit that is more than the vehicle floats by is no leave to sink
	l.out, r.Model.Vehicle.Limits.IngressG = nil, 200
	l.trim()
	assert.Regexp(t, `^NO-GO -2\d\d g by the log, \d+ g when sound; no-go at 0 g or less: it sinks$`, l.out[0].Go)
}

// Volts that say how full a battery is go by its chemistry, which may be a guess.
func TestGuessedChemistry(t *testing.T) {
	const text = "name = \"x\"\nbattery.nominal_v = 12\ntether.length_m = 20\ntether.power.area_mm2 = 2.5\n[[thruster]]\nname = \"port\"\naxis = \"surge\"\n"
	for text, want := range map[string]string{text: "12.45 V or more (75 % of its charge); below 12.24 V charge it first; taken for lead-acid by its volts: if it is another, state battery.chemistry",
		"battery.chemistry = \"lithium-iron\"\n" + text: "13.25 V or more (75 % of its charge); below 13.10 V charge it first"} {
		v, err := vehicle.Read(strings.NewReader(text), "vehicle.toml")
		require.NoError(t, err)
		got := before(t, &advice.Margins{}, func(into *vehicle.Vehicle) { *into = *v })
		assert.Equal(t, want, got["battery at rest, an hour after charging"])
	}
}

// A camera is on the list where the file names one.
func TestCameraOfTheFile(t *testing.T) {
	got := before(t, &advice.Margins{}, func(*vehicle.Vehicle) {})
	assert.NotContains(t, got, "camera")
	got = before(t, &advice.Margins{}, func(v *vehicle.Vehicle) { require.NoError(t, v.Set("camera.supply=own")) })
	assert.Equal(t, "its own supply charged, the picture is there", got["camera"])
	got = before(t, &advice.Margins{}, func(v *vehicle.Vehicle) { v.Camera.CurrentA = 0.2 })
	assert.Contains(t, got, "camera")
}

func TestPartsMakeTheList(t *testing.T) {
	unsealed := false
	m := &advice.Margins{Camera: &advice.Least{V: 8, MinimumV: 9}, Tubes: []advice.TubeDepth{{DeepestM: 12.5, Index: 1}}}
	got := before(t, m, func(v *vehicle.Vehicle) {
		v.Battery.FuseA, v.Camera.Supply, v.Lights.CurrentA = 0, "shared", 1.5
		v.Tubes = []vehicle.Tube{{Name: "frame", Sealed: &unsealed}, {OuterMM: 50, WallMM: 3, Material: "pvc"}}
		v.Joints = []vehicle.Joint{{Name: "splice"}}
	})
	assert.Equal(t, "one is fitted: the file states none", got["fuse at the battery"])
	assert.Contains(t, got["camera"], "NO-GO on the vehicle's supply: it falls to 8.0 V, it wants 9.0 V")
	assert.Contains(t, got, "plug, splice")
	assert.Contains(t, got["lights on"], "1.1 to 1.9 A more than off")
	assert.NotContains(t, got, "tube frame", "water goes through it")
	assert.Contains(t, got["tube 2"], "loses no more than 1.2 kPa; no deeper than 12.5 m")
	right := 10.0
	got = before(t, &advice.Margins{Fuse: advice.Fuse{BetterA: &right}}, func(v *vehicle.Vehicle) { v.Battery.FuseA = 0 })
	assert.Equal(t, "one is fitted, 10 A would be right: the file states none", got["fuse at the battery"])
	short := advice.Fuse{RatingA: 10, ShortA: advice.Range{Low: 30, Value: 31, High: 32}, HeavyA: 16, FuseS: 1, CableS: 90, BearsA: 16}
	got = before(t, &advice.Margins{Fuse: short}, func(*vehicle.Vehicle) {})
	assert.Equal(t, "fitted, 10 A and no more; it may open in the heaviest run: see the margins", got["fuse at the battery"])
	short.BearsA = 8
	got = before(t, &advice.Margins{Fuse: short}, func(*vehicle.Vehicle) {})
	assert.Equal(t, "NO-GO with 10 A: it lets more pass than the conductors bear, see the margins", got["fuse at the battery"])
	lazy := short
	lazy.BearsA, lazy.ShortA.Low, lazy.HeavyA = 16, 12, 9
	got = before(t, &advice.Margins{Fuse: lazy}, func(*vehicle.Vehicle) {})
	assert.Equal(t, "NO-GO with 10 A: it does not open on every short, see the margins", got["fuse at the battery"])
	less := 5.0
	short.LessA = &less
	got = before(t, &advice.Margins{Fuse: short}, func(*vehicle.Vehicle) {})
	assert.Equal(t, "5 A would be right where no more than 5.5 A run at a time: the 10 A of the file do not hold, see the margins", got["fuse at the battery"], "no go with a fuse that does not hold")
	got = before(t, &advice.Margins{Fuse: advice.Fuse{LessA: &less}}, func(v *vehicle.Vehicle) { v.Battery.FuseA = 0 })
	assert.Equal(t, "one is fitted, 5 A where no more than 5.5 A run at a time: the file states none", got["fuse at the battery"])
	less = 10
	got = before(t, &advice.Margins{Fuse: short}, func(*vehicle.Vehicle) {})
	assert.NotContains(t, got["fuse at the battery"], "would be right", "none smaller would hold better")
	for _, c := range After(vehicle.Example()) {
		assert.NotEmpty(t, c.Item)
		assert.NotEmpty(t, c.Go)
	}
}

// A part is due by whichever comes first, counted from its last service.
func TestDue(t *testing.T) {
	log, err := session.Open("../../examples/joint") // joint serviced before dive 21 of 30, on 23 July 2025
	require.NoError(t, err)
	day := time.Date(2025, 9, 30, 0, 0, 0, 0, time.UTC)
	v := &vehicle.Vehicle{Maintenance: []vehicle.Interval{{Part: "joint", Dives: 11}, {Part: "joint", Dives: 10}, {Part: "joint", Days: 69, Dives: 50}, {Part: "seal", Dives: 31}, {Part: "hull"}}}
	assert.Equal(t, []string{"joint: not yet due; serviced before dive 21, 10 of 11 dives since", "joint: DUE; serviced before dive 21, 10 of 10 dives since",
		"joint: DUE; serviced before dive 21, 10 of 50 dives, 69 of 69 days since", "seal: not yet due; never serviced in this log, 30 of 31 dives since"}, DueParts(v, log, day))
	for i := range log.Dives {
		log.Dives[i].Date = time.Time{}
	}
	assert.Equal(t, "joint: not yet due; serviced before dive 21, 10 of 50 dives, an unknown number of 69 days since", DueParts(v, log, day)[2])
	assert.Equal(t, "seal: not yet due; never serviced in this log, 0 of 31 dives since", DueParts(v, &session.Log{}, day)[3])
}
