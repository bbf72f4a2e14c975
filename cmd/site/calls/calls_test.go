package calls

import (
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/session"
)

// asked is a call's answer and files.
func asked[T any](t *testing.T, b *Logbook, call string, a Arguments, files ...string) (T, []string) {
	t.Helper()
	got, out, err := try[T](t, b, call, a, files...)
	require.Empty(t, err)
	return got, out
}

func try[T any](t *testing.T, b *Logbook, call string, a Arguments, files ...string) (T, []string, string) {
	t.Helper()
	text, err := json.Marshal(a)
	require.NoError(t, err)
	answer, out := b.Call(call, string(text), files...)
	var got struct {
		Value T
		Error string
	}
	require.NoError(t, json.Unmarshal([]byte(answer), &got), answer)
	return got.Value, out, got.Error
}

func file(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	return string(text)
}

// opened is an example as it is after its ranges are known.
func opened(t *testing.T, name string) (*Logbook, State) {
	t.Helper()
	b, folder := &Logbook{}, "../../../examples/"+name
	asked[State](t, b, "open", Arguments{Today: "2027-01-02"}, file(t, folder+"/vehicle.toml"), fewDives(t, folder+"/dives.csv"))
	s := expects(t, b)
	require.True(t, s.Expects)
	return b, s
}

// fewDives is a log's first six dives and its last three, which are fitted in a third of the time.
func fewDives(t *testing.T, path string) string {
	t.Helper()
	lines := strings.SplitAfter(file(t, path), "\n")
	dive := func(line string) int {
		n, _ := strconv.Atoi(line[:max(0, strings.IndexByte(line, ','))])
		return n
	}
	last := 0
	for _, line := range lines {
		last = max(last, dive(line))
	}
	return strings.Join(slices.DeleteFunc(lines, func(line string) bool { return dive(line) > 6 && dive(line) <= last-3 }), "")
}

// expects lets a logbook of its own find the ranges of one, as the page does.
func expects(t *testing.T, b *Logbook) State {
	t.Helper()
	judge := *b
	_, ranges, wrong := try[bool](t, &judge, "expect", Arguments{})
	s, _ := asked[State](t, b, "expected", Arguments{Wrong: wrong}, ranges...)
	return s
}

// A line that was kept before its ranges were known is judged once they are; it
// is not once it is changed.
func TestKeptBeforeItsRanges(t *testing.T) {
	b, folder := &Logbook{}, "../../../examples/joint"
	asked[State](t, b, "open", Arguments{Today: "2027-01-02"}, file(t, folder+"/vehicle.toml"), fewDives(t, folder+"/dives.csv"))
	keep := func(i int, volts string) State {
		_, files := asked[bool](t, b, "keep", Arguments{Line: i, Row: session.Row{"thrusters": "off", "battery_v": volts}}, b.bytes)
		s, _ := asked[State](t, b, "stands", Arguments{}, files[0])
		return s
	}
	judge := *b
	_, ranges := asked[bool](t, &judge, "expect", Arguments{})
	keep(0, "128")
	assert.Empty(t, keep(1, "12.8").Remarks)
	s, _ := asked[State](t, b, "expected", Arguments{}, ranges...)
	require.Len(t, s.Remarks, 1)
	assert.Contains(t, s.Remarks[0], "line 1 was kept before its ranges were known: battery_v 128, should be 12.8")
	assert.Empty(t, keep(0, "12.8").Remarks)
	other, _ := opened(t, "joint")
	other.dive.Put(0, b.dive.Rows...)
	want, _ := asked[Form](t, other, "line", Arguments{Line: 2})
	got, _ := asked[Form](t, b, "line", Arguments{Line: 2})
	assert.Equal(t, column(want, "battery_v").Should, column(got, "battery_v").Should, "the ranges are of the log as it was opened")
}

// So is it where the page was closed before they were known, on another day too;
// once it was shown and the next line is kept, it stands.
func TestKeptAndClosedBeforeItsRanges(t *testing.T) {
	folder := "../../../examples/joint"
	whole := file(t, folder+"/dives.csv")
	files := []string{whole[:strings.Index(whole, "\n7,")+1], ""} // six dives
	visit := func(day string) (*Logbook, State) {
		b := &Logbook{}
		s, _ := asked[State](t, b, "open", Arguments{Today: day}, file(t, folder+"/vehicle.toml"), files[0], files[1])
		return b, s
	}
	keep := func(b *Logbook, i int, volts string) {
		_, files = asked[bool](t, b, "keep", Arguments{Line: i, Row: session.Row{"thrusters": "off", "battery_v": volts}}, files...)
		asked[State](t, b, "stands", Arguments{}, files[0])
	}
	b, _ := visit("2027-01-02")
	keep(b, 0, "12.7")
	keep(b, 1, "128")
	b, s := visit("2027-01-02")
	assert.Empty(t, s.Remarks, "the ranges are not known yet")
	keep(b, 2, "12.8")
	b, s = visit("2027-01-05")
	assert.Equal(t, "8", s.Label)
	assert.Empty(t, s.Remarks)
	s = expects(t, b)
	require.Len(t, s.Remarks, 1)
	assert.Contains(t, s.Remarks[0], "line 2 of dive 7 was kept before its ranges were known: battery_v 128, should be 12.")
	b, s = visit("2027-01-05")
	assert.Equal(t, 1, len(expects(t, b).Remarks), "nothing was kept since")
	keep(b, 0, "12.8")
	b, _ = visit("2027-01-06")
	assert.Empty(t, expects(t, b).Remarks)
}

func TestNextDive(t *testing.T) {
	_, s := opened(t, "joint")
	assert.Equal(t, "31", s.Label)
	assert.Equal(t, "2027-01-02", s.Date)
	assert.False(t, s.Begun)
	assert.Empty(t, s.Problems)
}

// A log without days is written on without any, and a dive of it is begun without one.
func TestALogWithoutDays(t *testing.T) {
	b, log := &Logbook{}, "dive,thrusters,battery_v\n1,off,12.8\n"
	open := func() State {
		s, _ := asked[State](t, b, "open", Arguments{Today: "2027-01-02"}, file(t, "../../../examples/joint/vehicle.toml"), log)
		return s
	}
	keep := func(volts string) {
		_, files := asked[bool](t, b, "keep", Arguments{Line: 0, Row: session.Row{"thrusters": "off", "battery_v": volts}}, b.bytes)
		asked[State](t, b, "stands", Arguments{}, files[0])
		log = files[0]
	}
	s := open()
	assert.Equal(t, []string{"2", ""}, []string{s.Label, s.Date})
	assert.False(t, s.Dated)
	assert.Equal(t, []string{"dive 1 has no day, so the next line is taken for one of a new dive, 2; name dive 1 to go on with it"}, s.Remarks)
	assert.Empty(t, s.Problems)
	keep("12.7")
	s, _ = asked[State](t, b, "begin", Arguments{Label: "3"})
	assert.Equal(t, []string{"3", ""}, []string{s.Label, s.Date})
	_, _, err := try[State](t, b, "begin", Arguments{Label: "3", Date: "soon"})
	assert.NotEmpty(t, err)
	keep("12.6")
	assert.Equal(t, "dive,thrusters,battery_v\n1,off,12.8\n2,off,12.7\n3,off,12.6\n", log)
	s, _ = asked[State](t, b, "begin", Arguments{Label: "1"})
	assert.True(t, s.Begun)
	assert.Empty(t, s.Date)
	s, _ = asked[State](t, b, "begin", Arguments{Label: "4", Date: "2027-01-02"})
	assert.Equal(t, "2027-01-02", s.Date, "given by the person")
	keep("12.5")
	assert.Contains(t, log, "dive,thrusters,battery_v,date\n")
	assert.Contains(t, log, "4,off,12.5,2027-01-02\n")

	_, s = opened(t, "joint")
	assert.True(t, s.Dated)
	b, _ = opened(t, "joint")
	_, _, err = try[State](t, b, "begin", Arguments{Label: "32"})
	assert.Equal(t, "want a label and a day as 2026-05-31", err)
}

func column(f Form, name string) *Field {
	for i := range f.Fields {
		if f.Fields[i].Column == name {
			return &f.Fields[i]
		}
	}
	return nil
}

// A line's form asks for what makes sense on it, each reading with its range.
func TestForm(t *testing.T) {
	b, _ := opened(t, "joint")
	f, _ := asked[Form](t, b, "line", Arguments{Line: 0})
	assert.Equal(t, "off", f.Row["thrusters"], "what a dive begins with")
	require.NotNil(t, column(f, "battery_v"))
	assert.Regexp(t, `^12\.\d ± 0\.\d+$`, column(f, "battery_v").Should)
	assert.Equal(t, "battery voltage", column(f, "battery_v").Words)
	assert.Equal(t, "signed", column(f, "trim_g").Kind)
	assert.Nil(t, column(f, "current_a"), "nothing to read with all off")
	f, _ = asked[Form](t, b, "line", Arguments{Line: 0, Row: session.Row{"thrusters": "port+starboard"}})
	require.NotNil(t, column(f, "current_a"))
	assert.NotEmpty(t, column(f, "current_a").Should)
	assert.Nil(t, column(f, "trim_g"))
	assert.Contains(t, column(f, "thrusters").Choices, "port + starboard")
	assert.Contains(t, column(f, "serviced").Choices, "joint")
	f, _ = asked[Form](t, b, "line", Arguments{Line: 0, All: true, Row: session.Row{"thrusters": "off"}})
	assert.NotNil(t, column(f, "note"))
	_, _, err := try[Form](t, b, "line", Arguments{Line: 1})
	assert.Equal(t, "line 2: the dive has 0", err)
}

// What cannot stand is a problem, what is odd a doubt with what was meant.
func TestProblemsAndDoubts(t *testing.T) {
	b, _ := opened(t, "joint")
	for name, c := range map[string]struct {
		row            session.Row
		problem, doubt string
		instead        session.Row
	}{
		"as it should be": {row: session.Row{"thrusters": "off", "battery_v": "12,8 V"}},
		"no number":       {row: session.Row{"thrusters": "off", "battery_v": "full"}, problem: `battery_v: found "full", want a number in V`},
		"no thruster":     {row: session.Row{"thrusters": "sideways"}, problem: `thrusters: found "sideways", want port, starboard, vertical or off`},
		"half a run":      {row: session.Row{"thrusters": "port + starboard", "run_back_s": "20"}, problem: "want both"},
		"a decimal point": {row: session.Row{"thrusters": "off", "battery_v": "128"}, doubt: "battery_v 128, should be 12.8", instead: session.Row{"battery_v": "12.8"}},
		"a service": {row: session.Row{"thrusters": "off", "note": "cleaned the joint"}, doubt: "the note says joint: worked on before this line?",
			instead: session.Row{"serviced": "joint"}},
	} {
		t.Run(name, func(t *testing.T) {
			f, _ := asked[Form](t, b, "line", Arguments{Line: 0, Row: c.row})
			if c.problem != "" {
				assert.Contains(t, f.Problem, c.problem)
				_, _, err := try[bool](t, b, "keep", Arguments{Line: 0, Row: c.row}, b.bytes)
				assert.NotEmpty(t, err, "and it is not kept")
				return
			}
			assert.Empty(t, f.Problem)
			if c.doubt == "" {
				assert.Empty(t, f.Doubts)
				return
			}
			require.Len(t, f.Doubts, 1)
			assert.Contains(t, f.Doubts[0].Text, c.doubt)
			assert.Equal(t, c.instead, f.Doubts[0].Instead)
		})
	}
}

// keep changes nothing until the page says that the bytes stand; then the line
// is there, and may be changed.
// What a log has of the weather in columns of its own is asked for on a dive's first
// line, and kept.
func TestOwnColumns(t *testing.T) {
	b := &Logbook{}
	const log = "dive,date,thrusters,battery_v,wind\n1,2026-05-01,off,12.7,NW 3\n1,,off,12.7,\n"
	asked[State](t, b, "open", Arguments{Today: "2026-05-09"}, file(t, "../../../examples/joint/vehicle.toml"), log)
	row := session.Row{"thrusters": "off", "battery_v": "12.7", "wind": "SE 4"}
	form, _ := asked[Form](t, b, "line", Arguments{Row: row})
	var columns []string
	for _, f := range form.Fields {
		columns = append(columns, f.Column)
	}
	assert.Contains(t, columns, "wind")
	_, files := asked[bool](t, b, "keep", Arguments{Row: row}, log, "")
	assert.Equal(t, log+"2,2026-05-09,off,12.7,SE 4\n", files[0])
	state, _ := asked[State](t, b, "open", Arguments{Today: "2026-05-09"}, file(t, "../../../examples/joint/vehicle.toml"), files[0])
	assert.Contains(t, state.Lines[0], Cell{"wind", "SE 4"})
}

func TestKeep(t *testing.T) {
	b, _ := opened(t, "joint")
	before := b.bytes
	row := session.Row{"thrusters": "off", "battery_v": "12,8"}
	_, files := asked[bool](t, b, "keep", Arguments{Line: 0, Row: row}, before)
	assert.Equal(t, before, b.bytes)
	assert.Empty(t, b.dive.Rows)
	s, _ := asked[State](t, b, "stands", Arguments{}, files[0])
	assert.Equal(t, [][]Cell{{{"thrusters", "off"}, {"battery_v", "12.8"}}}, s.Lines)
	assert.True(t, s.Expects, "the ranges stay")
	assert.Equal(t, []Cell{{"thrusters", "off"}, {"battery_v", "12.8"}}, s.Lines[0])
	f, _ := asked[Form](t, b, "line", Arguments{Line: 0})
	assert.Equal(t, "12.8", f.Row["battery_v"], "a kept line as it stands")
	_, again := asked[bool](t, b, "keep", Arguments{Line: 0, Row: session.Row{"thrusters": "off", "battery_v": "12.75"}}, files[0])
	assert.True(t, again[0] == before+"31,2027-01-02,,off,,12.75,,,,,,,,,,,,\n", "changed in its place")
	_, _, err := try[bool](t, b, "keep", Arguments{Line: 0, Row: row}, again[0])
	assert.Equal(t, errChanged.Error(), err, "another tab has changed the dive")
	_, _, err = try[bool](t, b, "keep", Arguments{Line: 1, Row: session.Row{"thrusters": "off"}}, files[0])
	assert.Equal(t, "nothing was read on this line; it is not kept", err)
}

// A line that was there before leaves the old one above as a comment, as amend
// does; another unit or a cell that is emptied goes.
func TestAmend(t *testing.T) {
	b, _ := opened(t, "joint")
	asked[State](t, b, "begin", Arguments{Label: "30", Date: "2025-09-24"})
	f, _ := asked[Form](t, b, "line", Arguments{Line: 0})
	require.Equal(t, "12.74", f.Row["battery_v"])
	f.Row["battery_v"] = "12.76"
	delete(f.Row, "water_c")
	_, files := asked[bool](t, b, "keep", Arguments{Line: 0, Row: f.Row}, b.bytes)
	const old = "30,2025-09-24,2,off,,12.74,,,0,4,,,,,14.5,0,,\n"
	require.Contains(t, b.bytes, old)
	assert.True(t, files[0] == strings.Replace(b.bytes, old, "# 2027-01-02 changed, was: "+old+"30,2025-09-24,2,off,,12.76,,,0,4,,,,,,0,,\n", 1))
}

// A line that is struck is a comment, as amend makes it; what holds for later
// lines goes on to the next.
func TestStrike(t *testing.T) {
	const head, one, two = "dive,date,thrusters,battery_v,water_c\n", "1,2026-05-01,off,12.7,14\n", "1,,port,12.1,\n"
	b := &Logbook{}
	asked[State](t, b, "open", Arguments{Today: "2027-01-02"}, file(t, "../../../examples/sound/vehicle.toml"), head+one+two)
	asked[State](t, b, "begin", Arguments{Label: "1", Date: "2026-05-01"})
	_, files := asked[bool](t, b, "strike", Arguments{Line: 0}, head+one+two)
	assert.Equal(t, head+one+two, b.bytes, "nothing until the page says that the bytes stand")
	assert.Equal(t, head+"# 2027-01-02 struck, was: "+one+"1,2026-05-01,port,12.1,14\n", files[0])
	s, _ := asked[State](t, b, "stands", Arguments{}, files[0])
	assert.Len(t, s.Lines, 1)
	for name, c := range map[string]struct {
		line int
		file string
	}{"another tab has changed the dive": {0, head + one + two}, "no such line": {1, files[0]}, "before the first": {-1, files[0]}} {
		_, _, err := try[bool](t, b, "strike", Arguments{Line: c.line}, c.file)
		assert.NotEmpty(t, err, name)
	}
	_, files = asked[bool](t, b, "strike", Arguments{Line: 0}, files[0])
	s, _ = asked[State](t, b, "stands", Arguments{}, files[0])
	assert.False(t, s.Begun, "the dive has no line any more")
}

func TestAfter(t *testing.T) {
	b, _ := opened(t, "joint")
	_, _, err := try[After](t, b, "after", Arguments{Label: "31"})
	assert.Equal(t, "the dive has no line yet", err)
	a, _ := asked[After](t, b, "after", Arguments{Label: "30"})
	assert.NotEmpty(t, a.Says)
	assert.Contains(t, a.Says, "water taken in")
	assert.NotEmpty(t, a.Check)
}

// A reading that was kept and is far too low says stop until the dive is done:
// then it is set aside as a slip, as check has it.
func TestASlipSaysNoStop(t *testing.T) {
	b, _ := opened(t, "joint")
	var s State
	for i, volts := range []string{"12.78", "1.235", "12.34"} {
		row := session.Row{"thrusters": "port + starboard", "battery_v": volts}
		if i == 0 {
			row["thrusters"] = "off"
		}
		_, files := asked[bool](t, b, "keep", Arguments{Line: i, Row: row}, b.bytes)
		s, _ = asked[State](t, b, "stands", Arguments{}, files[0])
	}
	require.Len(t, s.Mind, 1)
	a, _ := asked[After](t, b, "after", Arguments{Label: "31"})
	assert.Empty(t, a.Mind)
	s, _ = asked[State](t, b, "begin", Arguments{Label: "31", Date: "2027-01-02"})
	assert.Empty(t, s.Mind)
}

// What drifts is said as the trend command says it.
func TestTrend(t *testing.T) {
	b, _ := opened(t, "joint")
	tr, _ := asked[Trend](t, b, "trend", Arguments{})
	require.NotEmpty(t, tr.Findings)
	assert.Contains(t, tr.Findings[0][len(tr.Findings[0])-1], "next: ")
	assert.NotEmpty(t, tr.Alarms)
	assert.LessOrEqual(t, len(tr.Next), nextReadings)
	require.NotEmpty(t, tr.Next)
	assert.Contains(t, tr.Next[0], "which should be")
	for _, row := range tr.Rows {
		assert.Len(t, row, len(tr.Head))
	}
	b, _ = opened(t, "sound")
	tr, _ = asked[Trend](t, b, "trend", Arguments{})
	assert.Empty(t, tr.Findings)
	assert.NotEmpty(t, tr.Verdict)
}

// Copies are merged as session merges them; a vehicle.toml must be of the same
// vehicle.
func TestMerge(t *testing.T) {
	const head, one, two = "dive,date,thrusters,battery_v\n", "1,2026-05-01,off,12.7\n", "2,2026-05-02,off,12.6\n"
	b, vehicle := &Logbook{}, file(t, "../../../examples/sound/vehicle.toml")
	asked[State](t, b, "open", Arguments{Today: "2027-01-02"}, vehicle, head+one)
	m, files := asked[session.Merge](t, b, "merge", Arguments{}, head+one, head+one+two, head+one, vehicle)
	assert.Equal(t, session.Merge{Added: []string{"dive 2: 1 line of here"}, Conflicts: []string{}}, m)
	assert.Equal(t, []string{head + one + two}, files)
	m, files = asked[session.Merge](t, b, "merge", Arguments{}, head+one, head+strings.Replace(one, "12.7", "12.8", 1), head+strings.Replace(one, "12.7", "12.9", 1))
	assert.Len(t, m.Conflicts, 1)
	assert.Empty(t, files)
	_, _, err := try[session.Merge](t, b, "merge", Arguments{}, head, head, head, strings.Replace(vehicle, `name = "`, `name = "Other `, 1))
	assert.Contains(t, err, "vehicle.toml is of \"Other ")
}

func TestBegin(t *testing.T) {
	b, _ := opened(t, "joint")
	s, _ := asked[State](t, b, "begin", Arguments{Label: "pool", Date: "2027-01-03"})
	assert.Equal(t, "pool", s.Label)
	_, files := asked[bool](t, b, "keep", Arguments{Line: 0, Row: session.Row{"thrusters": "off", "battery_v": "12.8"}}, b.bytes)
	assert.Contains(t, files[0], "\npool,2027-01-03,")
	for _, a := range []Arguments{{Label: "", Date: "2027-01-03"}, {Label: "x", Date: "tomorrow"}} {
		_, _, err := try[State](t, b, "begin", a)
		assert.NotEmpty(t, err)
	}
}

func TestMake(t *testing.T) {
	b := &Logbook{}
	questions, _ := asked[[]Question](t, b, "ask", Arguments{})
	require.NotEmpty(t, questions)
	answers := map[string]string{"name": "Otter", "battery.nominal_v": "12", "tether.length_m": "66 ft", "size": "fat", "surge": "port + starboard", "meters": "voltmeter"}
	got, files := asked[[]Question](t, b, "make", Arguments{Answers: answers})
	require.Empty(t, files)
	for _, q := range got {
		assert.Equal(t, q.ID == "size", q.Problem != "", q.ID)
	}
	answers["size"] = "2.5 mm2"
	name, files := asked[string](t, b, "make", Arguments{Answers: answers})
	assert.Equal(t, "Otter", name)
	s, _ := asked[State](t, b, "open", Arguments{Today: "2027-01-02"}, files...)
	assert.Empty(t, s.Problems)
	assert.Equal(t, "dive,date,minute,thrusters,held,battery_v,serviced,note\n", files[1])
}

// No file that anyone may bring is a defect of ours; a log that can be written
// into is, with its problems said.
func TestHostileFiles(t *testing.T) {
	const folder = "../../sagline/testdata/hostile"
	sound := [2]string{file(t, "../../../examples/sound/vehicle.toml"), file(t, "../../../examples/sound/dives.csv")}
	for k, kind := range []string{"vehicle", "dives"} {
		list, err := filepath.Glob(filepath.Join(folder, kind, "*.*"))
		require.NoError(t, err)
		require.NotEmpty(t, list)
		for _, path := range list {
			t.Run(filepath.Base(path), func(t *testing.T) {
				files := sound
				files[k] = file(t, path)
				b := &Logbook{}
				_, _, said := try[State](t, b, "open", Arguments{Today: "2027-01-02"}, files[:]...)
				assert.NotContains(t, said, "defect")
				if said != "" {
					return
				}
				s := expects(t, b)
				assert.True(t, s.Expects || len(s.Problems) > 0, "ranges, or why there are none")
				asked[Form](t, b, "line", Arguments{Line: len(s.Lines)})
				_, _, said = try[bool](t, b, "keep", Arguments{Line: len(s.Lines), Row: session.Row{"note": "calm"}}, files[1])
				assert.NotContains(t, said, "defect")
			})
		}
	}
}

// What comes over from the page is as little trusted as a file.
func FuzzCall(f *testing.F) {
	f.Add("line", `{"Line":0,"Row":{"thrusters":"off","battery_v":"12,8"}}`)
	f.Add("keep", `{"Line":-1,"Row":{"nothing":""}}`)
	f.Add("strike", `{"Line":1}`)
	f.Add("card", `{"Row":{"depth_m":"1e308","water_c":"-0"}}`)
	f.Add("begin", `{"Label":"\u202e","Date":"2027-01-03"}`)
	f.Add("make", `{"Answers":{"surge":"+"}}`)
	f.Fuzz(func(t *testing.T, call, arguments string) {
		b := &Logbook{}
		b.Call("open", `{"Today":"2027-01-02"}`, file(t, "../../../examples/sound/vehicle.toml"), "dive,date,thrusters,battery_v\n1,2026-05-01,off,12.7\n")
		answer, _ := b.Call(call, arguments, b.bytes)
		assert.NotContains(t, answer, "defect")
		assert.True(t, json.Valid([]byte(answer)))
	})
}

// Before there is a logbook a line is asked for as the first of a log with the
// usual instruments; its cells are checked, nothing is expected of them.
func TestEarly(t *testing.T) {
	b := &Logbook{}
	columns := func(f Form) (out []string) {
		for _, c := range f.Fields {
			out = append(out, c.Column)
		}
		return out
	}
	f, _ := asked[Form](t, b, "early", Arguments{})
	assert.Equal(t, []string{"serviced", "minute", "thrusters", "battery_v", "note"}, columns(f))
	assert.Equal(t, session.Row{"thrusters": "off"}, f.Row)
	f, _ = asked[Form](t, b, "line", Arguments{Row: session.Row{"thrusters": "left + right", "battery_v": "12x"}})
	assert.Equal(t, []string{"serviced", "minute", "thrusters", "held", "battery_v", "current_a", "run_m", "run_s", "note"}, columns(f))
	assert.Equal(t, `battery_v: found "12x", want a number in V`, f.Problem)
	f, _ = asked[Form](t, b, "line", Arguments{Row: session.Row{"thrusters": "left + right", "battery_v": "128"}})
	assert.Empty(t, f.Problem)
	assert.Empty(t, f.Doubts)
}
