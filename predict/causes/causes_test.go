package causes_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

func table() (*vehicle.Vehicle, []causes.Cause) {
	v := *vehicle.Example()
	v.Camera.CurrentA = 0.3
	return &v, causes.Table(&v)
}

func row(t *testing.T, name string) *causes.Cause {
	t.Helper()
	_, all := table()
	i := slices.IndexFunc(all, func(c causes.Cause) bool { return c.Name == name })
	require.GreaterOrEqual(t, i, 0, name)
	return &all[i]
}

// Readings under power tell all but what is weighed or measured of a vehicle that stands still.
func TestUnderPower(t *testing.T) {
	_, all := table()
	var still []string
	for i := range all {
		if !all[i].UnderPower() {
			still = append(still, all[i].Name)
		}
	}
	assert.ElementsMatch(t, []string{"ingress", "floats", "ballast", "insulation", "instrument:loop_ohm", "instrument:trim"}, still)
}

// What each row is, by its place in the contract: whom it blames, which way is
// worse, which services end it.
func TestRows(t *testing.T) {
	const ofVehicle, ofInstrument, notLogged = causes.Vehicle, causes.Instrument, causes.NotLogged
	want := map[string]struct {
		kind    causes.Kind
		worse   float64
		cleared string
	}{
		"power_loop":                {ofVehicle, 1, "joint tether"},
		"intermittent_contact":      {ofVehicle, 1, "joint tether"},
		"thrust":                    {ofVehicle, -1, "propeller thruster"},
		"friction":                  {ofVehicle, 1, "propeller thruster"},
		"drag":                      {ofVehicle, 1, "hull tether"},
		"ingress":                   {ofVehicle, -1, "ballast seal"},
		"battery":                   {ofVehicle, 1, "battery"},
		"insulation":                {ofVehicle, -1, "joint seal tether"},
		"branch:port":               {ofVehicle, 1, "joint tether thruster"},
		"thrust:port":               {ofVehicle, -1, "propeller thruster"},
		"friction:port":             {ofVehicle, 1, "propeller thruster"},
		"motor:port":                {ofVehicle, 1, "thruster"},
		"stall:port":                {ofVehicle, 1, "propeller thruster"},
		"open:port":                 {ofVehicle, 1, "joint tether thruster"},
		"contact:port":              {ofVehicle, 1, "joint tether thruster"},
		"lost:port":                 {ofVehicle, 1, "propeller thruster"},
		"instrument:current_a":      {ofInstrument, 0, "clamp"},
		"instrument:current_a:zero": {ofInstrument, 0, "clamp"},
		"instrument:voltage":        {ofInstrument, 0, "voltmeter"},
		"instrument:voltage:place":  {ofInstrument, 0, "voltmeter"},
		"instrument:vehicle_v":      {ofInstrument, 0, "voltmeter"},
		"instrument:loop_ohm":       {ofInstrument, 0, "ohmmeter"},
		"instrument:speed":          {ofInstrument, 0, "tape"},
		"instrument:trim":           {ofInstrument, 0, "scale"},
		"instrument:pull":           {ofInstrument, 0, "scale"},
		"ballast":                   {notLogged, 0, "ballast"},
		"not_logged:salinity":       {notLogged, 0, ""},
		"not_logged:battery":        {notLogged, 0, "battery"},
		"not_logged:lights":         {notLogged, 1, "lights"},
		"not_logged:depth":          {notLogged, 0, ""},
		"not_logged:reel":           {notLogged, 1, ""},
		"not_logged:climb":          {notLogged, 0, ""},
		"motor":                     {causes.Vehicle, 1, "thruster"},
		"floats":                    {causes.Vehicle, 1, "ballast hull tether"},
		"not_logged:propeller":      {notLogged, 0, "propeller thruster"},

		"not_logged:battery:charge":  {notLogged, -1, "battery"},
		"not_logged:lights:lit":      {notLogged, 0, "lights"},
		"not_logged:lights:camera":   {notLogged, -1, "camera"},
		"not_logged:propeller:surge": {notLogged, 0, "propeller thruster"},

		"not_logged:one_propeller:port": {notLogged, 0, "propeller thruster"},

		"not_logged:repair:power_loop":  {notLogged, -1, "joint tether"},
		"not_logged:repair:thrust":      {notLogged, 1, "propeller thruster"},
		"not_logged:repair:friction":    {notLogged, -1, "propeller thruster"},
		"not_logged:repair:drag":        {notLogged, -1, "hull tether"},
		"not_logged:repair:branch:port": {notLogged, -1, "joint tether thruster"},
	}
	v, all := table()
	seen := map[string]bool{}
	for _, c := range all {
		name := c.Name
		for _, of := range v.Thrusters[1:] {
			name = strings.Replace(name, ":"+of.Name, ":port", 1)
		}
		w, ok := want[name]
		require.True(t, ok, name)
		seen[name] = true
		assert.Equal(t, w.kind, c.Kind, name)
		assert.Equal(t, w.worse, c.Worse, name)
		cleared := slices.Sorted(slices.Values(c.Cleared))
		assert.Equal(t, w.cleared, strings.Join(cleared, " "), name)
		for _, part := range strings.Fields("tether joint thruster propeller hull seal ballast battery clamp voltmeter ohmmeter tape scale lights camera") {
			assert.Equal(t, slices.Contains(cleared, part), c.ClearedBy([]string{"paint", part}), "%s by %s", name, part)
		}
		assert.False(t, c.ClearedBy(nil), name)
	}
	assert.Len(t, seen, len(want))
}

// A row is whole: it has words, a check, sizes and probabilities, what it is a
// case of comes before it, and a limit lies on the side that is worse.
func TestRowsAreWhole(t *testing.T) {
	v, all := table()
	before := map[string]*causes.Cause{}
	for i := range all {
		c := &all[i]
		assert.NotContains(t, before, c.Name)
		assert.NotEmpty(t, c.Words, c.Name)
		assert.NotEmpty(t, c.What, c.Name)
		assert.NotEmpty(t, c.Check, c.Name)
		assert.Positive(t, c.Step, c.Name)
		assert.Less(t, c.Step+c.Ramp+c.Once, 0.02, "%s: causes are rare", c.Name)
		assert.Equal(t, c.Step+c.Ramp, c.Begins(), c.Name)
		assert.Equal(t, len(c.Amplitudes) == 0, c.Contact > 0 || c.Fails.Thruster > 0, c.Name)
		if c.Of != "" {
			require.Contains(t, before, c.Of, c.Name)
			assert.Equal(t, before[c.Of].Kind, c.Kind)
		}
		if len(c.Amplitudes) == 0 {
			assert.Equal(t, -1, c.Param(), c.Name)
		} else {
			assert.Equal(t, c.Amplitudes[0].Terms[0].Param, c.Param(), c.Name)
		}
		for _, a := range c.Amplitudes {
			assert.Positive(t, a.Step, c.Name)
			assert.Equal(t, c.Ramp > 0, a.Ramp > 0, c.Name)
		}
		if how := c.Fails; how.Thruster > 0 {
			kind := map[causes.How]string{causes.Jammed: "stall:", causes.Open: "open:", causes.Lost: "lost:"}[how.How]
			assert.Equal(t, kind+v.Thrusters[how.Thruster-1].Name, c.Name)
			assert.Equal(t, kind == "stall:", how.Jam())
		}
		if c.Tracked {
			limit := c.Limit(&v.Limits)
			sound := 0.0
			switch {
			case c.Name == "battery":
				sound = v.Battery.ResistanceOhm
			case c.Name == "insulation":
				sound = 100
			case c.Scale.Factor:
				sound = 1
			}
			amplitude := c.Scale.Amplitude(limit, c.Scale.Amplitude(sound, 0))
			if c.Scale.Absolute {
				amplitude = c.Scale.Amplitude(limit, absolute(c, sound))
			}
			assert.Positive(t, c.Worse*amplitude, "%s: its limit %v lies on the good side of %v", c.Name, limit, sound)
		}
		before[c.Name] = c
	}
}

// absolute is a sound value as an amplitude.
func absolute(c *causes.Cause, sound float64) float64 {
	s := c.Scale
	s.Absolute = false
	return s.Amplitude(sound, 0)
}

// The same of different thrusters is worded as of either, and all are to be looked at.
func TestEither(t *testing.T) {
	of := func(name string) *causes.Cause {
		table := causes.Table(vehicle.Example())
		return &table[slices.IndexFunc(table, func(c causes.Cause) bool { return c.Name == name })]
	}
	assert.True(t, of("stall:port").Alike(of("stall:starboard")))
	for a, b := range map[string]string{"stall:port": "stall:port", "branch:port": "stall:starboard", "power_loop": "thrust", "instrument:voltage": "instrument:speed", "friction": "friction:port"} {
		assert.False(t, of(a).Alike(of(b)), "%s, %s", a, b)
		assert.False(t, of(b).Alike(of(a)), "%s, %s", b, a)
	}
	c := of("stall:starboard").Either([]*causes.Cause{of("stall:starboard"), of("stall:vertical")})
	assert.Equal(t, "stall:starboard", c.Name)
	assert.Equal(t, of("stall:starboard").Fails, c.Fails)
	assert.Equal(t, "jam of starboard or vertical", c.Words)
	assert.Contains(t, c.What, "starboard or vertical is jammed")
	assert.Contains(t, c.Check, "switch starboard and vertical off at once")
}

func TestScale(t *testing.T) {
	for _, c := range []struct {
		name                string
		amplitude, sound, x float64
	}{
		{"power_loop", 0.15, 0, 0.15},
		{"thrust", -0.2, 0, 0.818730753},
		{"ingress", -40, 0, 40},
		{"ingress", 0, 0, 0},
		{"battery", 0.02, 0.05, 0.07},
		{"insulation", -2.302585093, 4.605170186, 10},
		{"motor:port", 0.1, 0, 0.904837418},
		{"instrument:current_a", 0.05, 0, 1.051271096},
	} {
		s := row(t, c.name).Scale
		assert.InDelta(t, c.x, s.Show(c.amplitude, c.sound), 1e-8, c.name)
		assert.InDelta(t, c.amplitude, s.Amplitude(c.x, c.sound), 1e-8, c.name)
	}
	assert.False(t, signbit(row(t, "ingress").Scale.Show(0, 0)), "no −0")
	assert.InDelta(t, -20.7, row(t, "thrust").Scale.Amplitude(0, 0), 0.1, "a factor of nothing is finite")
}

func signbit(x float64) bool { return 1/x < 0 }

// Each cause moves the readings that the contract says, the way that is worse.
func TestSignatures(t *testing.T) {
	v, all := table()
	m := predict.NewModel(v)
	off, ahead, up := []int8{0, 0, 0}, []int8{1, 1, 0}, []int8{0, 0, 1}
	read := func(sign []int8, held, climbing bool, q quantity.Quantity, change func(p predict.Params)) float64 {
		p := m.NewParams()
		if change != nil {
			change(p)
		}
		c := predict.Condition{Sign: sign, Electrical: true, Held: held, Climbing: climbing, WaterC: 15, TetherOutM: 10, DepthM: 2, DepthAssumed: 1, OutAssumed: 1}
		var pt predict.Point
		m.Solve(&c, p, &pt, nil)
		return pt.Out[q]
	}
	speed := func(change func(predict.Params)) float64 { return read(ahead, false, false, quantity.Speed, change) }
	amps := func(change func(predict.Params)) float64 { return read(ahead, true, false, quantity.CurrentA, change) }
	pull := func(change func(predict.Params)) float64 { return read(ahead, true, false, quantity.Pull, change) }
	volts := func(change func(predict.Params)) float64 { return read(ahead, true, false, quantity.BatteryV, change) }
	far := func(change func(predict.Params)) float64 { return read(ahead, true, false, quantity.VehicleV, change) }
	hover := func(change func(predict.Params)) float64 { return read(off, false, false, quantity.Trim, change) }
	loop := func(change func(predict.Params)) float64 { return read(off, false, false, quantity.LoopOhm, change) }
	leak := func(change func(predict.Params)) float64 { return read(off, false, false, quantity.Insulation, change) }
	rise := func(change func(predict.Params)) float64 { return read(up, false, true, quantity.Climb, change) }
	readings := map[string]func(func(predict.Params)) float64{"speed": speed, "current": amps, "pull": pull, "volts": volts, "far volts": far,
		"hover": hover, "loop": loop, "insulation": leak, "rise": rise}
	// of every reading −, + or 0 for what it does; what is not listed stays
	want := map[string]map[string]int{
		"power_loop":           {"speed": -1, "current": -1, "pull": -1, "volts": 1, "far volts": -1, "loop": 1, "rise": -1},
		"thrust":               {"speed": -1, "pull": -1, "rise": -1},
		"friction":             {"speed": -1, "current": 1, "pull": -1, "volts": -1, "far volts": -1, "rise": -1},
		"drag":                 {"speed": -1},
		"ingress":              {"hover": -1, "rise": -1},
		"battery":              {"speed": -1, "current": -1, "pull": -1, "volts": -1, "far volts": -1, "rise": -1},
		"insulation":           {"insulation": -1},
		"branch:port":          {"speed": -1, "current": -1, "pull": -1, "volts": 1, "far volts": 1},
		"thrust:port":          {"speed": -1, "pull": -1},
		"friction:port":        {"speed": -1, "current": 1, "pull": -1, "volts": -1, "far volts": -1},
		"floats":               {"hover": -1, "rise": -1},
		"motor:port":           {"current": 1, "volts": -1, "far volts": -1},
		"instrument:current_a": {"current": 1}, "instrument:current_a:zero": {"current": 1},
		"instrument:voltage": {"volts": 1, "far volts": 1}, "instrument:voltage:place": {"volts": -1, "loop": -1}, "instrument:vehicle_v": {"far volts": 1}, "instrument:loop_ohm": {"loop": 1},
		"instrument:speed": {"speed": 1}, "instrument:trim": {"hover": 1}, "instrument:pull": {"pull": 1},
		"ballast": {"hover": 1, "rise": 1}, "not_logged:salinity": {"hover": 1, "rise": 1},
		"not_logged:battery": {"speed": -1, "current": -1, "pull": -1, "volts": -1, "far volts": -1, "rise": -1},
		"not_logged:reel":    {"speed": -1, "current": -1, "pull": -1, "volts": 1, "far volts": -1, "loop": 1, "rise": -1},
		"not_logged:depth":   {"speed": -1, "hover": -1},
		"not_logged:climb":   {}, // package predict tests its current
		"not_logged:lights":  {"speed": -1, "current": 1, "pull": -1, "volts": -1, "far volts": -1, "rise": -1},
	}
	for i := range all {
		c := &all[i]
		signs, ok := want[c.Name]
		if !ok {
			continue
		}
		delete(want, c.Name)
		way := c.Worse
		if way == 0 {
			way = 1
		}
		change := func(p predict.Params) {
			for _, term := range c.Amplitudes[0].Terms {
				p[term.Param] += way * c.Amplitudes[0].Step * term.Per
			}
		}
		for name, of := range readings {
			d := of(change) - of(nil)
			switch signs[name] {
			case 0:
				if c.Name == "not_logged:salinity" && name == "speed" || c.Name == "motor:port" { // a little denser; it turns faster with less force
					continue
				}
				assert.InDelta(t, 0, d, 2e-3, "%s: %s", c.Name, name)
			default:
				assert.Greater(t, d*float64(signs[name]), 1e-4, "%s: %s", c.Name, name)
			}
		}
	}
	assert.Empty(t, want)
}

// The ways of a cause are all there is of it, and it reaches what any of them changes.
func TestWays(t *testing.T) {
	c := causes.Cause{Amplitudes: []causes.Amplitude{{Terms: []causes.Term{{1, 1}}, Step: 0.4}, {Terms: []causes.Term{{2, -3}}, Step: 0.1}}, Else: []causes.Way{{Terms: []causes.Term{{1, 1}, {3, -0.5}}, P: 0.1}}}
	require.Equal(t, 2, c.Ways())
	sum := 0.0
	for i := range c.Ways() {
		_, p := c.Way(i)
		sum += p
	}
	assert.InDelta(t, 1, sum, 1e-12)
	terms, p := c.Way(1)
	assert.Equal(t, c.Else[0].Terms, terms)
	assert.Less(t, p, 0.5)
	want := []causes.Term{{1, 0.4}, {1, 0.4}, {3, 0.2}, {2, 0.3}}
	got := c.Reach()
	require.Len(t, got, len(want))
	for i := range want {
		assert.Equal(t, want[i].Param, got[i].Param)
		assert.InDelta(t, want[i].Per, got[i].Per, 1e-12)
	}
}

// A weight that nobody wrote down is as large as vehicles are.
func TestBallastGoesWithTheVehicle(t *testing.T) {
	v := vehicle.Example()
	size := func(kg float64) float64 {
		v.Hull.DisplacedKG = kg
		for _, c := range causes.Table(v) {
			if c.Name == "ballast" {
				return c.Amplitudes[0].Step
			}
		}
		return 0
	}
	assert.Equal(t, 60.0, size(3))
	assert.Equal(t, 120.0, size(20))
}

// Of a propeller that takes more torque the size is bounded, of one that takes less, or of a wire, it is not; nor may
// another propeller be far from that, a lamp, the water's salt, a reel's warmth, magnets or a repair.
func TestSizesThatMayBe(t *testing.T) {
	v := vehicle.Example()
	table := causes.Table(v)
	of := func(name string) *causes.Cause {
		i := slices.IndexFunc(table, func(c causes.Cause) bool { return c.Name == name })
		require.GreaterOrEqual(t, i, 0, name)
		return &table[i]
	}
	one := "thrust:" + v.Thrusters[0].Name
	for _, c := range []struct {
		cause     string
		size, way int
		may       bool
	}{{one, 0, 4, true}, {one, 1, 0, true}, {one, 1, 1, true}, {one, 1, 2, true}, {one, 1, 3, true}, {one, 1, 4, false}, {"power_loop", 1, 0, true}, {"not_logged:propeller", 0, 0, true}, {"not_logged:propeller", 1, 0, false},
		{"not_logged:lights", 0, 0, true}, {"not_logged:lights", 1, 0, false}, {"not_logged:salinity", 1, 0, false}, {"not_logged:reel", 1, 0, false}, {"motor:" + v.Thrusters[0].Name, 1, 0, false},
		{"ballast", 1, 0, true}, {"not_logged:battery", 1, 0, true}, {"not_logged:repair:power_loop", 1, 0, false}} {
		assert.Equal(t, c.may, of(c.cause).MaySize(c.size, c.way), "%+v", c)
	}
	terms, _ := of(one).Way(4)
	assert.Less(t, terms[0].Per*terms[1].Per, 0.0, "the way in which thrust falls as torque rises")
}

// What is gone is the camera where the file has one, else a load that it does not mention.
func TestTheLoadThatIsGone(t *testing.T) {
	gone := func(amps float64) (out []string) {
		v := *vehicle.Example()
		v.Camera.CurrentA = amps
		for _, c := range causes.Table(&v) {
			if c.Quantity == "not_logged:lights" && c.Worse < 0 {
				out = append(out, fmt.Sprint(c.Name, " ", c.Amplitudes[0].Step, " ", strings.Join(c.Cleared, "+")))
			}
		}
		return out
	}
	assert.Equal(t, []string{"not_logged:lights:gone 0.5 lights+camera"}, gone(0))
	assert.Equal(t, []string{"not_logged:lights:camera 0.3 camera"}, gone(0.3))
}

// Friction that stops the motor is a jam: it takes the stall current of the file's vehicle. Magnets keep two thirds of their flux at
// once, or the motor stands. No water is saltier than 40 psu. No other
// row has such an end.
func TestFrictionEndsAtTheStallCurrent(t *testing.T) {
	v, all := table()
	for _, c := range all {
		if c.Name == "not_logged:salinity" {
			assert.Equal(t, 40.0, c.Most)
			continue
		}
		if strings.HasPrefix(c.Name, "motor:") {
			assert.Equal(t, []float64{0, 0.35}, []float64{c.Most, c.MostAtOnce}, "with less than two thirds of its flux")
			assert.Contains(t, c.Check, "battery unplugged")
			continue
		}
		if !strings.HasPrefix(c.Name, "friction:") {
			assert.Zero(t, c.Most, c.Name)
			continue
		}
		th := &v.Thrusters[slices.IndexFunc(v.Thrusters, func(th vehicle.Thruster) bool { return c.Name == "friction:"+th.Name })]
		assert.InDelta(t, v.Battery.NominalV, c.Most*(th.ArmatureOhm+th.BranchOhm+v.LoopOhm(20)+v.Battery.ResistanceOhm), 1e-9, c.Name)
	}
}

// The only thruster's friction and thrust are those of all, which is said once.
func TestOnlyThruster(t *testing.T) {
	names := func(n int) (out []string) {
		v := &vehicle.Vehicle{}
		for i := range n {
			v.Thrusters = append(v.Thrusters, vehicle.Thruster{Name: string(rune('a' + i)), Axis: "surge"})
		}
		for _, c := range causes.Table(v) {
			out = append(out, c.Name)
		}
		return out
	}
	assert.NotContains(t, names(1), "friction:a")
	assert.NotContains(t, names(1), "thrust:a")
	for _, name := range []string{"friction", "thrust", "branch:a", "motor:a", "stall:a", "open:a", "lost:a"} {
		assert.Contains(t, names(1), name)
	}
	assert.Contains(t, names(2), "friction:a")

	v := vehicle.Example()
	v.Thrusters = v.Thrusters[:1]
	for _, c := range causes.Table(v) {
		switch c.Name {
		case "friction":
			assert.Positive(t, c.Most, "one that stops it is a jam")
		case "lost:" + v.Thrusters[0].Name:
			assert.Equal(t, "thrust", c.Of)
			assert.Equal(t, "thrust_factor", c.Quantity)
		}
	}
}

// Other propellers may be on all thrusters, or on those that drive ahead where others do not: then each is half as likely.
func TestOtherPropellers(t *testing.T) {
	of := func(axes ...string) map[string]causes.Cause {
		v := &vehicle.Vehicle{}
		for i, axis := range axes {
			v.Thrusters = append(v.Thrusters, vehicle.Thruster{Name: string(rune('a' + i)), Axis: axis})
		}
		rows := map[string]causes.Cause{}
		for _, c := range causes.Table(v) {
			if strings.HasPrefix(c.Name, "not_logged:propeller") {
				rows[c.Name] = c
			}
		}
		return rows
	}
	const all, ahead = "not_logged:propeller", "not_logged:propeller:surge"
	alone := of("surge", "surge")
	for _, rows := range []map[string]causes.Cause{alone, of("heave", "heave")} {
		assert.Len(t, rows, 1)
		assert.Contains(t, rows, all)
	}
	some := of("heave", "surge", "surge")
	assert.Len(t, some, 2)
	assert.InDelta(t, alone[all].Step, some[all].Step+some[ahead].Step, 1e-12)
	assert.Equal(t, some[all].Step, some[ahead].Step)
	assert.Equal(t, all, some[ahead].Of)
	for k, a := range some[all].Amplitudes {
		of := some[ahead].Amplitudes[k]
		assert.Equal(t, a.Step, of.Step)
		require.Len(t, of.Terms, 2*len(a.Terms), "the same of both, and not of the one that lifts")
		for i, term := range of.Terms {
			thruster, what := (term.Param-predict.FirstThruster)/predict.PerThruster, (term.Param-predict.FirstThruster)%predict.PerThruster
			assert.Equal(t, 1+i/len(a.Terms), thruster)
			one := a.Terms[i%len(a.Terms)]
			assert.Equal(t, map[int]int{predict.LogPitch: predict.LogOnePitch, predict.LogThrust: predict.LogOneThrust, predict.LogTorque: predict.LogOneTorque}[one.Param], what)
			assert.Equal(t, one.Per, term.Per)
		}
	}
}

// Rest voltages of two batteries lie further apart than those of one from dive to dive.
func TestAnotherBattery(t *testing.T) {
	v, _ := table()
	rest := row(t, "not_logged:battery").Amplitudes[1]
	assert.Equal(t, []causes.Term{{Param: predict.OpenCircuitV, Per: 1}}, rest.Terms)
	assert.Greater(t, rest.Step, 2*v.Battery.ChargeSD())
	assert.Less(t, rest.Step, 4*v.Battery.ChargeSD())
}

// Only what goes over decades multiplies: 20 MΩ a third of it each dive falls by as much as it has times ln 3.
func TestTimes(t *testing.T) {
	assert.InDelta(t, 1.0/3, causes.Scale{Factor: true, Absolute: true}.Times(-20*math.Log(3), 20), 1e-12)
	assert.Zero(t, causes.Scale{Factor: true}.Times(-0.1, 1))
	assert.Zero(t, causes.Scale{Absolute: true}.Times(-0.1, 1))
	assert.Zero(t, causes.Scale{Factor: true, Absolute: true}.Times(-0.1, 0))
}

// Friction of larger motors is larger, of all by the largest; smaller motors keep the usual size.
func TestFrictionOfLargerMotors(t *testing.T) {
	v := vehicle.Example().Clone()
	v.Thrusters[0].TestA, v.Thrusters[1].TestA = 21, 2
	size := func(name string) causes.Amplitude {
		all := causes.Table(v)
		return all[slices.IndexFunc(all, func(c causes.Cause) bool { return c.Name == name })].Amplitudes[0]
	}
	for name, want := range map[string][2]float64{"friction": {0.6, 0.09}, "friction:" + v.Thrusters[0].Name: {0.9, 0.15}, "friction:" + v.Thrusters[1].Name: {0.3, 0.05},
		"branch:" + v.Thrusters[0].Name: {0.2, 0.03}, "not_logged:repair:friction": {0.6, 0}} {
		got := size(name)
		assert.InDeltaSlice(t, want[:], []float64{got.Step, got.Ramp}, 1e-12, name)
	}
}

// A battery of more resistance than usual gains more; another may be any.
func TestSizesOfTheBattery(t *testing.T) {
	of := func(ohm float64) (aged, another causes.Cause) {
		v := vehicle.Example()
		v.Battery.ResistanceOhm = ohm
		for _, c := range causes.Table(v) {
			switch c.Name {
			case "battery":
				aged = c
			case "not_logged:battery":
				another = c
			}
		}
		return aged, another
	}
	for ohm, times := range map[float64]float64{0.02: 1, 0.045: 1, 0.18: 4} {
		aged, another := of(ohm)
		assert.InDelta(t, 0.03*times, aged.Amplitudes[0].Step, 1e-12, ohm)
		assert.InDelta(t, 0.002*times, aged.Amplitudes[0].Ramp, 1e-12, ohm)
		_, usual := of(0.02)
		assert.Equal(t, usual.Amplitudes, another.Amplitudes)
	}
}
