package plotting

import (
	"bytes"
	"image/png"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Names that the font has, and names that it lacks.
func TestDrawable(t *testing.T) {
	for name, want := range map[string]bool{"Puddle Otter": true, "Ωμέγα ±": true, "Выдра": true, "לוטרה": true, "水獺": false, "otter 🦦": false, "": true, "□": true} {
		assert.Equal(t, want, Drawable(name), name)
	}
}

// Hebrew stands from the right, the Latin words and numbers within it as they
// are.
func TestFromTheLeft(t *testing.T) {
	for text, want := range map[string]string{"Puddle Otter 3": "Puddle Otter 3", "אבג": "גבא", "Otter אבג: 12 m": "Otter גבא: 12 m", "אבג 12 דהו": "והד 12 גבא", "": ""} {
		assert.Equal(t, want, fromTheLeft(text), text)
	}
}

// A name in any script is drawn as something: the picture of one that the font
// lacks is not that of an empty one.
func TestNamesInAnyScriptAreDrawn(t *testing.T) {
	drawn := func(name string) []byte {
		p := (&Repair{Title: name}).Picture(OnPage)
		var b bytes.Buffer
		require.NoError(t, Sizes[0].Draw("Invented", p, &b, "png"))
		_, err := png.Decode(bytes.NewReader(b.Bytes()))
		require.NoError(t, err)
		return b.Bytes()
	}
	for _, name := range []string{"水獺", "🦦", "לוטרה", "ا ب", "\u0e2d\u0e33"} {
		assert.NotEqual(t, drawn(""), drawn(name), name)
	}
	assert.NotEqual(t, drawn("אבג"), drawn("גבא"))
}
