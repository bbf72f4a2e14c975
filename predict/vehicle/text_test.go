package vehicle

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The commented file reads as the vehicle that it is of, and has every key,
// needed ones without a # before them.
func TestTextHasEveryKey(t *testing.T) {
	text := string(Example().Text())
	v, err := read(text)
	require.NoError(t, err)
	assert.Equal(t, Example(), v)
	for j := range keys {
		k := &keys[j]
		assert.Regexp(t, `(?m)^(# )?`+k.name()+` =`, text, k.path)
		assert.Contains(t, text, k.is, k.path)
		assert.Contains(t, text, k.how, k.path)
	}
	// with every # before a key taken off, the keys are still the table's
	bare := strings.NewReplacer("# awg =", "", "# ohm_km =", "", "# area_mm2 =", "").Replace(text)
	for line := range strings.Lines(bare) {
		if name, ok := strings.CutSuffix(strings.TrimPrefix(line, "# "), " =\n"); ok && !strings.Contains(name, " ") {
			assert.True(t, hasName(name), name)
		}
	}
}

func hasName(name string) bool {
	for j := range keys {
		if keys[j].name() == name {
			return true
		}
	}
	return false
}

// A vehicle of ranges, words, lists and several thrusters reads back as it was.
func TestTextReadsBack(t *testing.T) {
	v := reads(t, rebuilt)
	v.Changes = nil
	again, err := read(string(v.Text()))
	require.NoError(t, err)
	assert.Equal(t, v, again)
}

func TestTableForPeople(t *testing.T) {
	rows := Example().Table()
	require.Len(t, rows, len(keys))
	for _, r := range rows {
		if r.Key == "thruster.NAME.armature_ohm" {
			require.NotNil(t, r.Typical)
			assert.InDelta(t, 0.84, *r.Typical, 1e-9)
			assert.Less(t, *r.Low, 0.3)
			assert.Greater(t, *r.High, 2.0)
			assert.Equal(t, "Ω", r.Unit)
		}
		if r.Key == "tether.length_m" {
			assert.True(t, r.Required)
			assert.Nil(t, r.Typical)
		}
	}
}
