package vehicle

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sagline/session/units"
)

// Only the value changes, or one line comes in below the name; comments, line
// ends and a byte-order mark stay byte for byte.
func TestRemember(t *testing.T) {
	rest := strings.TrimPrefix(sound, "name = \"x\"\n")
	crlf := func(s string) string { return strings.ReplaceAll(s, "\n", "\r\n") }
	for _, c := range []struct{ what, before, after string }{
		{"new line", "# ours\nname = \"x\" # short\n" + rest, "# ours\nname = \"x\" # short\nunits = \"imperial\"\n" + rest},
		{"value", "name = \"x\"\nunits='metric'   # or not\n" + rest, "name = \"x\"\nunits=\"imperial\"   # or not\n" + rest},
		{"above the name", "units = \"metric\"\nname = \"x\"\n" + rest, "units = \"imperial\"\nname = \"x\"\n" + rest},
		{"same again", "units = \"imperial\"\nname = \"x\"\n" + rest, "units = \"imperial\"\nname = \"x\"\n" + rest},
		{"CR LF and mark", "\ufeff" + crlf(sound), "\ufeff" + crlf("name = \"x\"\nunits = \"imperial\"\n"+rest)},
		{"a name of lines", "name = \"\"\"x\\\ny\"\"\" # two\n" + rest, "name = \"\"\"x\\\ny\"\"\" # two\nunits = \"imperial\"\n" + rest},
	} {
		t.Run(c.what, func(t *testing.T) {
			got, err := Remember([]byte(c.before), FileName, units.Imperial)
			require.NoError(t, err)
			assert.Equal(t, c.after, string(got))
		})
	}
	_, err := Remember([]byte("name = \"x\"\n"), FileName, units.Imperial)
	assert.ErrorContains(t, err, "tether.length_m: missing", "a file that is not sound is left alone")
}

// Whatever comments stand in a sound file, what is remembered reads back, and
// taking it back gives the file as it was.
func TestRememberReadsBack(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		lines := strings.SplitAfter(sound, "\n")
		lines[0] = "name = \"x\"\nunits = \"metric\"\n"
		for i := range lines {
			if rapid.Bool().Draw(rt, "comment") {
				lines[i] += "# " + rapid.StringOf(rapid.RuneFrom([]rune("units=\"'[]# é"))).Draw(rt, "text") + "\n"
			}
		}
		text := []byte(strings.Join(lines, ""))
		there, err := Remember(text, FileName, units.Imperial)
		require.NoError(rt, err)
		v, err := Read(bytes.NewReader(there), FileName)
		require.NoError(rt, err)
		assert.Equal(rt, units.Imperial, v.Units)
		back, err := Remember(there, FileName, units.Metric)
		require.NoError(rt, err)
		assert.Equal(rt, string(text), string(back))
	})
}
