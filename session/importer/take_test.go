package importer

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/session"
)

var otter = Known{Thrusters: []string{"port", "starboard", "vertical"}, SD: map[string]float64{"battery_v": 0.02, "current_a": 0.15, "vehicle_v": 0.03}}

// proposed takes a text in by the mapping that is proposed for it.
func proposed(t *testing.T, text string, k Known, o Options) (*Mapping, *Taken) {
	t.Helper()
	s, err := Open(strings.NewReader(text), "old.csv")
	require.NoError(t, err)
	m := Propose(s, k)
	return m, Take(s, m, k, o)
}

// rows are the taken lines' cells of some columns, a line each.
func rows(taken *Taken, columns string) string {
	var b strings.Builder
	for _, l := range taken.Lines {
		for i, c := range strings.Fields(columns) {
			if i > 0 {
				b.WriteByte('|')
			}
			b.WriteString(l.Cells[c])
		}
		b.WriteByte('\n')
	}
	return b.String()
}

func logOf(t *testing.T, text string) *session.Log {
	t.Helper()
	log, err := session.Read(strings.NewReader(text), "dives.csv")
	require.NoError(t, err)
	return log
}

const german = "Vereinslog (simuliert)\n\nTG Nr;Datum;Uhrzeit;Motoren;Akku (V);Strom [mA];Tiefe (cm);Notiz;Anmerkung\n" +
	"7;3.4.2026;14:05;aus;12,80;-;0;ruhig;\n;;14:07;links + rechts;12,31;8600;150;;\"mit \"\"Ruck\"\"\"\n8;10.4.2026;9:30;hinten rückwärts;1.012,4;n/a;;;\n;;;;;;;;\n"

func TestASpreadsheetInGerman(t *testing.T) {
	m, taken := proposed(t, strings.Replace(german, "1.012,4", "12,4", 1), otter, Options{})
	assert.Equal(t, ByColumn, m.Dives)
	assert.Equal(t, DayFirst, m.Date)
	assert.Equal(t, ",", m.Decimal)
	assert.Equal(t, map[string]string{"links": "port", "rechts": "starboard", "hinten": Asked}, m.Thrusters)
	require.Len(t, taken.Asked, 1)
	assert.Contains(t, taken.Asked[0], `thrusters "hinten": which are they? (the vehicle has port, starboard, vertical)`)

	m.Thrusters["hinten"] = "vertical"
	s, err := Open(strings.NewReader(strings.Replace(german, "1.012,4", "12,4", 1)), "old.csv")
	require.NoError(t, err)
	_, known := m.Adapt(s, otter)
	assert.Equal(t, 9, known)
	taken = Take(s, m, otter, Options{})
	assert.Empty(t, taken.Problems)
	assert.Empty(t, taken.Asked)
	assert.Equal(t, `7|2026-04-03|14:05|off|12.80||0|ruhig
7||14:07|port + starboard|12.31|8.6|1.5|mit "Ruck"
8|2026-04-10|09:30|vertical astern|12.4|||
`, strings.ReplaceAll(rows(taken, "dive date time thrusters battery_v current_a depth_m note"), "Anmerkung: ", ""))
	assert.Equal(t, []int{4, 5, 6}, []int{taken.Lines[0].Number, taken.Lines[1].Number, taken.Lines[2].Number})
}

// Problems stand where the file has them, under the file's own headings; all
// are told.
func TestProblemsHavePlaces(t *testing.T) {
	_, taken := proposed(t, "Dive;Date;Battery (V);Held\n1;2026-05-02;12.3;\n1;;twelve;x\n1;;-3;perhaps\n2;2026-05-31;1200;no\n1;2026-06-01;12;\n", otter, Options{})
	var got []string
	for _, p := range taken.Problems {
		got = append(got, p.Error())
	}
	assert.Equal(t, []string{
		`old.csv:3: column "Battery (V)": found "twelve", want a number in V`,
		`old.csv:4: column "Held": found "perhaps", want one of the words under yes or no: yes y on true 1 x ✓ ja an oui si sí; no n off false 0 nein aus non nee uit`,
		`old.csv:4: column "Battery (V)": found "-3", want 0 to 1000 V`,
		`old.csv:5: column "Battery (V)": found "1200", want 0 to 1000 V`,
		`old.csv:6: column "Date": found 2026-06-01 within a dive of 2026-05-02, want one day a dive`,
	}, got)
}

// What cannot be read is kept in the note when that is wished.
func TestBadCellsToTheNote(t *testing.T) {
	_, taken := proposed(t, "Dive;Date;Battery (V);Remarks\n1;2026-05-02;12.3;\n1;;about 12;windy\n", otter, Options{BadToNote: true})
	assert.Empty(t, taken.Problems)
	assert.Equal(t, "12.3|\n|Battery (V) reads about 12; windy\n", rows(taken, "battery_v note"))
	assert.Contains(t, strings.Join(taken.Remarks, "\n"), `line 3: "Battery (V)" kept in the note`)
}

func TestAmbiguousDatesAreAsked(t *testing.T) {
	_, taken := proposed(t, "Dive,Date,Battery (V)\n1,3/4/2026,12.3\n2,5/6/2026,12.4\n", otter, Options{})
	assert.Equal(t, []string{`dates such as "3/4/2026": "day.month.year" or "month/day/year"?`}, taken.Asked)
	assert.Empty(t, taken.Problems)
}

// Dives that the log has are left out; others are told apart or refused.
func TestTheSameFileTwice(t *testing.T) {
	text := "Dive,Date,Battery (V)\n1,2026-05-02,12.3\n2,2026-05-09,12.4\n"
	k := otter
	k.Log = logOf(t, "dive,date,battery_v\n1,2026-05-02,12.3\n")
	_, taken := proposed(t, text, k, Options{})
	assert.Equal(t, []Skip{{"1", 2, "1", true}}, taken.Skipped)
	assert.Equal(t, "2|2026-05-09|12.4\n", rows(taken, "dive date battery_v"))

	k.Log = logOf(t, "dive,date,battery_v\n1,2026-05-02,12.3\n2,2026-05-09,12.4\n")
	_, taken = proposed(t, text, k, Options{})
	assert.Empty(t, taken.Lines)
	assert.Len(t, taken.Skipped, 2)

	k.Log = logOf(t, "dive,date,battery_v\n1,2026-04-02,12.9\n")
	_, taken = proposed(t, text, k, Options{})
	require.Len(t, taken.Problems, 1)
	assert.Contains(t, taken.Problems[0].Error(), `old.csv:2: dive "1" is another dive in the log, of 2026-04-02; prefix = "old-"`)
	_, taken = proposed(t, text, k, Options{Again: true})
	assert.Equal(t, "3\n2\n", rows(taken, "dive"))
	assert.Empty(t, taken.Problems)

	k.Log = logOf(t, "dive,date,battery_v\n9,2026-06-02,12.9\n")
	_, taken = proposed(t, text, k, Options{})
	require.Len(t, taken.Problems, 1)
	assert.Contains(t, taken.Problems[0].Error(), "old.csv:2: dive of 2026-05-02 is before the log's newest, 2026-06-02")
}

// Without a column for it, each date is a dive, under the next free numbers;
// newest first is put in order.
func TestDivesByDate(t *testing.T) {
	k := otter
	k.Log = logOf(t, "dive,date,battery_v\n4,2026-01-02,12.9\n")
	_, taken := proposed(t, "Date,Battery (V),Speed\n2026-05-09,12.4,0.3 m/s\n2026-05-02,12.3,2 kn\n2026-05-02,12.2,\n", k, Options{})
	assert.Empty(t, taken.Problems)
	assert.Equal(t, "5|2026-05-02|12.3|1.029\n5||12.2|\n6|2026-05-09|12.4|0.3\n", rows(taken, "dive date battery_v speed_m_s"))
	assert.Contains(t, taken.Remarks, "dives put in order of their dates")
}

func TestServicesAreFoundInFreeText(t *testing.T) {
	_, taken := proposed(t, "Dive,Date,Repairs,Battery (V)\n1,2026-05-02,re-made the splice and new o-ring,12.3\n2,2026-05-03,battery,12.3\n3,2026-05-04,painted,12.4\n", otter, Options{})
	assert.Equal(t, "joint+seal|serviced: re-made the splice and new o-ring\nbattery|\n|serviced: painted\n", rows(taken, "serviced note"))
}

// logger is a file of n samples at 10 Hz, of which odd replaces some lines.
func logger(n int, odd map[int]string) string {
	var b bytes.Buffer
	b.WriteString("time (s),Volts,Amps\n")
	for i := range n {
		line := fmt.Sprintf("%.1f,%.2f,%.2f", float64(i)/10, 12.5+0.01*float64(i%3), 0.1+0.02*float64(i%2)+8*float64(i/300%2))
		if o, ok := odd[i]; ok {
			line = o
		}
		b.WriteString(line + "\n")
	}
	return b.String()
}

var dated = Options{Cells: map[string]string{"date": "2026-05-31"}}

func TestSamplesBecomeLines(t *testing.T) {
	m, taken := proposed(t, logger(900, nil), otter, dated)
	assert.Equal(t, Samples, m.Rows)
	assert.Empty(t, taken.Problems)
	require.Len(t, taken.Lines, 3)
	assert.Equal(t, "2026-05-31|12.51|0.11\n|12.51|8.11\n|12.51|0.11\n", rows(taken, "date battery_v current_a"))
	assert.Regexp(t, `^mean of \d+ samples over [\d.]+ s, sd 0.0082 V, 0.01 A$`, taken.Lines[1].Cells["note"])
	require.Len(t, m.Levels, 2, "the levels of the current are proposed")
	m.Levels[1].Thrusters = "port + starboard"
	m.Levels[0].Thrusters = "off"
	s, err := Open(strings.NewReader(logger(900, nil)), "old.csv")
	require.NoError(t, err)
	assert.Equal(t, "off\nport + starboard\noff\n", rows(Take(s, m, otter, dated), "thrusters"))
}

func TestSamplesWithFlaws(t *testing.T) {
	_, taken := proposed(t, logger(900, map[int]string{50: "5.0,garbage,0.1", 51: "", 60: ",12.5,0.1", 70: "6.5,12.5,0.1", 100: "10.0,0,0"}), otter, dated)
	assert.Empty(t, taken.Problems)
	require.Len(t, taken.Lines, 3, "none of that cuts")
	said := strings.Join(taken.Remarks, "\n")
	assert.Contains(t, said, `old.csv:52: column "Volts": found "garbage", want a number in V; sample left out`)
	assert.Contains(t, said, `old.csv:62: column "time (s)": empty, want the time of the sample; sample left out`)
	assert.Contains(t, said, "1 sample with a time before the one above, left out")
	assert.Contains(t, taken.Lines[0].Cells["note"], "1 set aside")
}

func TestGapsAndResets(t *testing.T) {
	head, _, _ := strings.Cut(logger(900, nil), "\n45.0,")
	gap := head + "\n90.0,12.5,8.1\n" // half a minute without samples
	for i := range 200 {
		gap += fmt.Sprintf("%.1f,12.5,8.1\n", 90.1+float64(i)/10)
	}
	_, taken := proposed(t, gap, otter, dated)
	assert.Contains(t, strings.Join(taken.Remarks, "\n"), "1 gap without samples, the longest 45.1 s")
	require.Len(t, taken.Lines, 3)

	reset := head + "\n" + strings.SplitN(logger(300, nil), "\n", 2)[1]
	_, taken = proposed(t, reset, otter, dated)
	assert.Empty(t, taken.Problems)
	assert.Contains(t, strings.Join(taken.Remarks, "\n"), "the clock began again at line 452")
	require.Len(t, taken.Lines, 3)
	assert.Equal(t, "1.014", taken.Lines[2].Cells["minute"], "counted on from the last")
}

func TestStampsAcrossMidnight(t *testing.T) {
	var b strings.Builder
	b.WriteString("Time,Current (A)\n")
	for i := range 400 {
		s := 23*3600 + 59*60 + i
		fmt.Fprintf(&b, "%02d:%02d:%02d,%.1f\n", s/3600%24, s/60%60, s%60, 5+0.1*float64(i%3))
	}
	_, taken := proposed(t, b.String(), otter, dated)
	assert.Empty(t, taken.Problems)
	require.Len(t, taken.Lines, 1)
	assert.Equal(t, "3.325", taken.Lines[0].Cells["minute"])

	_, taken = proposed(t, strings.ReplaceAll(b.String(), "\n2", "\n2026-05-30 2"), otter, dated)
	assert.NotEmpty(t, taken.Asked, "some stamps lack their day")
}

// Date and clock may stand in columns of their own.
func TestDatesBesideClocks(t *testing.T) {
	var b strings.Builder
	b.WriteString("Date;Clock;Strom (A)\n")
	for i := range 400 {
		s := 23*3600 + 59*60 + i
		fmt.Fprintf(&b, "%d.5.2026;%02d:%02d:%02d;%d,%d\n", 30+s/86400, s/3600%24, s/60%60, s%60, 5+3*(i/200), i%3)
	}
	_, taken := proposed(t, b.String(), otter, Options{})
	assert.Empty(t, taken.Problems)
	assert.Empty(t, taken.Asked)
	assert.Equal(t, "2026-05-30|5.1\n|8.1\n", rows(taken, "date current_a"), "one dive, though past midnight")
}

func TestTooManyBadSamples(t *testing.T) {
	odd := map[int]string{}
	for i := range 100 {
		odd[7*i] = "x,y,z"
	}
	_, taken := proposed(t, logger(900, odd), otter, dated)
	require.NotEmpty(t, taken.Problems)
	assert.Contains(t, taken.Problems[len(taken.Problems)-1].Error(), "100 of 900 samples cannot be read")
	assert.Len(t, taken.Problems, mostBad+1)
}

func TestADateIsAskedFor(t *testing.T) {
	_, taken := proposed(t, logger(900, nil), otter, Options{})
	assert.Equal(t, []string{"no date in the file: give it by --cell date=2026-05-31"}, taken.Asked)
}

// What stands before the headings, or no headings at all.
func TestHeadersAreFound(t *testing.T) {
	for _, c := range []struct {
		text, headings string
		line           int
	}{
		{"a,b\n1,2\n", "a|b", 1},
		{"Logger 7\nstarted,2026-05-31\n\ntime (s),V,A\n0,1,2\n1,1,2\n2,1,2\n", "time (s)|V|A", 4},
		{"time,V\n(s),(V)\n0,1\n", "time|V", 1},
		{"0,1,2\n1,1,2\n", "column 1|column 2|column 3", 0},
		{"a;a;;b\n1;2;3;4\n", "a|a column 2|column 3|b", 1},
	} {
		s, err := Open(strings.NewReader(c.text), "old.csv")
		require.NoError(t, err)
		var got []string
		for _, h := range s.headings {
			got = append(got, h.text)
		}
		assert.Equal(t, c.headings, strings.Join(got, "|"), c.text)
		assert.Equal(t, c.line, s.Line, c.text)
	}
}

// A column for each thruster, with words or marks where it ran.
func TestAColumnForEachThruster(t *testing.T) {
	head := "Dive;Date;Port motor;Stbd;Up/down;Battery (V)\n"
	head = strings.Replace(head, "Up/down", "Vertical", 1)
	for _, c := range []struct{ name, text, want, remark string }{
		{"words", head + "1;2026-05-02;off;off;off;12.6\n1;;on;on;off;12.1\n1;;on;rev;;12.2\n1;;;;up;12.3\n1;;;;;12.4\n",
			"off\nport + starboard\nport + starboard astern\nvertical\n\n", ""},
		{"numbers", head + "1;2026-05-02;0;0;0;12.6\n1;;1;1;0;12.1\n1;;-1;-1;0;12.2\n1;;0;0;-1;12.3\n",
			"off\nport + starboard\nport astern + starboard astern\nvertical astern\n", ""},
		{"marks", head + "1;2026-05-02;;;;12.6\n1;;x;x;;12.1\n1;;;;x;12.3\n",
			"off\nport + starboard\nvertical\n", "1 line without a mark for any thruster, taken for off"},
	} {
		m, taken := proposed(t, c.text, otter, Options{})
		assert.Empty(t, taken.Problems, c.name)
		assert.Empty(t, taken.Asked, c.name)
		assert.Equal(t, c.want, rows(taken, "thrusters"), c.name)
		if c.remark != "" {
			assert.Contains(t, taken.Remarks, c.remark, c.name)
		}
		assert.Equal(t, "starboard", m.find("Stbd").Drive, c.name)
		assert.Equal(t, Likely, m.find("Stbd").Sure, c.name)
	}
}

// A column that tells all of them goes before, and one with readings in it is
// not of a thruster's switch.
func TestNoColumnForEachThruster(t *testing.T) {
	m, taken := proposed(t, "Dive;Date;Thrusters;Port;Battery (V)\n1;2026-05-02;port;x;12.6\n", otter, Options{})
	assert.Equal(t, "port\n", rows(taken, "thrusters"))
	assert.Equal(t, `"Thrusters" gives thrusters`, m.find("Port").Why)
	m, _ = proposed(t, "Dive;Date;Port;Battery (V)\n1;2026-05-02;4.3;12.6\n", otter, Options{})
	assert.Empty(t, m.find("Port").To)

	m, _ = proposed(t, "Dive;Date;Port;Battery (V)\n1;2026-05-02;x;12.6\n1;;perhaps;12.5\n", otter, Options{})
	assert.Empty(t, m.find("Port").To, "not proposed where a cell says something else")
}

// Dives counted from 1 again each year.
func TestLabelsThatBeginAnewEachYear(t *testing.T) {
	head := "Dive;Date;Battery (V)\n"
	old := "1;2024-05-02;12.6\n1;;12.5\n2;2024-06-02;12.6\n"
	young := "1;2025-04-02;12.4\n2;2025-05-02;12.5\n3;2025-06-02;12.5\n"
	want := "1|2024-05-02\n1|\n2|2024-06-02\n2025-1|2025-04-02\n2025-2|2025-05-02\n2025-3|2025-06-02\n"
	for _, text := range []string{old + young, young + old} {
		_, taken := proposed(t, head+text, otter, Options{})
		assert.Empty(t, taken.Problems)
		assert.Equal(t, want, rows(taken, "dive date"))
		assert.Contains(t, taken.Remarks, "labels of dives begin anew with a year, which those of the later ones are given: 2025-1")
	}
	_, taken := proposed(t, head+"1;2024-05-02;12.6\n1;2025-05-02;12.5\n", otter, Options{})
	require.Len(t, taken.Problems, 1, "one dive of two dates")
	assert.Contains(t, taken.Problems[0].Error(), "want one day a dive")

	log := logOf(t, "dive,date,battery_v\n1,2024-05-02,12.6\n1,,12.5\n2,2024-06-02,12.6\n2025-1,2025-04-02,12.4\n")
	_, taken = proposed(t, head+old+young, Known{Thrusters: otter.Thrusters, SD: otter.SD, Log: log, Columns: log.Columns}, Options{})
	assert.Empty(t, taken.Problems)
	assert.Len(t, taken.Skipped, 3, "known again under the labels that they were given")
	assert.Equal(t, "2025-2|2025-05-02\n2025-3|2025-06-02\n", rows(taken, "dive date"))
}
