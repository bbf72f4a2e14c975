package plotting

import (
	"bytes"
	"image/png"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/fit"
	"sagline/predict/vehicle"
	"sagline/session"
)

// Names that the font has, and names that it lacks.
func TestDrawable(t *testing.T) {
	for name, want := range map[string]bool{"Puddle Otter": true, "Ωμέγα ±": true, "Выдра": true, "לוטרה": true, "水獺": false, "otter 🦦": false, "": true, "□": true} {
		assert.Equal(t, want, drawable(name), name)
	}
}

// A PNG calls parts by their numbers where its font lacks letters of their names,
// also where these are cut; an SVG has the names.
func TestNamesInstead(t *testing.T) {
	v := &vehicle.Vehicle{Name: "水獺", Thrusters: []vehicle.Thruster{{Name: "port"}, {Name: "左"}, {Name: "左前方推進器"}, {Name: "🦦"}}, Tubes: []vehicle.Tube{{Name: "浮筒"}}}
	n := PNGNames(v, "pond")
	assert.Equal(t, Names{"pond", []string{"水獺", "pond", "左", "thruster 2", "左前方推進器", "thruster 3", "🦦", "thruster 4", "浮筒", "tube 1"}}, n)
	assert.Equal(t, "vehicle", PNGNames(v, "池").Vehicle)
	assert.Equal(t, Names{Vehicle: "לוטרה"}, PNGNames(&vehicle.Vehicle{Name: "לוטרה", Thrusters: v.Thrusters[:1]}, "pond"))
	p := &Picture{Title: "friction of 🦦"}
	for text, want := range map[string]string{"port": "port", "左 3 %": "thruster 2 3 %", "port + 左前方推進器": "port + thruster 3", "左前…進器": "thruster 3", "左前方…": "thruster 3…",
		"current…推進器": "current…thruster 3", "左 + 左…進器": "thruster 2 + thruster 3", "左前…筒": "thruster 3…tube 1", "浮筒": "tube 1", "po…": "po…"} {
		p.Shapes = []Shape{{Text: text}}
		assert.Equal(t, want, p.renamed(n).Shapes[0].Text, text)
		assert.Equal(t, text, p.Shapes[0].Text)
	}
	assert.Equal(t, "friction of thruster 4", p.renamed(n).Title)
	draw := func(names Names, format string) string {
		var b bytes.Buffer
		require.NoError(t, Sizes[0].Draw(names, p, &b, format))
		return b.String()
	}
	assert.NotEqual(t, draw(Names{Vehicle: "pond"}, "png"), draw(n, "png"))
	assert.Contains(t, draw(n, "svg"), "🦦")
}

// Dives are numbered where the font lacks letters of their labels, and no number
// is another dive's label.
func TestNumberDives(t *testing.T) {
	var dives []fit.DiveFit
	for _, label := range []string{"1", "潜水", "#4", "🐟", "לוטרה"} {
		dives = append(dives, fit.DiveFit{Log: &session.Dive{Label: label}})
	}
	assert.Equal(t, []string{"潜水", "#2", "🐟", "##4"}, NumberDives(dives))
	for i, want := range []string{"1", "#2", "#4", "##4", "לוטרה"} {
		assert.Equal(t, want, dives[i].Log.Label)
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
		require.NoError(t, Sizes[0].Draw(Names{Vehicle: "Invented"}, p, &b, "png"))
		_, err := png.Decode(bytes.NewReader(b.Bytes()))
		require.NoError(t, err)
		return b.Bytes()
	}
	for _, name := range []string{"水獺", "🦦", "לוטרה", "ا ب", "\u0e2d\u0e33"} {
		assert.NotEqual(t, drawn(""), drawn(name), name)
	}
	assert.NotEqual(t, drawn("אבג"), drawn("גבא"))
}
