package importer

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/session/spreadsheet"
)

// Headings that name nothing are matched by what is below them: dates; the marks of the one thruster that is left are asked about.
func TestMatchedByCells(t *testing.T) {
	text := "kiedy,port,starboard,Zz,U,A\n1.5.2026,x,x,,12.3,8\n8.5.2026,,,x,12.4,4\n15.5.2026,,,x,12.4,4\n22.5.2026,x,,x,12.2,7\n29.5.2026,,,,12.7,0\n"
	m, taken := proposed(t, text, otter)
	assert.Equal(t, "date", m.find("kiedy").To)
	require.Len(t, asked(taken), 1)
	assert.Equal(t, `"Zz": marks, as of a thruster's own column: vertical or note?`, asked(taken)[0])
	require.NoError(t, taken.Asked[0].Answer("vertical"))
	taken = Convert(source(t, text), m, otter, nil)
	assert.Equal(t, "2026-05-01|port + starboard\n2026-05-08|vertical\n2026-05-15|vertical\n2026-05-22|port + vertical\n2026-05-29|off\n", rows(taken, "date thrusters"))
	assert.Contains(t, strings.Join(taken.Remarks, "\n"), "1 line without a mark for any thruster, taken for off")
	assert.NotContains(t, strings.Join(taken.Remarks, "\n"), "draw amperes")

	m, taken = proposed(t, "Date,port,starboard,vertical,Zz,U\n2026-05-01,x,x,,x,12.3\n2026-05-08,,,x,x,12.4\n2026-05-15,,,x,x,12.4\n", otter)
	assert.Equal(t, "note", m.find("Zz").To, "every thruster has a column")
	assert.Empty(t, asked(taken))
	m, _ = proposed(t, "kiedy,Date,U\n1.5.2026,2026-05-01,12.3\n8.5.2026,2026-05-08,12.4\n15.5.2026,2026-05-15,12.4\n", otter)
	assert.Equal(t, "note", m.find("kiedy").To, "another heading gives the dates")
	m, _ = proposed(t, "Zz,U\nx,12.3\nx,12.4\nx,12.4\n", otter)
	assert.Equal(t, "note", m.find("Zz").To, "no thruster has a column of its own")
}

// Where several columns of marks may be of several thrusters, which is which is asked; a line without a mark that draws amperes
// is doubted.
func TestMarksOfWhichThruster(t *testing.T) {
	text := "Date,port,Yy,Zz,U,A\n2026-05-01,x,x,,12.3,8\n2026-05-08,,,x,12.4,4\n2026-05-15,,x,x,12.4,4\n2026-05-22,x,x,x,12.2,11\n2026-05-29,,x,,12.4,4\n2026-05-30,,,,12.4,3.1\n"
	m, taken := proposed(t, text, otter)
	require.Len(t, asked(taken), 2)
	assert.Equal(t, `"Yy": marks, as of a thruster's own column: starboard or vertical or note?`, asked(taken)[0])
	require.ErrorContains(t, taken.Asked[0].Answer("port"), "want one of starboard, vertical, note")
	require.NoError(t, taken.Asked[0].Answer("starboard"))
	require.NoError(t, taken.Asked[1].Answer("vertical"))
	s, err := spreadsheet.Open(strings.NewReader(text), "old.csv")
	require.NoError(t, err)
	taken = Convert(s, m, otter, nil)
	assert.Empty(t, taken.Asked)
	assert.Equal(t, "port + starboard\nvertical\nstarboard + vertical\nport + starboard + vertical\nstarboard\noff\n", rows(taken, "thrusters"))
	assert.Contains(t, strings.Join(taken.Remarks, "\n"), "1 line of them, such as line 7, draw amperes: does a thruster's column lack, or a mark?")
}

// Of two columns of the battery's volts the one at rest becomes a line of its own.
func TestVoltsAtRestInTheirOwnColumn(t *testing.T) {
	m, taken := proposed(t, "Dive,Motors,Bat V (idle),Bat V (load),Secs for 30 ft\n1,port,12.72,12.48,23\n2,port,12.70,12.45,22.5\n3,port,12.71,12.44,\n", otter)
	assert.NotContains(t, strings.Join(asked(taken), "\n"), "Bat V")
	assert.Equal(t, "run_s / run_ft = 30", m.find("Secs for 30 ft").To)
	assert.Equal(t, "1|off|12.72||\n1|port|12.48|30|23\n2|off|12.70||\n2|port|12.45|30|22.5\n3|off|12.71||\n3|port|12.44||\n", rows(taken, "dive thrusters battery_v run_ft run_s"))
	_, taken = proposed(t, "Dive,Bat V,Battery (V)\n1,12.72,12.48\n", otter)
	assert.Contains(t, strings.Join(asked(taken), "\n"), `"Bat V" and "Battery (V)" mean the same`, "neither says at rest")
}
