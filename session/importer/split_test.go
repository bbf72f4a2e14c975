package importer

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A cell with several numbers is split by its units or the heading's names, else
// asked about.
func TestCellsWithSeveralNumbers(t *testing.T) {
	for _, c := range []struct{ heading, cells, to string }{
		{"Battery", "12.1V / 6A;12V/5A", "battery_v / current_a"},
		{"Load", "12.1V / 6A;12V/5A", Asked}, // volts of which end?
		{"Depth + temp", "3.5m 12°C;4m", "depth_m / water_c"},
		{"Timed run", "30 ft in 24 s;30 ft in 25 s", "run_ft / run_s"},
		{"Volts/Amps", "12.1/6;12/5", "battery_v / current_a"},
		{"Batt/ROV (V)", "12.1/8.7;12/8.5", "battery_v / vehicle_v"},
		{"Battery (V)", "12.1-11.8;12.3-12.0", Asked},
		{"Battery (V)", "12.1;12.2;12.3;12.1;12.1-11.8", "battery_v"}, // one of many
		{"Batt no-load/loaded (V)", "12.1-11.8;12.3-12.0", "battery_v at rest / battery_v"},
		{"Akku (V) Last/Leerlauf", "11.8/12.1;12.0/12.3", "battery_v / battery_v at rest"},
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

// The run's length stands in the heading: each line that has a time has it.
func TestTheRunIsInTheHeading(t *testing.T) {
	_, taken := proposed(t, "Datum;Akku (V);Zeit 10 m hin [s];Zeit 10 m zurück [s]\n31.5.2026;12,1;25,5;24\n;12,2;;\n;12,1;0:26;\n", otter)
	assert.Empty(t, taken.Problems)
	assert.Empty(t, taken.Asked)
	assert.Equal(t, "10|25.5|24\n||\n10|26|\n", rows(taken, "run_m run_s run_back_s"))
}

// Two volts in a cell are asked about where nothing tells them apart; those at
// rest are a line of their own.
func TestTwoVoltsInACell(t *testing.T) {
	text := "Dive;Date;Battery (V);Motors;Work;Remarks\n1;2026-05-31;12.8-12.4;port;o-ring replaced;calm\n1;;12.3;port;;\n1;;12.7 - 12.2;left;;\n"
	s := source(t, text)
	m := Propose(s, otter)
	taken := Convert(s, m, otter, nil)
	require.Len(t, taken.Asked, 1)
	assert.Equal(t, []string{"battery_v at rest / battery_v", "battery_v / note", "note / battery_v", "battery_v / vehicle_v", "note", ""}, taken.Asked[0].Choices)
	require.NoError(t, taken.Asked[0].Answer("battery_v at rest / battery_v"))
	taken = Convert(s, m, otter, nil)
	assert.Empty(t, taken.Problems)
	assert.Empty(t, taken.Asked, "a number alone is no volts at rest")
	assert.Equal(t, "1|2026-05-31|off|12.8|seal|\n1||port|12.4||serviced: o-ring replaced; calm\n1||port|12.3||\n1||off|12.7||\n1||port|12.2||\n",
		rows(taken, "dive date thrusters battery_v serviced note"))
	a := taken.Account
	assert.Equal(t, a.Cells, a.Headings+a.Taken+a.Noted)
}

// A cell of which no log takes two numbers is kept in the note once.
func TestACellOfTwoImpossibleNumbers(t *testing.T) {
	_, taken := proposed(t, "Date;Battery/Amps\n2026-05-31;12.1V / 6A\n;2000V / 6000A\n;12V 5A\n;12V 5A\n", otter)
	assert.Equal(t, "12.1|6|\n||Battery/Amps: 2000V / 6000A\n12|5|\n12|5|\n", rows(taken, "battery_v current_a note"))
	assert.Equal(t, 1, taken.Account.Noted)
}
