package vehicle

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Lead-acid by the BCI table: 12.65 V full, 12.24 V half. Lithium-iron between
// two printed charts, lithium-ion by the usual 4.2 V a cell.
func TestRestVoltageByLabel(t *testing.T) {
	for _, c := range []struct {
		label      float64
		chemistry  string
		full, half float64
	}{
		{12, "lead-acid", 12.65, 12.24}, {12.8, "lead-acid", 12.65, 12.24}, {6, "lead-acid", 6.325, 6.12}, {24, "lead-acid", 25.3, 24.48}, {48, "agm", 51.2, 49.2},
		{12.8, "lithium-iron", 13.35, 13.1}, {12, "lithium-iron", 13.35, 13.1}, {25.6, "lithium-iron", 26.7, 26.2},
		{11.1, "lithium-ion", 12.6, 11.34}, {14.8, "lithium-ion", 16.8, 15.12}, {14.4, "lithium-ion", 16.8, 15.12}, {3.7, "lithium-ion", 4.2, 3.78},
		// no labels of lead-acid: by their volts, 2.108 and 2.04 V where a cell's label would have 2
		{9, "lead-acid", 9 * 12.65 / 12, 9 * 12.24 / 12}, {5, "lead-acid", 5 * 12.65 / 12, 5 * 12.24 / 12}, {14.4, "lead-acid", 14.4 * 12.65 / 12, 14.4 * 12.24 / 12},
	} {
		b := Battery{NominalV: c.label, Chemistry: c.chemistry}
		assert.InDelta(t, c.full, b.RestV(), 1e-9, "%g V %s", c.label, c.chemistry)
		assert.InDelta(t, c.half, b.RestAt(0.5), 1e-9, "%g V %s", c.label, c.chemistry)
		assert.InDelta(t, 0.5, b.Charge(c.half), 1e-9)
		assert.InDelta(t, 0.8, b.Charge(b.RestAt(0.8)), 1e-9)
		assert.Equal(t, 1.0, b.Charge(c.full+1))
		assert.Zero(t, b.Charge(1))
	}
}

// No battery rests above what lies two fifths of the way from its full rest voltage to the end of charging: 2.11 to 2.45 V a cell of
// lead. Of one whose file names no chemistry the highest counts.
func TestMostRestV(t *testing.T) {
	for text, want := range map[string]float64{`chemistry = "lead-acid"`: 12.65 + 0.4*(6*2.45-12.65), `chemistry = "lithium-iron"`: 13.35 + 0.4*(4*3.65-13.35), `chemistry = "lithium-ion"`: 3 * 4.2,
		"": 13.35 + 0.4*(4*3.65-13.35)} {
		v, err := Read(strings.NewReader("name = \"x\"\ntether.length_m = 20\ntether.power.area_mm2 = 2.5\n[battery]\nnominal_v = 12\n"+text+"\n[[thruster]]\nname = \"port\"\naxis = \"surge\"\n"), FileName)
		require.NoError(t, err)
		assert.InDelta(t, want, v.MostRestV(), 1e-9, text)
		assert.Equal(t, 12.0, v.Battery.NominalV)
	}
}

func TestChemistryOfLabel(t *testing.T) {
	for label, want := range map[float64]string{12: "lead-acid", 6: "lead-acid", 24: "lead-acid", 48: "lead-acid", 12.6: "lead-acid", 12.8: "lithium-iron", 25.6: "lithium-iron",
		3.2: "lithium-iron", 11.1: "lithium-ion", 14.8: "lithium-ion", 14.4: "lithium-ion", 22.2: "lithium-ion", 13: "lead-acid"} {
		assert.Equal(t, want, inferChemistry(label), "%g", label)
	}
}

// A chemistry that the file does not state is in more doubt, which reaches to
// the label.
func TestRestBelief(t *testing.T) {
	stated := reads(t, strings.Replace(leastKnown, "nominal_v = 12", "nominal_v = 12\nchemistry = \"lead-acid\"", 1)).RestBelief()
	assert.InDelta(t, 12.61, stated.Value, 1e-9)
	assert.InDelta(t, 12.24, stated.Low, 1e-9)
	guessed := reads(t, leastKnown).RestBelief()
	assert.Less(t, guessed.Low, 12.0)
	assert.Contains(t, guessed.Source, "inferred")
}

// A full battery has no more than its charger ends at; one whose chemistry is only
// inferred no more than any that its label may be of: "12 V" is lead-acid or four
// cells of lithium-iron.
func TestMostV(t *testing.T) {
	for label, most := range map[string][2]float64{"12": {14.7, 14.7}, "12.8": {14.7, 14.7}, "7.4": {14.7 / 2, 8.4}, "14.8": {16.8, 16.8}} {
		text := strings.Replace(leastKnown, "nominal_v = 12", "nominal_v = "+label, 1)
		v := reads(t, text)
		assert.InDelta(t, most[1], v.MostV(), 1e-9, label)
		assert.LessOrEqual(t, v.RestBelief().High, v.MostV())
	}
	for chemistry, most := range map[string]float64{"lead-acid": 14.7, "gel": 14.4, "lithium-iron": 14.6, "lithium-ion": 12.6} {
		v := reads(t, strings.Replace(leastKnown, "nominal_v = 12", "nominal_v = 12\nchemistry = \""+chemistry+"\"", 1))
		assert.InDelta(t, most, v.MostV(), 1e-9, chemistry)
	}
}

// Lithium-ion cells' voltage follows their charge more than others' does, from dive to dive and
// within one; what is least is for all.
func TestChargeAndSag(t *testing.T) {
	for _, c := range []struct {
		chemistry   string
		label       float64
		charge, sag float64
	}{
		{"lead-acid", 12, 0.12, 0.01},
		{"lead-acid", 24, 0.6 * 2 * (12.61 - 12.24) / Z95, 2 * (12.61 - 12.24) / 60},
		{"lithium-iron", 12.8, 0.12, 0.01},
		{"lithium-ion", 18.25, 0.6 * 5 * (4.154 - 3.78) / Z95, 5 * (4.154 - 3.78) / 60},
	} {
		b := Battery{NominalV: c.label, Chemistry: c.chemistry}
		assert.InDelta(t, c.charge, b.ChargeSD(), 1e-9, "%g V %s", c.label, c.chemistry)
		assert.InDelta(t, c.sag, b.SagSD(), 1e-9, "%g V %s", c.label, c.chemistry)
	}
}

// The next battery is one that is sold: of whole blocks of lead, and of lithium cells by the label that this one has.
func TestNextV(t *testing.T) {
	for _, c := range []struct {
		chemistry  string
		volts, now float64
	}{
		{"lead-acid", 6, 12}, {"agm", 12, 24}, {"gel", 24, 36}, {"lead-acid", 48, 0}, {"lithium-iron", 12.8, 25.6}, {"lithium-iron", 12, 24},
		{"lithium-ion", 11.1, 14.8}, {"lithium-ion", 14.4, 18}, {"lithium-ion", 18.5, 22.2}, {"lead-acid", 14.4, 24},
	} {
		b := Battery{NominalV: c.volts, Chemistry: c.chemistry}
		assert.InDelta(t, c.now, b.NextV(), 1e-9, "%+v", c)
	}
}
