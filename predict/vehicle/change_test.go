package vehicle

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const rebuilt = leastKnown + `[[change]]
dive = "3"
"tether.length_m" = 80
"thruster.port.prop_pitch_mm" = [40, 50]
[[change]]
dive = 5
tether.power.awg = 12
[[change]]
dive = "5"
"tether.power.awg" = 10
[[change]]
dive = "next"
"tether.length_m" = 30
`

func TestEras(t *testing.T) {
	v := reads(t, rebuilt)
	eras, err := v.Eras([]string{"1", "2", "3", "4", "5"})
	require.NoError(t, err)
	require.Len(t, eras, 4)
	assert.Equal(t, []int{0, 2, 4, 5}, []int{eras[0].First, eras[1].First, eras[2].First, eras[3].First})
	assert.Equal(t, 30.0, eras[3].Vehicle.Tether.LengthM, "the change of a dive to come has no dive yet")
	assert.Nil(t, eras[0].Changed)
	assert.Equal(t, []string{"tether.length_m", "thruster.port.prop_pitch_mm"}, eras[1].Changed)
	assert.Equal(t, []string{"tether.power.awg"}, eras[2].Changed)
	assert.Equal(t, []float64{20, 80, 80}, []float64{eras[0].Vehicle.Tether.LengthM, eras[1].Vehicle.Tether.LengthM, eras[2].Vehicle.Tether.LengthM})
	assert.Equal(t, Range, eras[1].Vehicle.Belief("thruster.port.prop_pitch_mm").Origin)
	assert.Equal(t, 2.5, eras[1].Vehicle.Tether.Power.Area())
	assert.InDelta(t, AWGArea(10), eras[2].Vehicle.Tether.Power.Area(), 1e-12, "a new size takes the old one's place, the last of one dive holds")
	assert.Empty(t, eras[2].Vehicle.Changes)

	now := v.Next([]string{"1", "2", "3", "4", "5"})
	assert.Equal(t, 30.0, now.Tether.LengthM, "the change of a dive to come is made")
	assert.Equal(t, 20.0, v.Tether.LengthM)

	eras, err = v.Eras([]string{"5", "6"})
	require.NoError(t, err)
	require.Len(t, eras, 2, "a change of the first dive begins no second era")
	assert.InDelta(t, AWGArea(10), eras[0].Vehicle.Tether.Power.Area(), 1e-12)
	assert.Nil(t, eras[0].Changed)
	assert.Equal(t, 80.0, eras[0].Vehicle.Tether.LengthM, "what was rebuilt at a dive that is not in the log holds when the next was")

	_, err = v.Eras([]string{"5", "3"})
	assert.EqualError(t, err, "vehicle.toml:15: change.dive: found dive 5 below the change of dive 3, want changes in the order of the dives")
}

// Every change is told by the dive that it is written for.
func TestErasSaid(t *testing.T) {
	v := reads(t, rebuilt)
	said := func(labels ...string) (out []string) {
		eras, err := v.Eras(labels)
		require.NoError(t, err)
		for i := range eras[1:] {
			out = append(out, eras[i+1].Said(eras[i+1].First == len(labels))...)
		}
		return out
	}
	assert.Equal(t, []string{
		"from dive 3, which is not in the log yet, on: tether.length_m = 80, was 20; thruster.port.prop_pitch_mm = [40, 50]"}, said("1", "2"))
	assert.Equal(t, []string{
		"from dive 5, as dive 3 is not in the log, on: tether.length_m = 80, was 20; thruster.port.prop_pitch_mm = [40, 50]",
		"from dive 5 on: tether.power.awg = 10",
		"from dive next, which is not in the log yet, on: tether.length_m = 30, was 80"}, said("1", "2", "4", "5"))
}

// Of several changes to come the next dive has those of the first label; none has one whose number lies beyond the next
// dive's, where dives are numbered one by one.
func TestNext(t *testing.T) {
	v := reads(t, rebuilt)
	for _, c := range []struct {
		labels []string
		length float64
		later  []string
	}{
		{[]string{"1", "2"}, 80, []string{"from dive 5, which is not in the log yet, on: tether.power.awg = 10 (after the next dive, so not in these numbers)",
			"from dive next, which is not in the log yet, on: tether.length_m = 30, was 80 (after the next dive, so not in these numbers)"}},
		{[]string{"1"}, 20, nil},
		{[]string{"a", "b"}, 80, nil},
		{[]string{"-7", "1"}, 80, nil}, // not numbered one by one
		{[]string{"2", "3", "4", "5"}, 30, []string{}},
		{nil, 80, nil},
	} {
		eras, err := v.Eras(c.labels)
		require.NoError(t, err)
		assert.Equal(t, c.length, v.Next(c.labels).Tether.LengthM, c.labels)
		assert.Equal(t, c.length, eras[len(eras)-1].Vehicle.Tether.LengthM, c.labels)
		if c.later != nil {
			assert.ElementsMatch(t, c.later, v.Later(c.labels), c.labels)
		}
	}
	assert.Len(t, v.Later([]string{"1"}), 3)
}

func TestBadChanges(t *testing.T) {
	for _, c := range []struct{ what, change, want string }{
		{"misspelt key", "dive = \"3\"\n\"tether.lenght_m\" = 80\n", `:13: change 1."tether.lenght_m": unknown key (nearest: "tether.length_m")`},
		{"another thruster", "dive = \"3\"\n\"thruster.prot.astern\" = 0.5\n", `:13: change 1."thruster.prot.astern": unknown key (nearest: "thruster.port.astern")`},
		{"out of range", "dive = \"3\"\n\"tether.length_m\" = 8000\n", `:13: change 1."tether.length_m": found 8000, want 0.5 to 1000 m`},
		{"no dive", "\"tether.length_m\" = 80\n", `:11: change 1.dive: missing, want the dive from which on it holds, in quotes`},
		{"nothing", "dive = \"3\"\n", `:11: change 1: changes nothing, want a line as "tether.length_m" = 45`},
		{"a new name", "dive = \"3\"\n\"thruster.port.name\" = \"left\"\n", `:13: change 1."thruster.port.name": found what no rebuilding changes, want another key`},
		{"twice", "dive = \"3\"\n\"tether.length_m\" = 80\ntether.length_m = 90\n", `:14: change 1.tether.length_m: found twice, want it once`},
		{"impossible after it", "dive = \"3\"\n\"thruster.port.test_a\" = 50\n\"thruster.port.test_v\" = 6\n\"thruster.port.armature_ohm\" = 1\n",
			`:11: change 1: after it thruster "port".armature_ohm: impossible test: test_a 50 A through 1 Ω takes all of test_v, 6 V`},
		{"not a list", "", ""},
	} {
		if c.change == "" {
			_, err := read("change = 5\n" + leastKnown)
			assert.EqualError(t, err, "vehicle.toml:1: change: want tables, each under [[change]], at most 200")
			continue
		}
		_, err := read(leastKnown + "[[change]]\n" + c.change)
		assert.EqualError(t, err, FileName+c.want, c.what)
	}
}
