package session

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// first is a log with one line whose cells after dive and date are given.
func first(columns, cells string) string {
	return "dive,date," + columns + "\n1,2026-05-02," + cells + "\n"
}

// Each bad file gets exactly this.
func TestReadTellsEachProblem(t *testing.T) {
	nines := strings.Repeat("9", 60)
	for _, c := range []struct{ text, want string }{
		// The file as a whole.
		{"", `dives.csv: empty file, want a header line`},
		{"\ufeff", `dives.csv: empty file, want a header line`},
		{"\n \n# nothing yet\n,,,\n", `dives.csv: empty file, want a header line`},
		{"\"dive", `dives.csv:1: column 1: found a quoted cell that does not end or has text after its end, want quotes around the whole cell and a " in it doubled`},
		{"dive,d\xe9\n", `dives.csv:1: column 2: found bytes that are not UTF-8 text, want the file saved as UTF-8`},
		{first("note", "caf\xe9"), `dives.csv:2: column "note": found bytes that are not UTF-8 text, want the file saved as UTF-8`},
		{"dive,date,,note\n1,2026-05-02,caf\xe9\n", `dives.csv:2: column 3: found bytes that are not UTF-8 text, want the file saved as UTF-8`},

		// The header.
		{"date\n", `dives.csv:1: found the header "date", want a column "dive" in it; columns are set apart by commas, semicolons or tabs`},
		{"# x\n\ndate,Dive\n", `dives.csv:3: found the header "date", "Dive", want a column "dive" in it (nearest: "Dive")`},
		{"dive|date|minute\n", `dives.csv:1: found the header "dive|date|minute", want a column "dive" in it; columns are set apart by commas, semicolons or tabs`},
		{"a,b,c,d,e\n", `dives.csv:1: found the header "a", "b", "c", "d", …, want a column "dive" in it`},
		{"PK\x03\x04\x14\x00", `dives.csv: found a spreadsheet program's own file, want it saved as CSV: there, File menu, Save as, Export or Download, then CSV`},
		{"d\x00i\x00v\x00e\x00", `dives.csv:1: found bytes of 0, which no text has, want the file saved as UTF-8`},
		{"dive,date\n1,2026-05-02\n1,\x00\n", `dives.csv:3: found bytes of 0, which no text has, want the file saved as UTF-8`},
		{"dive,dive\n", `dives.csv:1: column "dive": stands twice, want it once`},
		{"dive,depth_m,depth_ft\n", `dives.csv:1: column "depth_ft": found beside "depth_m", want one of them`},
		{"dive,water_f,water_c\n", `dives.csv:1: column "water_c": found beside "water_f", want one of them`},

		// Rows as a whole.
		{first("minute", "1,,x"), `dives.csv:2: found 5 cells, want at most the header's 3`},
		{"dive,date,,\n1,2026-05-02,x\n", `dives.csv:2: found 3 cells, want at most the header's 2`},
		{first("note", `"off"x`), `dives.csv:2: column "note": found a quoted cell that does not end or has text after its end, want quotes around the whole cell and a " in it doubled`},
		{first("note", `a "b" c`), `dives.csv:2: column "note": found a " within a cell, want the whole cell in quotes and the " doubled`},
		{first("note", "ok\n1,,\"open\n1,,\n"), `dives.csv:3: column "note": found a quoted cell that does not end or has text after its end, want quotes around the whole cell and a " in it doubled`},

		// Dives and days.
		{"dive,date\n,2026-05-02\n", `dives.csv:2: column "dive": empty, want the dive's label`},
		{"dive,date\n\"a\nb\",2026-05-02\n", `dives.csv:2: column "dive": found "a\nb", want a label on one line of plain text`},
		{"dive,date\n1,\n1,2026-05-02\n1,2026-05-03\n", `dives.csv:3: column "date": found 2026-05-02 on a later line of a dive, want the day on its first`},
		{"dive,date\n1,0001-01-01\n1,2026-05-03\n", `dives.csv:2: column "date": found "0001-01-01", want a day as 2026-05-31`},
		{"dive,date\n1,2026-05-02\n2,\n3,2026-05-01\n", `dives.csv:4: column "date": found 2026-05-01 after 2026-05-02, want dates in order: its lines go above those of dive "1"`},
		{"dive,date\n1,2026-02-30\n", `dives.csv:2: column "date": found "2026-02-30", want a day as 2026-05-31`},
		{"dive,date\n1,2/5/2026\n", `dives.csv:2: column "date": found "2/5/2026", want a day as 2026-05-31`},
		{"dive,date\n1,2026-05-02T10:00\n", `dives.csv:2: column "date": found "2026-05-02T10:00", want a day as 2026-05-31`},
		{"dive,date,time\n1,2026-05-02,23:50\n1,2026-05-04,0:10\n", `dives.csv:3: column "date": found 2026-05-04 within a dive of 2026-05-02, want one day a dive`},
		{"dive,date,time\n1,2026-05-02,9:50\n1,2026-05-03,10:10\n", `dives.csv:3: column "date": found 2026-05-03 within a dive of 2026-05-02, want one day a dive`},
		{"dive,date\n1,2026-05-02\n1,2026-05-03\n", `dives.csv:3: column "date": found 2026-05-03 within a dive of 2026-05-02, want one day a dive`},
		{"dive,date\n2,2026-05-02\n3,2026-05-01\n4,2026-05-02\n", `dives.csv:3: column "date": found 2026-05-01 after 2026-05-02, want dates in order: its lines go above those of dive "2"`},
		{"dive,date\n1,2026-05-02\n2,2026-05-02\n1,\n1,\n", `dives.csv:4: column "dive": dive "1" began on line 2, want the lines of a dive together`},

		// Time.
		{first("minute", "5\n1,,2"), `dives.csv:3: column "minute": found minute 2 after 5, want times in order`},
		{first("minute", "-1"), `dives.csv:2: column "minute": found "-1", want 0 to 100000 min`},
		{first("time", "25:00"), `dives.csv:2: column "time": found "25:00", want the clock as hh:mm`},
		{first("time", "930"), `dives.csv:2: column "time": found "930", want the clock as hh:mm`},
		{first("time", "10:30\n1,,10:29"), `dives.csv:3: column "time": found 10:29 after 10:30, want times in order`},
		{first("minute,time", "1,10:30"), `dives.csv:2: column "time": given beside "minute", want one of them`},
		{first("minute,time", ",10:30\n1,,5,"), `dives.csv:3: column "minute": given in a dive with "time", want one of them in a dive`},
		{first("minute,time", "5\n1,,,10:30"), `dives.csv:3: column "time": given in a dive with "minute", want one of them in a dive`},

		// Numbers.
		{first("battery_v", "NaN"), `dives.csv:2: column "battery_v": found "NaN", want a number in V`},
		{first("battery_v", "-Inf"), `dives.csv:2: column "battery_v": found "-Inf", want a number in V`},
		{first("battery_v", "0x1p4"), `dives.csv:2: column "battery_v": found "0x1p4", want a number in V`},
		{first("battery_v", "#DIV/0!"), `dives.csv:2: column "battery_v": found "#DIV/0!", want a number in V`},
		{first("battery_v", "-"), `dives.csv:2: column "battery_v": found "-", want a number in V`},
		{first("battery_v", "1.2.3"), `dives.csv:2: column "battery_v": found "1.2.3", want a number in V`},
		{first("battery_v", "1_000"), `dives.csv:2: column "battery_v": found "1_000", want a number in V without a thousands separator`},
		{first("battery_v", "1 000"), `dives.csv:2: column "battery_v": found "1 000", want a number in V without a thousands separator`},
		{first("battery_v", "1\u202f000"), `dives.csv:2: column "battery_v": found "1 000", want a number in V without a thousands separator`},
		{first("battery_v", `"1,234.5"`), `dives.csv:2: column "battery_v": found "1,234.5", want a number in V without a thousands separator`},
		{"dive;date;battery_v\n1;2026-05-02;1.234,5\n", `dives.csv:2: column "battery_v": found "1.234,5", want a number in V without a thousands separator`},
		{first("battery_v", `"1,5"`), `dives.csv:2: column "battery_v": found "1,5", want a number in V with a decimal point: 1.5`},
		{first("battery_v", `"1,234"`), `dives.csv:2: column "battery_v": found "1,234", want a number in V with a decimal point: 1.234, or 1234`},
		{first("battery_v", `"12,3 V"`), `dives.csv:2: column "battery_v": found "12,3 V", want a number in V with a decimal point`},
		{first("battery_v", "12.3 V"), `dives.csv:2: column "battery_v": found "12.3 V", want a number in V alone: the unit is in the column's name "battery_v"`},
		{first("water_c", "9°C"), `dives.csv:2: column "water_c": found "9°C", want a number in °C alone: the unit is in the column's name "water_c"`},
		{"dive\tdate\tdepth_m\n1\t2026-05-02\t1,5m\n", `dives.csv:2: column "depth_m": found "1,5m", want a number in m alone: the unit is in the column's name "depth_m"`},
		{first("battery_v", nines), `dives.csv:2: column "battery_v": found "` + nines[:40] + `"… (60 bytes), want 0 to 1000 V`},
		{first("battery_v", "1e999"), `dives.csv:2: column "battery_v": found "1e999", want 0 to 1000 V`},
		{first("battery_v", "-12.6"), `dives.csv:2: column "battery_v": found "-12.6", want 0 to 1000 V`},
		{first("current_a", "-2.1"), `dives.csv:2: column "current_a": found "-2.1", want -2 to 5000 A`},
		{first("depth_m", "-2"), `dives.csv:2: column "depth_m": found "-2", want 0 to 1000 m`},
		{first("depth_ft", "4000"), `dives.csv:2: column "depth_ft": found "4000", want 0 to 3280.84 ft`},
		{first("pull_kgf", "\u22121"), `dives.csv:2: column "pull_kgf": found "-1", want -0.509858 to 10197.2 kgf`},
		{first("water_f", "9"), `dives.csv:2: column "water_f": found "9", want 26.6 to 113 °F`},
		{first("salinity_psu", "350"), `dives.csv:2: column "salinity_psu": found "350", want 0 to 45 psu`},

		// Words.
		{first("lights", "dim"), `dives.csv:2: column "lights": found "dim", want on, off or nothing`},
		{first("held", "maybe"), `dives.csv:2: column "held": found "maybe", want yes, no or nothing`},
		{first("thrusters", "port + port astern"), `dives.csv:2: column "thrusters": found "port" twice, want it once`},
		{first("thrusters", "port +"), `dives.csv:2: column "thrusters": found "port +", want names joined by +`},
		{first("thrusters", "off + port"), `dives.csv:2: column "thrusters": found "off + port", want off alone or names joined by +`},
		{first("serviced", "jiont"), `dives.csv:2: column "serviced": found "jiont", want parts from tether, joint, thruster, propeller, seal, battery, ballast, hull, lights, camera, clamp, voltmeter, ohmmeter, tape, scale (nearest: "joint")`},
		{first("serviced", "seal+"), `dives.csv:2: column "serviced": found "", want parts from tether, joint, thruster, propeller, seal, battery, ballast, hull, lights, camera, clamp, voltmeter, ohmmeter, tape, scale`},

		// Timed runs.
		{first("run_s", "20"), `dives.csv:2: column "run_s": given without run_m or run_ft, want both`},
		{first("run_m", "10"), `dives.csv:2: column "run_m": given without run_s, want both`},
		{first("run_m,run_s", "10,0"), `dives.csv:2: column "run_s": found "0", want 0.01 to 100000 s`},
		{first("run_m,run_s", "10,ten"), `dives.csv:2: column "run_s": found "ten", want a number in s`},
		{first("run_m,run_s", "100,0.5"), `dives.csv:2: column "run_s": found 100 m in 0.5 s, want at most 100 m/s`},
		{first("run_m,run_s,speed_kn", "10,20,1"), `dives.csv:2: column "run_s": given beside "speed_kn", want one of them`},
		{first("climb_s", "20"), `dives.csv:2: column "climb_s": given without climb_m or climb_ft, want both`},
		{first("climb_m,climb_s,climb_m_s", "1,20,0.1"), `dives.csv:2: column "climb_s": given beside "climb_m_s", want one of them`},
	} {
		log, err := Read(strings.NewReader(c.text), "dives.csv")
		assert.EqualError(t, err, c.want, "%q", c.text)
		assert.Nil(t, log)
	}
}

func TestReadTellsAllProblemsAtOnce(t *testing.T) {
	_, err := Read(strings.NewReader("dive,date,minute,held,minute,battery_v\n1,2026-05-02,x,y\n2,2026-05-03,2,\"z\"z\n3,2026-05-04,,q,,9 V\n"), "dives.csv")
	require.Error(t, err)
	assert.Equal(t, []string{
		`dives.csv:1: column "minute": stands twice, want it once`,
		`dives.csv:2: column "minute": found "x", want a number in min`,
		`dives.csv:2: column "held": found "y", want yes, no or nothing`,
		`dives.csv:3: column "held": found a quoted cell that does not end or has text after its end, want quotes around the whole cell and a " in it doubled`,
		`dives.csv:4: column "held": found "q", want yes, no or nothing`,
		`dives.csv:4: column "battery_v": found "9 V", want a number in V alone: the unit is in the column's name "battery_v"`,
	}, strings.Split(err.Error(), "\n"))
}

func TestFiftyProblemsAreToldInFull(t *testing.T) {
	_, err := Read(strings.NewReader("dive,date,held\n1,2026-05-02,\n"+strings.Repeat("1,,maybe\n", 62)), "dives.csv")
	require.Error(t, err)
	lines := strings.Split(err.Error(), "\n")
	assert.Len(t, lines, 51)
	assert.Equal(t, "dives.csv: … and 12 more", lines[50])
}
