package problem

import (
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// What Err joins, Listed takes apart again, and there is nothing in no error.
func TestListed(t *testing.T) {
	var all List
	all.Add("dives.csv", 3, `column "held"`, "found %q, want yes", "maybe")
	all.Add("dives.csv", 0, "", "empty file")
	assert.Equal(t, all, Listed(all.Err()))
	assert.Empty(t, Listed(nil))
	assert.Empty(t, Listed(List{}.Err()))
	plain := Listed(errors.Join(all.Err(), errors.New("wire cut")))
	assert.Len(t, plain, 3)
	assert.Equal(t, &Problem{Text: "wire cut"}, plain[2])
}

// The first three of a kind are told, the rest counted where they begin; kinds
// do not crowd each other out, and all stand in the order of the file.
func TestRemarksCountWhatIsAlike(t *testing.T) {
	r := Remarks{File: "dives.csv"}
	assert.Empty(t, r.List())
	for line := 2; line < 9; line++ {
		r.Add("warm", line, "water_c", "warm")
	}
	r.Add("salt", 4, "salinity_psu", "salt")
	assert.EqualError(t, r.List().Err(), `dives.csv:2: water_c: warm
dives.csv:3: water_c: warm
dives.csv:4: water_c: warm
dives.csv:4: salinity_psu: salt
dives.csv:5: water_c: … and 4 more like that of line 4`)
}

func TestNearest(t *testing.T) {
	known := []string{"check", "compare", "trend"}
	for name, want := range map[string]string{"chekc": "check", "TREND": "trend", "comapre": "compare", "xylophone": "", "": ""} {
		assert.Equal(t, want, Nearest(name, known), name)
	}
}

func TestCount(t *testing.T) {
	assert.Equal(t, "0 lines, 1 line, 2 lines", strings.Join([]string{Count(0, "line"), Count(1, "line"), Count(2, "line")}, ", "))
}

func TestOfThese(t *testing.T) {
	assert.Equal(t, ` (nearest: "port")`, OfThese("prot", []string{"port", "up"}))
	assert.Equal(t, ": port, up", OfThese("vertical", []string{"port", "up"}))
	assert.Equal(t, ": A, B", OfThese("C", []string{"A", "B"}), "one letter is near any")
}

// What would steer a terminal or turn the direction of text is shown by a sign; lines and tabs stay where a text
// may have several.
func TestWhatSteersIsShown(t *testing.T) {
	for text, want := range map[string]struct {
		visible, clean string
	}{
		"8.4 Ω, très sûr": {"8.4 Ω, très sûr", "8.4 Ω, très sûr"}, "a\x1b[2Jb": {"a\ufffd[2Jb", "a\ufffd[2Jb"}, "a\nb\tc": {"a\ufffdb\ufffdc", "a\nb\tc"}, "a\u202eb": {"a\ufffdb", "a\ufffdb"},
	} {
		assert.Equal(t, want.visible, Visible(text))
		assert.Equal(t, want.clean, Clean(text))
		assert.Equal(t, text == want.visible, Plain(text))
	}
}
