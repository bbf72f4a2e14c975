package session

import (
	"bytes"
	"math"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const header = "dive,date,minute,thrusters,held,battery_v,run_m,run_s,run_back_s,depth_ft,water_c,ballast_g,serviced,note\n"

func read(t *testing.T, text string) *Log {
	log, err := Read(strings.NewReader(text), "dives.csv")
	require.NoError(t, err)
	return log
}

func TestReadCarriesForwardAndConverts(t *testing.T) {
	log := read(t, "# a comment\n"+header+
		"1,2026-05-02,2,off,,12.7,,,,10,9,100,joint+seal,\"two\nlines\"\n"+
		"1,,4,port astern + starboard,yes,,10,20,40,,,-30,,\n\n"+
		"2,2026-05-03,,,,,,,,,,,,\n")
	require.Len(t, log.Dives, 2)
	a, b, c := log.Dives[0].Lines[0], log.Dives[0].Lines[1], log.Dives[1].Lines[0]
	assert.Equal(t, 3, a.Number)
	assert.Equal(t, 5, b.Number, "a quoted line break counts as a line")
	assert.InDelta(t, 3.048, a.Depth.X, 1e-12)
	assert.False(t, b.Depth.Measured())
	assert.Equal(t, []string{"joint", "seal"}, a.Serviced)
	assert.Equal(t, []Drive{{"port", true}, {"starboard", false}}, b.Drives)
	assert.True(t, b.Held)
	assert.False(t, b.Readings[BatteryV].Measured(), "empty is not measured, not zero")
	assert.InDelta(t, (10.0/20+10.0/40)/2, b.Readings[Speed].X, 1e-12, "mean of the two speeds")
	assert.Equal(t, 9.0, b.WaterC.X)
	assert.False(t, c.WaterC.Measured(), "water carries within a dive only")
	assert.Equal(t, 70.0, c.BallastG)
	assert.False(t, c.Electrical)
}

func TestReadWhatSpreadsheetsWrite(t *testing.T) {
	semicolon := "\ufeffdive;date;battery_v;;\r\n1;2026-05-02;12,7;;\r\n;;;;\r\n"
	assert.Equal(t, 12.7, read(t, semicolon).Dives[0].Lines[0].Readings[BatteryV].X)
	tabs := "dive\tdate\tbattery_v\n1\t2026-05-02\t\u00a012.7\u00a0\n"
	assert.Equal(t, 12.7, read(t, tabs).Dives[0].Lines[0].Readings[BatteryV].X)
	units := append([]uint16{0xfeff}, utf16.Encode([]rune("dive,date,battery_v\n1,2026-05-02,12.7\n"))...)
	var wide bytes.Buffer
	for _, u := range units {
		wide.Write([]byte{byte(u), byte(u >> 8)})
	}
	log, err := Read(&wide, "dives.csv")
	require.NoError(t, err)
	assert.Equal(t, 12.7, log.Dives[0].Lines[0].Readings[BatteryV].X)
	assert.Empty(t, read(t, header).Dives, "a header alone is a sound, empty log")
}

// Each bad file gets exactly this.
func TestReadTellsEachProblem(t *testing.T) {
	row := func(cells string) string { return header + cells + "\n" }
	for _, c := range []struct{ text, want string }{
		{"", `dives.csv: empty file, want a header line`},
		{"date\n", `dives.csv:1: no column "dive", want one`},
		{"dive,dive\n", `dives.csv:1: column "dive": stands twice, want it once`},
		{"dive,depth_m,depth_ft\n", `dives.csv:1: column "depth_ft": found beside "depth_m", want one of them`},
		{row("1,,2"), `dives.csv:2: column "date": empty, want the day on a dive's first line`},
		{row("1,2026-02-30,2"), `dives.csv:2: column "date": found "2026-02-30", want a day as 2026-05-31`},
		{row("2,2026-05-02\n3,2026-05-01"), `dives.csv:3: column "date": found 2026-05-01 after 2026-05-02, want dates in order`},
		{row(",2026-05-02,2"), `dives.csv:2: column "dive": empty, want the dive's label`},
		{row("1,2026-05-02\n2,2026-05-02\n1,2026-05-02"), `dives.csv:4: column "dive": dive "1" began on line 2 already, want the lines of a dive together`},
		{row("1,2026-05-02,5\n1,,2"), `dives.csv:3: column "minute": found minute 2 after 5, want times in order`},
		{row("1,2026-05-02,2,off,,NaN"), `dives.csv:2: column "battery_v": found "NaN", want a number in V`},
		{row("1,2026-05-02,2,off,,Inf"), `dives.csv:2: column "battery_v": found "Inf", want a number in V`},
		{row("1,2026-05-02,2,off,,0x1p4"), `dives.csv:2: column "battery_v": found "0x1p4", want a number in V`},
		{row("1,2026-05-02,2,off,,1_000"), `dives.csv:2: column "battery_v": found "1_000", want a number in V`},
		{row("1,2026-05-02,2,off,,12.3 V"), `dives.csv:2: column "battery_v": found "12.3 V", want a number in V`},
		{row(`1,2026-05-02,2,off,,"1,234"`), `dives.csv:2: column "battery_v": found "1,234", want a number in V with a decimal point`},
		{row("1,2026-05-02,2,off,,-1"), `dives.csv:2: column "battery_v": found "-1", want 0 to 1000 V`},
		{row("1,2026-05-02,2,off,," + strings.Repeat("9", 40)), `dives.csv:2: column "battery_v": found "` + strings.Repeat("9", 40) + `", want 0 to 1000 V`},
		{row("1,2026-05-02,2,port + port"), `dives.csv:2: column "thrusters": found "port" twice, want it once`},
		{row("1,2026-05-02,2,port +"), `dives.csv:2: column "thrusters": found "port +", want names joined by +`},
		{row("1,2026-05-02,2,off,maybe"), `dives.csv:2: column "held": found "maybe", want yes, no or nothing`},
		{row("1,2026-05-02,2,off,,,,20"), `dives.csv:2: column "run_s": given without run_m, want both`},
		{row("1,2026-05-02,2,off,,,10"), `dives.csv:2: column "run_m": given without run_s, want both`},
		{row("1,2026-05-02,2,off,,,10,0"), `dives.csv:2: column "run_s": found "0", want 0.01 to 100000 s`},
		{row("1,2026-05-02,2,off,,,,,,,,,jiont"), `dives.csv:2: column "serviced": found "jiont", want parts from tether, joint, thruster, propeller, seal, battery, ballast (nearest: "joint")`},
		{row("1,2026-05-02,2,,,,,,,,,,,x,y"), `dives.csv:2: found 15 cells, want at most the header's 14`},
		{row("1,2026-05-02,2,\"off\"x"), `dives.csv:2: extraneous or missing " in quoted-field`},
		{"dive,date\n1,\xff\n", `dives.csv:2: found bytes that are not UTF-8 text, want the file saved as UTF-8`},
	} {
		_, err := Read(strings.NewReader(c.text), "dives.csv")
		if assert.Error(t, err, c.text) {
			assert.Contains(t, err.Error(), c.want)
		}
	}
}

func TestReadTellsAllProblemsAtOnce(t *testing.T) {
	_, err := Read(strings.NewReader(header+"1,2026-05-02,x,off,,y\n2,2026-05-03,2,off,,z\n"), "dives.csv")
	require.Error(t, err)
	assert.Len(t, strings.Split(err.Error(), "\n"), 3)
}

func TestReadHugeCellIsOneLine(t *testing.T) {
	_, err := Read(strings.NewReader("dive,date\n"+strings.Repeat("9", 80<<20)+",2026-05-02\n"), "dives.csv")
	require.Error(t, err)
	assert.Equal(t, "dives.csv:2: a cell of 83886080 bytes in column 1, want at most 65536", err.Error())
}

func TestUnknownColumnIsKeptAndWarned(t *testing.T) {
	log := read(t, "dive,date,batery_v\n1,2026-05-02,12\n")
	require.Len(t, log.Warnings, 1)
	assert.Equal(t, `dives.csv:1: column "batery_v": unknown, kept but not used (nearest: "battery_v")`, log.Warnings[0].Error())
	assert.Contains(t, log.Columns, "batery_v")
}

// What is written reads back as it was, in metric and in imperial columns.
func TestWriteReadsBack(t *testing.T) {
	log := read(t, header+"1,2026-05-02,2,off,,12.7,,,,10,9,100,joint,=1+1\n1,,4,port astern,yes,,,,,,,-30,,\n")
	for _, names := range [][]string{
		{"dive", "date", "minute", "thrusters", "held", "battery_v", "depth_m", "water_c", "ballast_g", "serviced"},
		{"dive", "date", "minute", "thrusters", "held", "battery_v", "depth_ft", "water_f", "ballast_oz", "serviced", "note"},
	} {
		var b bytes.Buffer
		require.NoError(t, Write(&b, names, log))
		again := read(t, b.String())
		for i, l := range again.Dives[0].Lines {
			want := log.Dives[0].Lines[i]
			assert.InDelta(t, want.Depth.X, l.Depth.X, 1e-12)
			assert.InDelta(t, want.WaterC.X, l.WaterC.X, 1e-12)
			assert.InDelta(t, want.BallastG, l.BallastG, 1e-9)
			assert.Equal(t, want.Drives, l.Drives)
			assert.Equal(t, want.Readings[BatteryV].X, l.Readings[BatteryV].X)
			assert.Equal(t, want.Serviced, l.Serviced)
			assert.False(t, strings.HasPrefix(l.Note, "="), "no cell we write runs as a formula")
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add(header + "1,2026-05-02,2,off,,12.7,,,,10,9,100,joint,x\n")
	f.Add("dive;date;battery_v\n1;2026-05-02;12,7\n")
	f.Fuzz(func(t *testing.T, text string) {
		log, err := Read(strings.NewReader(text), "dives.csv")
		if err != nil {
			return
		}
		for _, d := range log.Dives {
			for _, l := range d.Lines {
				for _, v := range l.Readings {
					if math.IsNaN(v.X) || math.IsInf(v.X, 0) {
						t.Fatalf("line %d: %v", l.Number, v.X)
					}
				}
			}
		}
	})
}
