package session

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/session/quantity"
)

// The next dives read what the log does, the first what its header has: the seconds of a run are a speed.
func TestNotToRead(t *testing.T) {
	log, err := Read(strings.NewReader("dive,thrusters,battery_v,run_m,run_s,note\n"), FileName)
	require.NoError(t, err)
	got := log.NotToRead()
	assert.NotContains(t, got, quantity.BatteryV)
	assert.NotContains(t, got, quantity.Speed)
	assert.Len(t, got, int(quantity.Count)-2)
	log, err = Read(strings.NewReader("dive,thrusters,battery_v,current_a\n1,off,12.6,\n"), FileName)
	require.NoError(t, err)
	assert.Len(t, log.NotToRead(), int(quantity.Count)-1, "an empty column is not read")
}

// The ballast on board is that of the newest dive's last line; a log without lines has none.
func TestLastBallast(t *testing.T) {
	for text, want := range map[string]float64{
		"dive,thrusters,ballast_g\n":                                         0,
		"dive,thrusters,ballast_g\n1,off,200\n1,off,\n2,off,50\n2,off,-20\n": 230,
	} {
		log, err := Read(strings.NewReader(text), FileName)
		require.NoError(t, err)
		assert.InDelta(t, want, log.LastBallastG(), 1e-9, text)
	}
}

// Letters, digits and the signs of numbers and days stand without quotes, whatever their ends of the alphabet.
func TestMarks(t *testing.T) {
	for _, plain := range []string{"09", "az", "AZ", "2026-01-30", "-1.5", "lake_2"} {
		assert.False(t, strings.ContainsFunc(plain, marks), plain)
	}
	for _, r := range "/:@[`{ ,\"é" {
		assert.True(t, marks(r), string(r))
	}
}

// Comments and rows that are far too long do not decide what separates the cells.
func TestSeparatorOfRows(t *testing.T) {
	for _, first := range []string{"# lake, date, thrusters, battery_v\n", strings.Repeat("dive,date,", maxLine/8) + "\n"} {
		assert.Equal(t, byte(';'), separatorOf(first+"dive;date;thrusters\n1;2026-05-01;off\n"), first[:10])
	}
}

// Water that jumps within a week is remarked on, after more than a week it is not.
func TestWaterJumps(t *testing.T) {
	for day, want := range map[string]int{"08": 1, "09": 0} {
		log, err := Read(strings.NewReader("dive,date,thrusters,battery_v,water_c\n1,2026-05-01,off,12.6,9\n2,2026-05-"+day+",off,12.6,24\n"), FileName)
		require.NoError(t, err)
		assert.Len(t, log.Remarks(), want, day)
	}
}

// The water is that of the newest dive that read it, which may be 0 °C; lights are on in any line.
func TestNewestWater(t *testing.T) {
	log := &Log{}
	_, ok := log.NewestWaterC()
	assert.False(t, ok)
	log.Dives = []Dive{{Lines: make([]Line, 2)}, {Lines: make([]Line, 2)}, {Lines: make([]Line, 1)}}
	_, ok = log.NewestWaterC()
	assert.False(t, ok)
	water := Named("water_c")
	log.Dives[0].Lines[1].WaterC, log.Dives[1].Lines[0].WaterC, log.Dives[1].Lines[1].WaterC = Value{X: 12, Column: water}, Value{X: 5, Column: water}, Value{Column: water}
	c, ok := log.NewestWaterC()
	assert.True(t, ok)
	assert.Zero(t, c)
	assert.False(t, log.Lit())
	log.Dives[1].Lines[1].Lights = true
	assert.True(t, log.Lit())
}

// A cell of the serviced column may have capitals and spaces.
func TestServices(t *testing.T) {
	parts, ok := Services(" Seal +battery")
	assert.True(t, ok)
	assert.Equal(t, []string{"seal", "battery"}, parts)
	_, ok = Services("seal + keel")
	assert.False(t, ok)
}

// Half of a timed run whose other cell is left empty is no reading, and is remarked on; the rest of the line counts. In a file that
// lacks the column it is a problem.
func TestHalfARun(t *testing.T) {
	for cells, want := range map[string]string{
		"10,,,": `column "run_m": given without run_s: nothing was read`, ",20,,": `column "run_s": given without run_m: nothing was read`,
		"10,,20,": `column "run_back_s": given without run_s: nothing was read`, ",,,": "", "10,20,,": "", ",,,2": `column "climb_s": given without climb_m`,
	} {
		log, err := Read(strings.NewReader("dive,thrusters,battery_v,run_m,run_s,run_back_s,climb_s\n1,off,12.7,"+cells+"\n"), "dives.csv")
		if strings.Contains(want, "climb") {
			require.ErrorContains(t, err, want)
			continue
		}
		require.NoError(t, err, cells)
		line := &log.Dives[0].Lines[0]
		assert.Equal(t, 12.7, line.Readings[quantity.BatteryV].X)
		assert.Equal(t, cells == "10,20,,", line.Readings[quantity.Speed].Measured(), cells)
		got := ""
		for _, p := range log.Remarks() {
			if strings.Contains(p.Error(), "given without") {
				got = p.Error()
			}
		}
		if assert.Equal(t, want != "", got != "", cells) {
			assert.Contains(t, got, want)
		}
	}
}
