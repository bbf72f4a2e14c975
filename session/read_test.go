package session

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"sagline/session/quantity"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestReadCarriesForwardAndConverts(t *testing.T) {
	log := read(t, "# a comment\n"+header+
		"1,2026-05-02,2,off,,12.7,,,,10,9,100,joint+seal,\"two\nlines\"\n"+
		"1,,4,port astern + starboard,yes,,10,20,40,,,-30,,\n\n"+
		"2,2026-05-03,,,,,,,,,,,,\n")
	require.Len(t, log.Dives, 2)
	a, b, c := log.Dives[0].Lines[0], log.Dives[0].Lines[1], log.Dives[1].Lines[0]
	assert.Equal(t, 3, a.Number)
	assert.Equal(t, 5, b.Number, "a quoted line break counts as a line")
	assert.Equal(t, 7, c.Number, "a blank line counts as a line")
	assert.Equal(t, "two\nlines", a.Note)
	assert.True(t, a.Electrical, "off is known, not unknown")
	assert.InDelta(t, 3.048, a.Depth.X, 1e-12)
	assert.False(t, b.Depth.Measured())
	assert.Equal(t, []string{"joint", "seal"}, a.Serviced)
	assert.Equal(t, []Drive{{"port", true}, {"starboard", false}}, b.Drives)
	assert.True(t, b.Held)
	assert.False(t, b.Readings[quantity.BatteryV].Measured(), "empty is not measured, not zero")
	assert.Equal(t, 9.0, b.WaterC.X)
	assert.False(t, c.WaterC.Measured(), "water carries within a dive only")
	assert.Equal(t, 70.0, c.BallastG, "ballast stays on")
	assert.False(t, c.Electrical)
	assert.Equal(t, time.Date(2026, 5, 3, 0, 0, 0, 0, time.UTC), log.Dives[1].Date)
}

func TestTetherAndSalinityCarryWithinTheDive(t *testing.T) {
	log := read(t, "dive,date,tether_out_m,salinity_psu\n1,2026-05-02,,\n1,,12,33\n1,,,\n1,,15,0\n2,2026-05-02,,\n")
	l := log.Dives[0].Lines
	assert.False(t, l[0].TetherOut.Measured(), "the whole length")
	assert.Equal(t, []float64{12, 12, 15}, []float64{l[1].TetherOut.X, l[2].TetherOut.X, l[3].TetherOut.X})
	assert.Equal(t, []float64{0, 33, 33, 0}, []float64{l[0].Salinity, l[1].Salinity, l[2].Salinity, l[3].Salinity})
	assert.False(t, log.Dives[1].Lines[0].TetherOut.Measured())
	assert.Zero(t, log.Dives[1].Lines[0].Salinity)
}

// The speed is the mean of the two speeds: 10 m out in 20 s and back in 40 s
// are 0.375 m/s, where 20 m in 60 s would be 0.333.
func TestTimedRuns(t *testing.T) {
	log := read(t, "dive,date,run_ft,run_s,run_back_s,climb_m,climb_s,speed_kn\n"+
		"1,2026-05-02,10,20,40,-3,12,\n1,,10,20,,0,5,\n1,,,,,,,2\n")
	l := log.Dives[0].Lines
	both, one := l[0].Readings[quantity.Speed], l[1].Readings[quantity.Speed]
	assert.InDelta(t, 0.375*0.3048, both.X, 1e-15)
	assert.Equal(t, "run_s", both.Column.Name)
	assert.Equal(t, 20.0, both.Entered)
	assert.InDelta(t, 3.048, both.Run, 1e-15)
	assert.InDelta(t, 3.048/20, one.X, 1e-15)
	assert.Equal(t, "climb_s", l[0].Readings[quantity.Climb].Column.Name)
	assert.Equal(t, -0.25, l[0].Readings[quantity.Climb].X)
	assert.Equal(t, -3.0, l[0].Readings[quantity.Climb].Run)
	assert.True(t, l[1].Readings[quantity.Climb].Measured(), "no climb at all is a climb of 0")
	assert.InDelta(t, 2*1852/3600.0, l[2].Readings[quantity.Speed].X, 1e-15)
}

func TestClockIsMinutesSinceTheFirst(t *testing.T) {
	log := read(t, "dive,date,time\n1,2026-05-02,23:50\n1,,\n1,,23:58:30\n1,,0:10\n2,2026-05-03,9:05\n")
	l := log.Dives[0].Lines
	assert.Equal(t, Value{X: 0, Entered: 23*60 + 50, Column: byName["time"]}, l[0].Minute)
	assert.False(t, l[1].Minute.Measured())
	assert.Equal(t, 8.5, l[2].Minute.X)
	assert.Equal(t, 20.0, l[3].Minute.X, "past midnight")
	assert.Zero(t, log.Dives[1].Lines[0].Minute.X, "every dive has its own first")
	night := read(t, "dive,date,time\n1,2026-05-02,23:50\n1,2026-05-03,0:10\n")
	assert.Equal(t, "2026-05-02", night.Dives[0].Day(), "a dive is of the day on which it begins")
	assert.Equal(t, 20.0, night.Dives[0].Lines[1].Minute.X)
}

// A cell ten times too large or small is for the fit to recognise.
func TestSlipsAreRead(t *testing.T) {
	log := read(t, "dive,date,battery_v,current_a,vehicle_v,speed_m_s,climb_m_s,trim_g,pull_n\n1,2026-05-02,148.7,91.0,128.0,5.25,-2.4,4300,96.3\n")
	for q, want := range map[quantity.Quantity]float64{quantity.BatteryV: 148.7, quantity.CurrentA: 91, quantity.VehicleV: 128, quantity.Speed: 5.25, quantity.Climb: -2.4, quantity.Trim: 4300, quantity.Pull: 96.3} {
		assert.Equal(t, want, log.Dives[0].Lines[0].Readings[q].X, quantity.Quantity(q))
	}
}

func TestThrusterNames(t *testing.T) {
	for text, want := range map[string][]Drive{
		"Off":                       nil,
		"port":                      {{"port", false}},
		"port+starboard ASTERN":     {{"port", false}, {"starboard", true}},
		"left  outer Down + lift 2": {{"left outer", true}, {"lift 2", false}},
		"astern":                    {{"astern", false}}, // a name of its own
	} {
		log := read(t, "dive,date,thrusters\n1,2026-05-02,"+text+"\n")
		assert.True(t, log.Dives[0].Lines[0].Electrical, text)
		assert.Equal(t, want, log.Dives[0].Lines[0].Drives, text)
	}
}

func TestUnknownColumnIsKeptAndWarned(t *testing.T) {
	log := read(t, "dive,date,batery_v,,weather\n1,2026-05-02,12,x,fine\n")
	require.Len(t, log.Warnings, 3)
	assert.Equal(t, `dives.csv:1: column "batery_v": unknown, kept but not used (nearest: "battery_v")`, log.Warnings[0].Error())
	assert.Equal(t, `dives.csv:1: column 4: has no name, kept but not used`, log.Warnings[1].Error())
	assert.Equal(t, `dives.csv:1: column "weather": unknown, kept but not used`, log.Warnings[2].Error())
	assert.Equal(t, []string{"dive", "date", "batery_v", "", "weather"}, log.Columns)
	assert.Equal(t, Line{Number: 2}, log.Dives[0].Lines[0], "its cells are not used")
}

func TestDiveString(t *testing.T) {
	log := read(t, "dive,date\n7,2026-05-02\n8,\n")
	assert.Equal(t, "7 (2026-05-02)", log.Dives[0].String())
	assert.Equal(t, "8", log.Dives[1].String())
}

// Days may be left out, of all dives or of some: those dives stand in the order of
// the file, and nothing is said of their order or of pauses beside them.
func TestDaysThatAreNotKnown(t *testing.T) {
	const pause = `column "date": found 2026-05-02, 851 days after the dive before: is the year right?`
	empty := func(label string, line int) string {
		return fmt.Sprintf(`dives.csv:%d: column "date": empty on the first line of dive "%s", and other dives have their day: not known, or is the label a slip?`, line, label)
	}
	for _, c := range []struct {
		what, text string
		days       []string
		warned     string
		remarks    []string
	}{
		{"no column", "dive,water_c\n2,5\n1,25\n1,\n", []string{"", ""}, "", nil},
		{"an empty column", "dive,date\n1,\n2,\n2,\n", []string{"", ""}, "", nil},
		{"a misspelt one", "dive,dat\n1,2026-05-02\n", []string{""}, `dives.csv:1: column "dat": unknown, kept but not used (nearest: "date")`, nil},
		{"the first is not known", "dive,date\n1,\n2,2026-05-02\n", []string{"", "2026-05-02"}, "", []string{empty("1", 2)}},
		{"one between", "dive,date\n1,2024-01-02\n2,\n2,\n3,2026-05-02\n", []string{"2024-01-02", "", "2026-05-02"}, "", []string{empty("2", 3)}},
		{"all are known", "dive,date\n1,2024-01-02\n2,2026-05-02\n", []string{"2024-01-02", "2026-05-02"}, "", []string{"dives.csv:3: " + pause}},
	} {
		t.Run(c.what, func(t *testing.T) {
			log := read(t, c.text)
			var days, remarks []string
			for i := range log.Dives {
				days = append(days, log.Dives[i].Day())
			}
			assert.Equal(t, c.days, days)
			for _, p := range log.Remarks() {
				remarks = append(remarks, p.Error())
			}
			assert.Equal(t, c.remarks, remarks)
			warned := ""
			for _, w := range log.Warnings {
				warned += w.Error()
			}
			assert.Equal(t, c.warned, warned)
			columns := slices.DeleteFunc(slices.Clone(log.Columns), func(name string) bool { _, ok := Find(name); return !ok })
			again := read(t, written(t, log, columns...))
			assert.Equal(t, log.Dives, again.Dives)
		})
	}
	assert.True(t, (&Log{}).KeepsDays(), "a log that has no columns yet")
	assert.True(t, read(t, "dive,date\n1,\n").KeepsDays())
	assert.False(t, read(t, "dive,dat\n1,\n").KeepsDays())
	assert.True(t, read(t, "dive\n1\n").Latest().IsZero())
	assert.Equal(t, time.Date(2026, 5, 2, 0, 0, 0, 0, time.UTC), read(t, "dive,date\n1,2026-05-02\n2,\n").Latest())
}

func TestHeaderAloneIsASoundLog(t *testing.T) {
	for _, text := range []string{"dive\n", header, "# begun\n\ndive,battery_v"} {
		log := read(t, text)
		assert.Empty(t, log.Dives)
		assert.Empty(t, log.Warnings)
	}
}

func TestErrorOfTheReaderIsKept(t *testing.T) {
	_, err := Read(iotest.TimeoutReader(strings.NewReader(header+strings.Repeat("1,2026-05-02\n", 5000))), "dives.csv")
	require.ErrorIs(t, err, iotest.ErrTimeout)
	_, err = Read(iotest.ErrReader(errors.New("cable pulled")), "dives.csv")
	assert.EqualError(t, err, "dives.csv: cable pulled")
}

// Every way of cutting the input into pieces reads alike.
func TestPiecesOfInput(t *testing.T) {
	text := "\ufeff# spring\r\n" + strings.ReplaceAll(header, "\n", "\r\n") + "1,2026-05-02,2,off,,12.7,,,,10,9,100,joint,\"a\r\nb \"\"c\"\"\"\r\n# x\r\n2,2026-05-03\r\n"
	want := read(t, text)
	for _, cut := range []func(io.Reader) io.Reader{iotest.OneByteReader, iotest.HalfReader, iotest.DataErrReader} {
		got, err := Read(cut(strings.NewReader(text)), "dives.csv")
		require.NoError(t, err)
		assert.Equal(t, want, got)
	}
	assert.Equal(t, "a\nb \"c\"", want.Dives[0].Lines[0].Note)
	assert.Equal(t, 6, want.Dives[1].Lines[0].Number)
}

// Logs of simulated seasons read as a plain CSV reader sees them.
func TestSeasonsReadAsWritten(t *testing.T) {
	files, err := filepath.Glob("testdata/*.csv")
	require.NoError(t, err)
	require.Len(t, files, 3)
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		rows, err := csv.NewReader(strings.NewReader(string(text))).ReadAll()
		require.NoError(t, err)
		log := read(t, string(text))
		assert.Empty(t, log.Warnings)
		n := 0
		for _, d := range log.Dives {
			for _, l := range d.Lines {
				n++
				assert.Equal(t, d.Label, rows[n][0])
				for q, at := range map[quantity.Quantity]int{quantity.BatteryV: 5, quantity.CurrentA: 6, quantity.VehicleV: 7, quantity.Speed: 10, quantity.Climb: 11, quantity.Trim: 12, quantity.Pull: 13} {
					x, err := strconv.ParseFloat(rows[n][at], 64)
					assert.Equal(t, err == nil, l.Readings[q].Measured(), "%s line %d %s", file, n, quantity.Quantity(q))
					assert.Equal(t, x, l.Readings[q].X)
				}
			}
		}
		assert.Equal(t, len(rows)-1, n, file)
		again := read(t, written(t, log, log.Columns...))
		assert.Empty(t, difference(log, again, 0), file)
	}
}
