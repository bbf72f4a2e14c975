package vehicle

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A change stands above those of later dives; every other byte stays.
func TestRebuild(t *testing.T) {
	const first = "[[change]]\ndive = \"3\"\n\"tether.length_m\" = 80\n"
	const last = "# the deep one\n[[change]]\ndive = \"9\"\n\"tether.length_m\" = 30"
	labels := []string{"1", "2", "3", "4", "5"}
	for _, c := range []struct {
		what, before, dive string
		sets               []string
		after              string // what stands for the block that comes in
		block              string
	}{
		{"at the end", leastKnown, "6", []string{"tether.length_m = 45"}, leastKnown + "\n%", "[[change]]\ndive = \"6\"\n\"tether.length_m\" = 45  # was 20\n"},
		{"no end of line", strings.TrimSuffix(leastKnown, "\n"), "6", []string{"hull.trim_g=[10, 50]"}, leastKnown + "\n%", "[[change]]\ndive = \"6\"\n\"hull.trim_g\" = [10, 50]\n"},
		{"between two, of the vehicle as it was then", leastKnown + first + last, "4", []string{"tether.length_m=60", "battery.chemistry=gel"},
			leastKnown + first + "\n%" + last, "[[change]]\ndive = \"4\"\n\"tether.length_m\" = 60  # was 80\n\"battery.chemistry\" = \"gel\"\n"},
		{"below one of the same dive", leastKnown + first, "3", []string{"tether.power.awg=12"}, leastKnown + first + "\n%", "[[change]]\ndive = \"3\"\n\"tether.power.awg\" = 12\n"},
		{"not known: by what else is new", leastKnown, "6", []string{"tether.diameter_mm=unknown", "tether.power.area_mm2=6"}, leastKnown + "\n%",
			"[[change]]\ndive = \"6\"\n\"tether.diameter_mm\" = [8.26, 19.8]  # not known: what is assumed of it\n\"tether.power.area_mm2\" = 6  # was 2.5\n"},
		{"carriage returns", strings.ReplaceAll(leastKnown, "\n", "\r\n"), "6", []string{"tether.length_m=45"}, strings.ReplaceAll(leastKnown, "\n", "\r\n") + "\r\n%",
			"[[change]]\r\ndive = \"6\"\r\n\"tether.length_m\" = 45  # was 20\r\n"},
	} {
		got, done, err := Rebuild([]byte(c.before), FileName, c.dive, labels, c.sets)
		require.NoError(t, err, c.what)
		assert.Equal(t, strings.Replace(c.after, "%", c.block, 1), string(got), c.what)
		assert.Len(t, done, len(c.sets), c.what)
	}
	for _, c := range []struct{ dive, set, want string }{
		{"6", "tether.lenght_m=4", `tether.lenght_m: unknown key (nearest: "tether.length_m")`},
		{"6", "tether.length_m=unknown", "tether.length_m: found unknown, want a value: "},
		{"6", "battery.fuse_a=unknown", "battery.fuse_a: found unknown, want a value: "},
		{"6", "thruster.port.axis=heave", "thruster.port.axis: found what no rebuilding changes, want another key"},
		{"6", "tether.length_m", "found \"tether.length_m\", want key=value"},
		{"6", "tether.length_m=20", "tether.length_m: found 20, which it is already: a part that was replaced by its like is written under serviced"},
		{" ", "tether.length_m=4", "found \" \", want a dive's label"},
	} {
		_, _, err := Rebuild([]byte(leastKnown), FileName, c.dive, labels, []string{c.set})
		assert.ErrorContains(t, err, c.want)
	}
	got, done, err := Rebuild([]byte(leastKnown), FileName, "6", labels, []string{"tether.length_m=20", "tether.diameter_mm=8"})
	require.NoError(t, err)
	assert.Equal(t, leastKnown+"\n[[change]]\ndive = \"6\"\n\"tether.diameter_mm\" = 8\n", string(got), "what is as it was is left out")
	assert.Len(t, done, 1)
	_, _, err = Rebuild([]byte("change = [{dive = \"3\", tether.length_m = 80}]\n"+leastKnown), FileName, "6", labels, []string{"tether.length_m=4"})
	assert.ErrorContains(t, err, "vehicle.toml:1: change: found [{dive = \"3\", tether.length_m = 80}], want each of them under [[change]]")
}

func TestMayBeDive(t *testing.T) {
	for _, c := range []struct {
		text   string
		labels []string
		want   string
	}{
		{"13", []string{"1", "2"}, ""},
		{"2", []string{"1", "2"}, ""},
		{"tether", []string{"1", "2"}, `found dive "tether", want a number, as the log's dives have`},
		{"tether", nil, ""},
		{"pool 3", []string{"1", "pool 2"}, ""},
	} {
		err := MayBeDive(c.text, c.labels)
		if c.want == "" {
			assert.NoError(t, err, c.text)
		} else {
			assert.EqualError(t, err, c.want)
		}
	}
}
