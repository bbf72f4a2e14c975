package prompt

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/newvehicle"
	"sagline/predict/vehicle"
)

func interviewed(t *testing.T, answers ...string) (*vehicle.Vehicle, []string, string, error) {
	t.Helper()
	var out bytes.Buffer
	d := newvehicle.Begin("pond")
	if err := (&Asker{Prompter: Plain(strings.NewReader(strings.Join(answers, "\n")+"\n"), &out), Width: 80}).Vehicle(d, "Enter alone: not known"); err != nil {
		return nil, nil, out.String(), err
	}
	v, columns, err := d.Build()
	return v, columns, out.String(), err
}

// Enter alone is an answer to all but the label, the length and the size.
func TestVehicleOfLabelsAlone(t *testing.T) {
	v, columns, said, err := interviewed(t, "", "", "12.8", "", "", "", "", "25", "", "14 AWG", "", "", "", "", "", "", "", "", "", "")
	require.NoError(t, err)
	assert.Equal(t, "pond", v.Name)
	assert.Equal(t, 12.8, v.Battery.NominalV)
	assert.Equal(t, "lithium-iron", v.Battery.Chemistry)
	assert.Equal(t, 25.0, v.Tether.LengthM)
	assert.Equal(t, 14.0, *v.Tether.Power.AWG)
	assert.Equal(t, vehicle.Prior, v.Belief("thruster.port.test_a").Origin)
	assert.Equal(t, []string{"port", "starboard", "vertical"}, []string{v.Thrusters[0].Name, v.Thrusters[1].Name, v.Thrusters[2].Name})
	assert.Equal(t, "heave", v.Thrusters[2].Axis)
	assert.Equal(t, []string{"dive", "date", "minute", "thrusters", "held", "battery_v", "current_a", "run_m", "run_s", "run_back_s", "serviced", "note"}, columns)
	assert.Equal(t, 3, strings.Count(said, "has to be known"), "asked again where it must be known")
	assert.NotContains(t, said, "volts at the motor", "no test, no voltage of it")
}

// Short words, other units, ranges, decimal commas and mistakes.
func TestVehicleAnswers(t *testing.T) {
	v, columns, said, err := interviewed(t, "Otter", "12", "lead", "back", "gel", "18", "ten", "10", "66 ft", "two", "12", "2,5 mm²", "1/2", "0.4 in",
		"left + Left", "left + right", "left", "-", "300", "4 to 6", "12", "1-2 kgf", "?", "60", "11 lb", "-20 to 50", "stop + hammer", "volt + kitchen")
	require.NoError(t, err)
	assert.Equal(t, "gel", v.Battery.Chemistry)
	assert.InDelta(t, 20.12, v.Tether.LengthM, 0.01)
	assert.Equal(t, 2.5, v.Tether.Power.AreaMM2)
	assert.InDelta(t, 10.16, v.Tether.DiameterMM, 1e-9)
	require.Len(t, v.Thrusters, 2)
	assert.Equal(t, []float64{-150, 150}, []float64{v.Thrusters[0].ArmMM, v.Thrusters[1].ArmMM})
	for _, name := range []string{"left", "right"} {
		b := v.Belief("thruster." + name + ".test_a")
		assert.Equal(t, vehicle.Range, b.Origin)
		assert.InDeltaSlice(t, []float64{4, 6}, []float64{b.Low, b.High}, 1e-9)
		b = v.Belief("thruster." + name + ".test_n")
		assert.InDeltaSlice(t, []float64{9.80665, 19.6133}, []float64{b.Low, b.High}, 1e-9)
	}
	assert.InDelta(t, 4.99, v.Hull.DisplacedKG, 0.001)
	assert.InDelta(t, 15, v.Hull.TrimG, 1e-9)
	assert.Contains(t, columns, "trim_g")
	assert.NotContains(t, columns, "current_a")
	for _, want := range []string{`found "ten", want a number, 0.1 to 500 A`, `found "two", want a size as 2.5 mm2, 14 AWG or 8 ohm/km`, `found "12", want its unit too: 12 mm2, 12 AWG or 12 ohm/km`, `found "1/2", want a number, 1 to 100 mm`,
		`found "Left", want names, each once, without comma, not off`, "a ruler across the blades' tips", `found "hammer", want of voltmeter`} {
		assert.Contains(t, said, want)
	}
}

// What is assumed of a key follows from what was answered of the others, also after an answer was changed.
func TestVehicleHelpFollowsAnswers(t *testing.T) {
	_, _, said, err := interviewed(t, "", "12", "", "", "", "15", "2.5 mm2", "?", "back", "0.75 mm2", "?", "", "", "", "", "", "", "", "", "", "")
	require.NoError(t, err)
	assert.Contains(t, said, "9.32 mm", "3 mm + 4 mm·√2.5")
	assert.Contains(t, said, "6.46 mm", "3 mm + 4 mm·√0.75")
}

// A vehicle may have no thrusters that push ahead, but not none at all; what was answered of them before is gone.
func TestVehicleWithHeaveAlone(t *testing.T) {
	v, _, said, err := interviewed(t, "", "24", "Lithium Ion", "", "", "20", "0.75 mm2", "", "left + right", "lift", "300", "back", "back", "back", "none", "-", "up down", "lift", "", "", "", "", "", "", "", "")
	require.NoError(t, err)
	require.Len(t, v.Thrusters, 1)
	assert.Equal(t, []string{"lift", "heave"}, []string{v.Thrusters[0].Name, v.Thrusters[0].Axis})
	assert.Equal(t, "lithium-ion", v.Battery.Chemistry)
	assert.Contains(t, said, "want at least one thruster")
	assert.Contains(t, said, `found "up down", want names`)
}

func TestVehicleBrokenOff(t *testing.T) {
	_, _, _, err := interviewed(t, "Otter", "12")
	assert.EqualError(t, err, "input has ended before the last question, nothing is written")
}

// Enter leaves a key as it was; what is said of several thrusters goes for all.
func TestRebuilt(t *testing.T) {
	rebuilt := func(answers ...string) (*newvehicle.Draft, string, error) {
		var out bytes.Buffer
		d := newvehicle.Rebuilt(vehicle.Example(), []string{"1", "2"}, "3")
		err := (&Asker{Prompter: Plain(strings.NewReader(strings.Join(answers, "\n")+"\n"), &out), Width: 80}).Vehicle(d, "Enter alone: as it was")
		return d, out.String(), err
	}
	d, said, err := rebuilt("", "mast", "tether + vertical", "45 ft", "don't know", "", "unknown", "", "14 AWG", "done")
	require.NoError(t, err)
	assert.Equal(t, "3", d.From)
	assert.Equal(t, []string{"tether.length_m=45 ft", "tether.diameter_mm=unknown", "tether.normal_drag=unknown", "tether.power.awg=14"}, d.Sets())
	assert.Contains(t, said, `found "mast", want of battery, tether, thruster port`)
	assert.Contains(t, said, "the tether from the battery to the vehicle, m (now 20)")
	assert.Contains(t, said, "one conductor of tether.power: as 2.5 mm2, 14 AWG or 8 ohm/km (now 2.5 mm²)")

	d, said, err = rebuilt("2", "port + starboard", "", "4 to 6", "done")
	require.NoError(t, err)
	assert.Equal(t, "2", d.From)
	assert.Equal(t, []string{"thruster.port.test_a=4 to 6", "thruster.starboard.test_a=4 to 6"}, d.Sets())
	assert.Contains(t, said, "each of 2 thrusters: amperes in the static test, A (now not stated)")

	for answer, want := range map[string]string{"dive 2": "2", "dive 3": "3", "dive 9": "9"} {
		d, _, err = rebuilt(answer, "tether", "45", "done")
		require.NoError(t, err)
		assert.Equal(t, want, d.From)
	}

	d, said, err = rebuilt("tether", "9", "tether", "45", "done")
	require.NoError(t, err)
	assert.Equal(t, "9", d.From)
	assert.Contains(t, said, `found dive "tether", want a number, as the log's dives have`)

	d, said, err = rebuilt("2", "Thrusters", "", "4 to 6", "done")
	require.NoError(t, err)
	assert.Len(t, d.Sets(), 3, "all of them, and not the one whose name begins as the plural ends")
	assert.Contains(t, said, "each of 3 thrusters: ")

	_, said, err = rebuilt("2", "starboard", "done")
	require.NoError(t, err)
	assert.Contains(t, said, "starboard: how far it sits")

	_, said, err = rebuilt("2", "battery", "unknown", "done")
	require.NoError(t, err)
	assert.Contains(t, said, "that has to be known: ")
}

// A question longer than the terminal's line breaks at blanks; what is left of it is
// what stands before the answer.
func TestLongQuestions(t *testing.T) {
	var out strings.Builder
	p := Plain(strings.NewReader("x\n"), &out)
	assert.Equal(t, "short", (&Asker{Prompter: p, Width: 40}).lastLine("short", ""))
	assert.Equal(t, "long enough to go on?", (&Asker{Prompter: p, Width: 60}).lastLine("a question that is for one line of forty much too long enough to go on?", "no")[2:])
	assert.Equal(t, "a question that is for one line of forty much too\n", out.String())
}
