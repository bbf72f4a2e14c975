package importer

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestPieces(t *testing.T) {
	for text, want := range map[string]string{
		"12.1V / 6A": "12.1 V|6 A", "12.1-11.8": "12.1 |11.8 ", "3.5m 12°C": "3.5 m|12 °C", "12,1 V – 11,8 V": "12,1 V|11,8 V", "0.4 m/s / 3 m": "0.4 m/s|3 m",
		"12.1/8.7/8.6": "12.1 |8.7 |8.6 ", "12 V and 6 A": "12 V|6 A",
		"12.1": "", "12.1 8.7": "", "12.1V (rest) / 6A": "", "10:05": "", "T 12 V / 6 A": "", "about 12": "", "31.5.2026": "", "1/2/3/4/5/6/7": "",
	} {
		got := ""
		for i, p := range pieces(text) {
			if i > 0 {
				got += "|"
			}
			got += p.number + " "
			if p.unit != nil {
				got += p.unit.name
			}
		}
		assert.Equal(t, want, got, text)
	}
}

// A cell with several numbers is split by its units or the heading's names, else
// asked about.
func TestCellsWithSeveralNumbers(t *testing.T) {
	for _, c := range []struct{ heading, cells, to string }{
		{"Battery", "12.1V / 6A;12V/5A", "battery_v / current_a"},
		{"Load", "12.1V / 6A;12V/5A", Asked}, // volts of which end?
		{"Depth + temp", "3.5m 12°C;4m", "depth_m / water_c"},
		{"Timed run", "30 ft in 24 s;30 ft in 25 s", "run_m / run_s"},
		{"Volts/Amps", "12.1/6;12/5", "battery_v / current_a"},
		{"Batt/ROV (V)", "12.1/8.7;12/8.5", "battery_v / vehicle_v"},
		{"Battery (V)", "12.1-11.8;12.3-12.0", Asked},
		{"Battery (V)", "12.1;12.2;12.3;12.1;12.1-11.8", "battery_v"}, // one of many
		{"Remarks", "12.1-11.8;12.3-12.0", "note"},
	} {
		text := "Date;" + c.heading + "\n"
		for i, cell := range strings.Split(c.cells, ";") {
			text += []string{"2026-05-31", ""}[min(i, 1)] + ";" + cell + "\n"
		}
		m, _ := proposed(t, text, otter)
		assert.Equal(t, c.to, m.find(c.heading).To, "%s: %s", c.heading, m.find(c.heading).Why)
	}
}

func TestNumbersOfACell(t *testing.T) {
	_, taken := proposed(t, "Date;Battery/Amps\n2026-05-31;12.1V / 6A\n;5A, 12.2 V\n;12V 5A\n;12V 5A\n;12V 5A\n;12.3 V\n;6A\n;12.4 V, 7 m\n", otter)
	assert.Empty(t, taken.Problems)
	assert.Equal(t, "12.1|6|\n12.2|5|\n12|5|\n12|5|\n12|5|\n12.3||\n|6|\n||Battery/Amps: 12.4 V, 7 m\n", rows(taken, "battery_v current_a note"))
	m, taken := proposed(t, "Date;Batt/ROV (V)\n2026-05-31;12.1/8.7\n;12.8\n", otter)
	assert.Equal(t, []string{"a number alone where other cells of its column have several: is it the first of them?"}, asked(taken))
	assert.Equal(t, Asked, m.Alone)
}
