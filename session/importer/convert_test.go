package importer

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/session"
	"sagline/session/spreadsheet"
	"sagline/session/wording"
)

// otter is known by its thrusters' names alone.
var otter = Known{Thrusters: []string{"port", "starboard", "vertical"}, Log: &session.Log{}, Judge: func(session.Row) map[string]bool { return nil }}

// proposed takes a text in by the mapping that is proposed for it.
func proposed(t *testing.T, text string, k Known) (*Mapping, *Result) {
	t.Helper()
	s, err := spreadsheet.Open(strings.NewReader(text), "old.csv")
	require.NoError(t, err)
	m := Propose(s, k)
	return m, Convert(s, m, k, nil)
}

// rows are the taken lines' cells of some columns, a line each.
func rows(taken *Result, columns string) string {
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

func asked(taken *Result) (out []string) {
	for _, q := range taken.Asked {
		out = append(out, q.Text)
	}
	return out
}

func logOf(t *testing.T, text string) *session.Log {
	t.Helper()
	log, err := session.Read(strings.NewReader(text), "dives.csv")
	require.NoError(t, err)
	return log
}

const german = "Vereinslog (simuliert)\n\nTG Nr;Datum;Uhrzeit;Motoren;Akku (V);Strom [mA];Tiefe (cm);Notiz;Anmerkung\n" +
	"7;3.4.2026;14:05;aus;12,80;-;0;ruhig;\n;;14:07;links + rechts;12,31;8600;150;;\"mit \"\"Ruck\"\"\"\n8;10.4.2026;9:30;hinten rückwärts;1.012,4;n/a;;;\n;;;;;;;;\n"

// A cell with the other decimal mark is read where it is a number by that alone; one
// that could be thousands stays as the file has its numbers.
func TestMixedDecimalMarks(t *testing.T) {
	_, taken := proposed(t, "Dive;Date;Battery [V];Current [mA]\n1;2026-05-01;12,8;100,5\n1;;12.61;1.200\n1;;12,4;80.5\n", otter)
	assert.Equal(t, "12.8|0.1005\n12.61|1.2\n12.4|0.0805\n", rows(taken, "battery_v current_a"))
}

func TestASpreadsheetInGerman(t *testing.T) {
	m, taken := proposed(t, strings.Replace(german, "1.012,4", "12,4", 1), otter)
	assert.Equal(t, ByColumn, m.Dives)
	assert.Equal(t, wording.DayFirst, m.Date)
	assert.Equal(t, ",", m.Decimal)
	assert.Equal(t, map[string]string{"links": "port", "rechts": "starboard", "hinten": Asked}, m.Thrusters)
	assert.Equal(t, []string{`thruster "hinten": which is it? (the vehicle has port, starboard, vertical; off where none ran)`}, asked(taken))

	m.Thrusters["hinten"] = "vertical"
	s, err := spreadsheet.Open(strings.NewReader(strings.Replace(german, "1.012,4", "12,4", 1)), "old.csv")
	require.NoError(t, err)
	m.Adapt(s, otter)
	assert.Len(t, m.Columns, 9)
	taken = Convert(s, m, otter, nil)
	assert.Empty(t, taken.Problems)
	assert.Empty(t, taken.Asked)
	assert.Equal(t, `7|2026-04-03|14:05|off|12.80||0|ruhig
7||14:07|port + starboard|12.31|8.6|1.5|mit "Ruck"
8|2026-04-10|09:30|vertical astern|12.4|||
`, strings.ReplaceAll(rows(taken, "dive date time thrusters battery_v current_a depth_m note"), "Anmerkung: ", ""))
	assert.Equal(t, []int{4, 5, 6}, []int{taken.Lines[0].Number, taken.Lines[1].Number, taken.Lines[2].Number})
}

// What cannot be read is kept in the note and remarked on with its place; what
// keeps lines from being a log is a problem.
func TestWhatCannotBeRead(t *testing.T) {
	_, taken := proposed(t, "Dive;Date;Battery (V);Held\n1;2026-05-02;12.3;\n1;;twelve;x\n1;;-3;perhaps\n1;;12.1;no\n2;2026-05-31;12.2;no\n1;2026-06-01;12;x\n", otter)
	var got []string
	for _, p := range taken.Problems {
		got = append(got, p.Error())
	}
	assert.Equal(t, []string{`old.csv:7: column "Date": found 2026-06-01 within a dive of 2026-05-02, want one day a dive`}, got)
	assert.Equal(t, []string{`2 cells under "Battery (V)" kept in the note, such as line 3: found "twelve", want a number in V`,
		`1 cell under "Held" kept in the note, such as line 4: found "perhaps", want one of the words under yes or no: yes y on true 1 x ✓ ja an oui si sí; no n off false 0 nein aus non nee uit`}, taken.Remarks)
	assert.Equal(t, "12.3|\n|Battery (V): twelve\n|Held: perhaps; Battery (V): -3\n12.1|\n12|\n12.2|\n", rows(taken, "battery_v note"))
	assert.Equal(t, spreadsheet.Account{Cells: 24, Headings: 4, Taken: 17, Noted: 3, Left: map[string]int{}}, taken.Account)
}

// A heading that most cells do not fit is asked about, and a mapping that says
// so all the same has problems, each with its place.
func TestMostCellsDoNotFit(t *testing.T) {
	text := "Date;Battery (V)\n2026-05-02;many\n;few\n;some\n;12\n"
	_, taken := proposed(t, text, otter)
	assert.Equal(t, []string{`"Battery (V)": as battery_v most readings are far from what this vehicle has; or is it note or battery_v?`}, asked(taken))
	s, err := spreadsheet.Open(strings.NewReader(text), "old.csv")
	require.NoError(t, err)
	m, err := ReadMapping([]byte("dives = \"date\"\n[[column]]\nheading = \"Battery (V)\"\nto = \"battery_v\"\n"), "import.toml")
	require.NoError(t, err)
	m.Adapt(s, otter)
	taken = Convert(s, m, otter, nil)
	require.Len(t, taken.Problems, 3)
	assert.Equal(t, `old.csv:3: column "Battery (V)": found "few", want a number in V`, taken.Problems[1].Error())
}

// Where the time of a run is asked about, its length and the way back are not said to be far off.
func TestRunIsNotWeighedWithoutItsTime(t *testing.T) {
	m, taken := proposed(t, "Dive;Date;Thrusters;Strecke cm;Zeit s;Zeit zurück s\n1;2026-05-02;aus;;;\n1;;port+starboard;800;18,5;19,1\n2;2026-05-09;port+starboard;800;18,2;18,9\n3;2026-05-16;port+starboard;800;-;19\n", otter)
	assert.Equal(t, []string{`"Zeit s": time of a run, or since the dive began: run_s or minute in s?`}, asked(taken))
	assert.Equal(t, "run_m in cm", m.Columns[3].To)
	assert.Equal(t, "run_back_s", m.Columns[5].To)
}

func TestAmbiguousDatesAreAsked(t *testing.T) {
	_, taken := proposed(t, "Dive,Date,Battery (V)\n1,3/4/2026,12.3\n2,5/6/2026,12.4\n", otter)
	assert.Equal(t, []string{`dates such as "3/4/2026": "day.month.year" or "month/day/year"?`}, asked(taken))
	assert.Empty(t, taken.Problems)
}

// Dives that the log has are left out; others are told apart or refused.
func TestTheSameFileTwice(t *testing.T) {
	text := "Dive,Date,Battery (V)\n1,2026-05-02,12.3\n2,2026-05-09,12.4\n"
	k := otter
	k.Log = logOf(t, "dive,date,battery_v\n1,2026-05-02,12.3\n")
	_, taken := proposed(t, text, k)
	assert.Equal(t, []string{"1 (2026-05-02)"}, taken.Skipped)
	assert.Equal(t, "2|2026-05-09|12.4\n", rows(taken, "dive date battery_v"))

	k.Log = logOf(t, "dive,date,battery_v\n1,2026-05-02,12.3\n2,2026-05-09,12.4\n")
	_, taken = proposed(t, text, k)
	assert.Empty(t, taken.Lines)
	assert.Len(t, taken.Skipped, 2)

	k.Log = logOf(t, "dive,date,battery_v\n1,2026-04-02,12.9\n")
	_, taken = proposed(t, text, k)
	require.Len(t, taken.Problems, 1)
	assert.Contains(t, taken.Problems[0].Error(), `old.csv:2: dive "1" is another dive in the log, of 2026-04-02; dives = "date"`)
	k.Log = logOf(t, "dive,date,battery_v\n9,2026-06-02,12.9\n")
	_, taken = proposed(t, text, k)
	require.Len(t, taken.Problems, 1)
	assert.Contains(t, taken.Problems[0].Error(), "old.csv:2: dive of 2026-05-02 is before the log's newest, 2026-06-02")
}

// Without a column for it, each date is a dive, under the next free numbers;
// newest first is put in order.
func TestDivesByDate(t *testing.T) {
	k := otter
	k.Log = logOf(t, "dive,date,battery_v\n4,2026-01-02,12.9\n")
	_, taken := proposed(t, "Date,Battery (V),Speed\n2026-05-09,12.4,0.3 m/s\n2026-05-02,12.3,2 kn\n2026-05-02,12.2,\n", k)
	assert.Empty(t, taken.Problems)
	assert.Equal(t, "5|2026-05-02|12.3|1.028889\n5||12.2|\n6|2026-05-09|12.4|0.3\n", rows(taken, "dive date battery_v speed_m_s"))
	assert.Contains(t, taken.Remarks, "dives put in order of their dates")
}

// Where dives are told apart by their dates, and a label is that of another day's
// in the log or in the file, all are numbered anew.
func TestALabelOfAnotherDive(t *testing.T) {
	k := otter
	k.Log = logOf(t, "dive,date,battery_v\n1,2026-04-02,12.9\n3,2026-04-09,12.9\n")
	s := source(t, "Dive,Date,Battery (V)\n3,2026-04-09,12.9\n1,2026-05-02,12.3\n1,2026-05-09,12.4\n5,2026-05-16,12.4\n,2026-05-23,12.4\n")
	m := Propose(s, k)
	m.Dives = ByDate
	taken := Convert(s, m, k, nil)
	assert.Empty(t, taken.Problems)
	assert.Equal(t, []string{"3 (2026-04-09)"}, taken.Skipped)
	assert.Equal(t, "4|2026-05-02\n5|2026-05-09\n6|2026-05-16\n7|2026-05-23\n", rows(taken, "dive date"))

	k.Log = logOf(t, "dive,date,battery_v\n1,2026-04-02,12.9\n")
	s = source(t, "Dive,Date,Battery (V)\n7,2026-05-02,12.3\n9,2026-05-09,12.4\n")
	m = Propose(s, k)
	m.Dives = ByDate
	assert.Equal(t, "7|2026-05-02\n9|2026-05-09\n", rows(Convert(s, m, k, nil), "dive date"), "none is another's")

	k.Log = logOf(t, "dive,date,battery_v\n99999999999999999999,2026-04-02,12.9\n")
	_, taken = proposed(t, "Date,Battery (V)\n2026-05-02,12.3\n", k)
	assert.Equal(t, "1|2026-05-02\n", rows(taken, "dive date"), "no number goes on from that")
	_, taken = proposed(t, "Dive,Date,Battery (V)\n,2026-05-02,12.3\n1,2026-05-09,12.4\n", otter)
	assert.Equal(t, "2|2026-05-02\n1|2026-05-09\n", rows(taken, "dive date"))
}

func TestServicesAreFoundInFreeText(t *testing.T) {
	_, taken := proposed(t, "Dive,Date,Repairs,Battery (V)\n1,2026-05-02,re-made the splice and new o-ring,12.3\n2,2026-05-03,battery,12.3\n3,2026-05-04,painted,12.4\n4,2026-05-05,✓,12.4\n", otter)
	assert.Equal(t, "joint+seal|serviced: re-made the splice and new o-ring\nbattery|\n|serviced: painted\n|serviced: ✓\n", rows(taken, "serviced note"))
}

func TestADateIsAskedFor(t *testing.T) {
	text := "time (s),Volts,Amps\n0,12.5,0.1\n60,12.4,8\n"
	_, taken := proposed(t, text, otter)
	assert.Equal(t, []string{"no date in the file: which day was it? \"\" for unknown; without a terminal: --cell date=2026-05-31"}, asked(taken))
	s, err := spreadsheet.Open(strings.NewReader(text), "old.csv")
	require.NoError(t, err)
	given := session.Row{}
	q := Convert(s, Propose(s, otter), otter, given).Asked[0]
	require.ErrorContains(t, q.Answer("soon"), `found "soon", want a day as 2026-05-31`)
	require.NoError(t, q.Answer("31 May 2026"))
	assert.Equal(t, session.Row{"date": "2026-05-31"}, given)
	taken = Convert(s, Propose(s, otter), otter, given)
	assert.Empty(t, taken.Problems)
	assert.Equal(t, "1|2026-05-31|0|12.5\n1||1|12.4\n", rows(taken, "dive date minute battery_v"))
	given = session.Row{}
	require.NoError(t, Convert(s, Propose(s, otter), otter, given).Asked[0].Answer(""))
	taken = Convert(s, Propose(s, otter), otter, given)
	assert.Empty(t, taken.Asked)
	assert.Empty(t, taken.Problems)
	assert.Equal(t, "1||0|12.5\n1||1|12.4\n", rows(taken, "dive date minute battery_v"))
}

// A day that is not known is not asked for where the log keeps none, and a dive
// that the log has is known by its label, else by its lines. Days tell dives apart
// where labels do not.
func TestDaysThatAreNotKnown(t *testing.T) {
	const bare, labelled, dated = "time (s),Volts,Amps\n0,12.5,0.1\n60,12.4,8\n", "Dive,Volts\n1,12.5\n2,12.4\n", "Dive,Date,Volts\n1,,12.5\n2,2026-05-02,12.4\n"
	for _, c := range []struct{ what, log, text, want, skipped, problem string }{
		{"no labels", "dive,minute,battery_v,current_a\n", bare, "1||12.5\n1||12.4\n", "", ""},
		{"the same lines", "dive,minute,battery_v,current_a\n7,0,12.5,0.1\n7,1,12.4,8\n", bare, "", "7", ""},
		{"other lines", "dive,minute,battery_v,current_a\n7,0,12.5,0.1\n7,1,12.3,8\n", bare, "8||12.5\n8||12.4\n", "", ""},
		{"labels", "dive,battery_v\n1,12.5\n", labelled, "2||12.4\n", "1", ""},
		{"a day in the log alone", "dive,date,battery_v\n1,2026-05-01,12.5\n", dated, "2|2026-05-02|12.4\n", "1 (2026-05-01)", ""},
		{"a day in the sheet alone", "dive,battery_v\n1,12.5\n2,12.4\n", dated, "", "1 2", ""},
		{"days and no labels", "dive,battery_v\n", "Date,Volts\n,12.5\n2026-05-02,12.4\n", "1||12.5\n2|2026-05-02|12.4\n", "",
			`old.csv:2: column "Date": empty, want it on a dive's first line: dives are told apart by their days`},
	} {
		known := otter
		known.Log = logOf(t, c.log)
		_, taken := proposed(t, c.text, known)
		assert.Empty(t, taken.Asked, c.what)
		assert.Equal(t, c.want, rows(taken, "dive date battery_v"), c.what)
		assert.Equal(t, c.skipped, strings.Join(taken.Skipped, " "), c.what)
		problems := ""
		for _, p := range taken.Problems {
			problems += p.Error()
		}
		assert.Equal(t, c.problem, problems, c.what)
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
		m, taken := proposed(t, c.text, otter)
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

// Of two columns for one thruster a person says which; the mapping with the
// question reads back, and so does that with the answer.
func TestTwoColumnsForOneThruster(t *testing.T) {
	s := source(t, "Dive;Date;Port;Left motor;Battery (V)\n1;2026-05-02;;x;12.6\n1;;;;12.8\n")
	m := Propose(s, otter)
	for _, answer := range []string{"thrusters", "note"} {
		text, err := m.Text()
		require.NoError(t, err)
		_, err = ReadMapping(text, "import.toml")
		require.NoError(t, err)
		taken := Convert(s, m, otter, nil)
		q := taken.Asked[slices.IndexFunc(taken.Asked, func(q Question) bool { return strings.Contains(q.Text, `"Left motor":`) == (answer == "thrusters") })]
		require.NoError(t, q.Answer(answer))
	}
	taken := Convert(s, m, otter, nil)
	assert.Empty(t, taken.Asked)
	assert.Equal(t, "port\noff\n", rows(taken, "thrusters"))
	assert.Empty(t, m.find("Port").Drive)
	text, err := m.Text()
	require.NoError(t, err)
	again, err := ReadMapping(text, "import.toml")
	require.NoError(t, err)
	assert.Equal(t, "port", again.find("Left motor").Drive)
}

// A column that tells all of them goes before, and one with readings in it is
// not of a thruster's switch.
func TestNoColumnForEachThruster(t *testing.T) {
	m, taken := proposed(t, "Dive;Date;Thrusters;Port;Battery (V)\n1;2026-05-02;port;x;12.6\n", otter)
	assert.Equal(t, "port\n", rows(taken, "thrusters"))
	assert.Equal(t, `"Thrusters" gives thrusters`, m.find("Port").Why)
	m, _ = proposed(t, "Dive;Date;Port;Battery (V)\n1;2026-05-02;4.3;12.6\n", otter)
	assert.Equal(t, "note", m.find("Port").To)

	m, _ = proposed(t, "Dive;Date;Port;Battery (V)\n1;2026-05-02;x;12.6\n1;;perhaps;12.5\n", otter)
	assert.Equal(t, "note", m.find("Port").To, "not proposed where a cell says something else")
}

func source(t *testing.T, text string) *spreadsheet.Sheet {
	t.Helper()
	s, err := spreadsheet.Open(strings.NewReader(text), "old.csv")
	require.NoError(t, err)
	return s
}

// A sheet that grew gives its new dives; what differs in old ones is said.
func TestASheetThatGrew(t *testing.T) {
	k := otter
	k.Log = logOf(t, "dive,date,battery_v,depth_ft,serviced,note\n1,2026-05-02,12.3,10,seal,x\n1,,12.2,,,\n")
	_, taken := proposed(t, "Dive,Date,Battery (V),Depth (m),Remarks\n1,2026-05-02,12.3,3.048,y\n1,,12.1,,\n1,,12,,\n2,2026-05-09,12.4,,\n", k)
	assert.Equal(t, "2|2026-05-09|12.4\n", rows(taken, "dive date battery_v"))
	assert.Equal(t, []string{`dive 1 (2026-05-02) has 3 lines here, 2 in the log`, `dive 1 (2026-05-02), line 2: serviced is "", "seal" in the log`,
		`dive 1 (2026-05-02), line 2: note is "y", "x" in the log`, `dive 1 (2026-05-02), line 3: battery_v is "12.1", "12.2" in the log`}, taken.Changed)
	assert.Equal(t, 9, taken.Account.Left["of dives that the log has"])
}
