package tomlfile

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const sample = "\ufeffname = \"x\" # ours\n\n[battery]\nnominal_v = 12 # label\n[tether.power]\nawg = 14\n" +
	"[[thruster]]\nname = 'a.b'\n\"odd key.x\" = [\n 1, 2]\n[[thruster]]\n[lights]\nlamp = {a = 1, b = [{c = 2}]}\n"

// Every key has its line, its value and its comment, whatever its form.
func TestParsePlaces(t *testing.T) {
	f, err := Parse([]byte(sample), "v.toml")
	require.NoError(t, err)
	for path, want := range map[string]struct {
		line  int
		value any
	}{
		"name": {1, "x"}, "battery.nominal_v": {4, int64(12)}, "tether.power.awg": {6, int64(14)}, "thruster.0.name": {8, "a.b"},
		"thruster.0.odd key.x": {9, []any{int64(1), int64(2)}}, "lights.lamp.a": {13, int64(1)}, "lights.lamp.b.0.c": {13, int64(2)},
	} {
		k := f.Find(path)
		require.NotNil(t, k, path)
		assert.Equal(t, want.line, f.Line(path), path)
		assert.Equal(t, want.value, k.Value, path)
		assert.False(t, k.Header(), path)
	}
	assert.True(t, f.Find("thruster").Tables())
	assert.True(t, f.Find("thruster.1").Header())
	assert.Equal(t, 11, f.Line("thruster.1"))
	assert.Nil(t, f.Find("tether"), "named by another's header alone")
	assert.Zero(t, f.Line("nothing"))
	assert.Equal(t, "ours", f.Comment(f.Find("name")))
	assert.Equal(t, "", f.Comment(f.Find("lights.lamp.a")))
	assert.Equal(t, `"x"`, f.Found(f.Find("name")))
	assert.Equal(t, "a list", f.Found(f.Find("thruster.0.odd key.x")))
	assert.Equal(t, "a table", f.Found(f.Find("lights")))
	assert.Nil(t, (*File)(nil).Find("name"))
}

// A table below a list is of the list's last element so far; keys are followed eight parts down.
func TestParseBelowLists(t *testing.T) {
	f, err := Parse([]byte("[[thruster]]\n[thruster.motor]\nohm = 1\n[[thruster]]\nmotor.ohm = 2\n[thruster.wire]\nohm = 3\n[x]\na.b.c.d.e.f.g.h.i.j = 4\n"), "v.toml")
	require.NoError(t, err)
	for path, want := range map[string]any{"thruster.0.motor.ohm": int64(1), "thruster.1.motor.ohm": int64(2), "thruster.1.wire.ohm": int64(3)} {
		k := f.Find(path)
		require.NotNil(t, k, path)
		assert.Equal(t, want, k.Value, path)
	}
	assert.NotNil(t, f.Find("x.a.b.c.d.e.f.g.h"))
	assert.Nil(t, f.Find("x.a.b.c.d.e.f.g.h.i.j"))
}

func TestParseTwice(t *testing.T) {
	f, err := Parse([]byte("\"a.b\" = 1\na.b = 2\n"), "v.toml")
	require.NoError(t, err)
	require.Len(t, f.Twice, 1)
	assert.Equal(t, 2, f.LineOf(f.Twice[0]))
}

// A value changes or a line comes in; all other bytes stay.
func TestSet(t *testing.T) {
	note := func(old, comment string) string { return strings.TrimSpace("was " + old + " " + comment) }
	crlf := func(s string) string { return strings.ReplaceAll(s, "\n", "\r\n") }
	for _, c := range []struct {
		path, value string
		note        func(string, string) string
		old, new    string
	}{
		{"battery.nominal_v", "13", nil, "nominal_v = 12 # label", "nominal_v = 13 # label"},
		{"battery.nominal_v", "13", note, "nominal_v = 12 # label", "nominal_v = 13  # was 12 label"},
		{"battery.fuse_a", "10", note, "12 # label\n", "12 # label\nfuse_a = 10  # was\n"},
		{"units", `"metric"`, nil, "# ours\n", "# ours\nunits = \"metric\"\n"},
		{"thruster.1.name", `"c"`, nil, "[[thruster]]\n[lights]", "[[thruster]]\nname = \"c\"\n[lights]"},
		{"thruster.0.axis", `"up"`, nil, " 1, 2]\n", " 1, 2]\naxis = \"up\"\n"},
		{"lights.lamp.a", "9", nil, "a = 1", "a = 9"},
		{"hull.trim_g", "[1, 2]", note, "[{c = 2}]}\n", "[{c = 2}]}\n\n[hull]\ntrim_g = [1, 2]  # was\n"},
	} {
		want := strings.Replace(sample, c.old, c.new, 1)
		require.NotEqual(t, sample, want)
		got, err := Set([]byte(sample), "v.toml", c.path, c.value, c.note)
		require.NoError(t, err, c.path)
		assert.Equal(t, want, string(got), c.path)
		got, err = Set([]byte(crlf(sample)), "v.toml", c.path, c.value, c.note)
		require.NoError(t, err, c.path)
		assert.Equal(t, crlf(want), string(got), c.path)
	}
}

func TestSetRefuses(t *testing.T) {
	for path, want := range map[string]string{
		"lights.lamp.a":   "v.toml: found no place for lights.lamp.a, want a line a = 1 of its own under [lights.lamp]",
		"lights.lamp.d":   "v.toml: found no place for lights.lamp.d, want a line d = 1 of its own under [lights.lamp]",
		"thruster.7.name": "v.toml: found no place for thruster.7.name, want a line name = 1 of its own under [thruster.7]",
	} {
		_, err := Set([]byte(sample), "v.toml", path, "1", func(string, string) string { return "new" })
		assert.EqualError(t, err, want)
	}
	_, err := Set([]byte("a = \n"), "v.toml", "b", "1", nil)
	assert.EqualError(t, err, `v.toml:1: found "a =", want a value after the =`)
}

// A text without a line break at its end gets one.
func TestSetAtTheEnd(t *testing.T) {
	got, err := Set([]byte("a = 1"), "v.toml", "b", "2", nil)
	require.NoError(t, err)
	assert.Equal(t, "a = 1\nb = 2\n", string(got))
}
