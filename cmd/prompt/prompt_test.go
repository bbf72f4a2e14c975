package prompt_test

import (
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sagline/cmd/prompt"
	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/predict/forecast"
	"sagline/predict/newdive"
	"sagline/predict/outlook"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
	"sagline/session/units"
)

// logbook is a copy of a shipped example.
func logbook(t testing.TB, name string) string {
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, os.DirFS(filepath.Join("../../examples", name))))
	rest(t, dir)
	return dir
}

// rest makes a folder's log an hour old: one just written is waited for.
func rest(t require.TestingT, dir string) {
	hourAgo := time.Now().Add(-time.Hour).Truncate(time.Second)
	require.NoError(t, os.Chtimes(filepath.Join(dir, session.FileName), hourAgo, hourAgo))
}

// keep writes a folder's log, as if an hour ago.
func keep(t require.TestingT, dir, text string) {
	require.NoError(t, os.WriteFile(filepath.Join(dir, session.FileName), []byte(text), 0o644))
	rest(t, dir)
}

func diveOf(t testing.TB, dir string) *newdive.Dive {
	v, err := vehicle.Open(dir)
	require.NoError(t, err)
	log, err := session.Open(dir)
	require.NoError(t, err)
	f := forecast.AsBuilt(v)
	if len(log.Dives) > 0 {
		text, err := os.ReadFile(filepath.Join(dir, session.FileName))
		require.NoError(t, err)
		of := string(v.Text()) + string(text)
		if forecasts[of] == nil {
			r, err := fit.Fit(v, log)
			require.NoError(t, err)
			forecasts[of] = forecast.New(r, outlook.Present(r, drift.Analyse(r)), nil, fit.Posterior{})
		}
		f = forecasts[of].Clone()
	}
	return newdive.New(log, f, v, prompt.RowsIn(dir))
}

// forecasts are those made already, by the text of their vehicle and log.
var forecasts = map[string]*forecast.Forecast{}

func interviewOf(t testing.TB, dir string, p prompt.Prompter) *prompt.Interview {
	return &prompt.Interview{Asker: prompt.Asker{Prompter: p, Width: 80}, Folder: dir, Dive: diveOf(t, dir), Today: time.Date(2026, 5, 9, 0, 0, 0, 0, time.UTC)}
}

func guidedOf(t testing.TB, dir string, p prompt.Prompter) *prompt.Interview {
	i := interviewOf(t, dir, p)
	i.Guided = true
	return i
}

// script answers questions by their first word, in turn; "" for the others.
type script struct {
	t       *testing.T
	answers []string // "question=answer"
	said    bytes.Buffer
	end     error
	asked   int
}

func (s *script) Ask(question, preset string, _ []string) (string, error) {
	s.said.WriteString(question + "\n")
	if s.asked++; len(s.answers) == 0 || s.asked > 120 {
		return "", s.end
	}
	want, answer, _ := strings.Cut(s.answers[0], "=")
	if strings.Fields(question)[0] != want {
		return preset, nil
	}
	s.answers = s.answers[1:]
	return answer, nil
}

func (s *script) Say(format string, args ...any) {
	plain := prompt.Plain(strings.NewReader(""), &s.said)
	plain.Say(format, args...)
}

func (s *script) Close() error { return nil }

// added is what was written behind what a file had.
func added(t *testing.T, dir, name string) string {
	before, err := os.ReadFile(filepath.Join("../../examples", name, session.FileName))
	require.NoError(t, err)
	after, err := os.ReadFile(filepath.Join(dir, session.FileName))
	require.NoError(t, err)
	lines, ok := strings.CutPrefix(string(after), string(before))
	require.True(t, ok, "nothing before has changed")
	return lines
}

// A dive as in a notebook, with a decimal point, a thruster and a day put right.
func TestLines(t *testing.T) {
	dir := logbook(t, "joint")
	s := &script{t: t, end: io.EOF, answers: []string{"dive=joint date 2026-05-10 14.5C",
		"1=2 off 127", "y:=y",
		"2=6 held prot+s 12,3 8.1 A 8.5 0 8 9.8", "instead=p+s",
		"3=9 P+S 12.3 8.1 8.5 4.2 .45", "y:=y",
		"4=back", "3=13m", "3=tether 13",
		"4=7 off 12.7", "minute=17", "5=done"}}
	dive, lines, err := interviewOf(t, dir, s).Run()
	require.NoError(t, err, s.said.String())
	assert.Empty(t, s.answers, s.said.String())
	assert.Equal(t, "31", dive)
	assert.Equal(t, 4, lines)
	assert.Equal(t, `31,2026-05-10,2,off,,12.7,,,,,,,,,14.5,,joint,
31,,6,port + starboard,yes,12.3,8.1,8.5,0,8,,,,9.8,,,,
31,,9,port + starboard,,12.3,8.1,8.5,4.2,13,0.45,,,,,,,
31,,17,off,,12.7,,,,,,,,,,,,
`, added(t, dir, "joint"))
	said := s.said.String()
	assert.Contains(t, said, "battery_v 127, should be 12.8 ± 0.2: decimal point?\n  y: 12.7, or Enter:")
	assert.Contains(t, said, "3 on disk: minute 9, port + starboard, depth_m 4.2")
	assert.Contains(t, said, "found minute 7 after 9, want times in order")
	assert.Contains(t, said, `found "13m", want the column too: depth_m 13 or tether_out_m 13`)
	assert.NotContains(t, said, "current_a 8.1, should", "what is as expected is not asked about")
}

// notebook is a line as in one: what was written, a blank or a line end after
// each, thrusters by their first letters.
func notebook(row session.Row) []string {
	var out []string
	for _, c := range session.Columns() {
		switch text := row[c.Name]; {
		case text == "" || c.Name == "dive" || c.Name == "date":
		case c.Name == "held":
			out = append(out, "held")
		case c.Name == "thrusters":
			out = append(out, strings.NewReplacer("port", "p", "starboard", "s", "vertical", "v", " + ", "+").Replace(text))
		default:
			out = append(out, text)
		}
	}
	return out
}

// typedAs is the same line for the order that is shown above it: a unit where
// that is shorter than marking what was not measured.
func typedAs(d *newdive.Dive, row session.Row) string {
	var out []string
	gaps := 0
	for _, c := range d.Order(row) {
		text := row[c.Name]
		switch {
		case c.Name == "thrusters":
			out = append(out, notebook(session.Row{"thrusters": text, "held": row["held"]})...)
		case text == "":
			gaps++
		case 2*gaps > len(c.Unit) && (c.Unit == "g" || c.Unit == "m/s"):
			out, gaps = append(out, text+c.Unit), 0
		default:
			for ; gaps > 0; gaps-- {
				out = append(out, "-")
			}
			out = append(out, text)
		}
	}
	return strings.Join(out, " ")
}

// counter counts what is asked and what is typed, Enter too.
type counter struct {
	prompt.Prompter
	asked, typed int
}

func (c *counter) Ask(question, preset string, words []string) (string, error) {
	answer, err := c.Prompter.Ask(question, preset, words)
	c.asked++
	if answer != preset {
		c.typed += len(answer)
	}
	c.typed++
	return answer, err
}

// The first ten lines of the second dive of a log take at most twelve prompts and
// at most 1.15 times the characters that they take in a notebook.
func TestTenLines(t *testing.T) {
	for _, name := range []string{"sound", "joint", "volts-only"} {
		dir := logbook(t, name)
		log, err := session.Open(dir)
		require.NoError(t, err)
		rows := prompt.RowsIn(dir)(&log.Dives[1])[:10]
		text, err := os.ReadFile(filepath.Join(dir, session.FileName))
		require.NoError(t, err)
		lines := strings.SplitAfter(string(text), "\n")
		keep(t, dir, strings.Join(lines[:log.Dives[1].Lines[0].Number-1], ""))
		v := interviewOf(t, dir, nil)
		characters := 0
		typed := []string{rows[0]["water_c"]}
		delete(rows[0], "salinity_psu") // 0 where it is not given
		for _, row := range rows {
			characters += len(strings.Join(notebook(row), " ")) + 1
			delete(row, "water_c")
			typed = append(typed, typedAs(v.Dive, row))
		}
		var out bytes.Buffer
		c := &counter{Prompter: prompt.Plain(strings.NewReader(strings.Join(append(typed, "done", ""), "\n")), &out)}
		v.Prompter = c
		_, n, err := v.Run()
		require.NoError(t, err)
		assert.Equal(t, 10, n)
		t.Logf("%s: %d prompts, %d keys for %d characters in a notebook", name, c.asked, c.typed, characters)
		assert.LessOrEqual(t, c.asked, 12, out.String())
		assert.LessOrEqual(t, float64(c.typed), 1.15*float64(characters))
		now, err := session.Open(dir)
		require.NoError(t, err)
		for i, row := range prompt.RowsIn(dir)(&now.Dives[1]) {
			want := newdive.Pruned(rows[i])
			for _, c := range []string{"dive", "date", "water_c"} {
				delete(row, c)
				delete(want, c)
			}
			assert.Equal(t, want, row, "what was typed is what is on disk")
		}
	}
}

// Runs over a course that is always the same are typed by their seconds, others by
// both; no number is dropped.
func TestRuns(t *testing.T) {
	const header, first = "dive,date,thrusters,battery_v,run_m,run_s\n", "1,2026-05-01,port + starboard,12.3,10,22\n"
	for _, c := range []struct {
		log, asked string
		answers    []string
		want       string
	}{
		{first, "  [port + starboard] battery_v run_m=10 run_s\n", []string{"1=p+s 12.3 21.6", "2=done"}, "2,2026-05-09,port + starboard,12.3,10,21.6\n"},
		{first + "1,,port + starboard,12.3,20,44\n", "  [port + starboard] battery_v run_m run_s\n", []string{"1=p+s 12.3 21", "run_s=45 s", "2=p+s 12.3 10m 22.5s", "3=done"},
			"2,2026-05-09,port + starboard,12.3,21,45\n2,,port + starboard,12.3,10,22.5\n"},
		{first + "1,,port + starboard,12.3,20,44\n", "run_s beside run_m 21, Enter: leave that out", []string{"1=p+s 12.3 21", "run_s=", "2=done"}, "2,2026-05-09,port + starboard,12.3,,\n"},
	} {
		dir := logbook(t, "joint")
		path := filepath.Join(dir, session.FileName)
		keep(t, dir, header+c.log)
		s := &script{t: t, end: io.EOF, answers: c.answers}
		i := interviewOf(t, dir, s)
		_, _, err := i.Run()
		require.NoError(t, err, s.said.String())
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Equal(t, header+c.log+c.want, string(text), s.said.String())
		assert.Contains(t, s.said.String(), c.asked)
	}
}

// What a log has of the weather in columns of its own is asked for once a dive.
func TestOwnColumns(t *testing.T) {
	dir := logbook(t, "joint")
	path := filepath.Join(dir, session.FileName)
	const log = "dive,date,minute,thrusters,battery_v,wind,depth_m,sky,photo\n1,2026-05-01,2,off,12.7,NW 3,0,clear,\n1,,4,off,12.7,,0,,7\n1,,6,off,12.7,,0,,8\n"
	keep(t, dir, log)
	s := &script{t: t, end: io.EOF, answers: []string{"dive=joint wind SE 4, gusts sky low cloud", "1=2 off 12.7 0", "2=back", "1=depth 1 sky fog", "2=4 off 12.7 0", "3=done"}}
	_, _, err := interviewOf(t, dir, s).Run()
	require.NoError(t, err, s.said.String())
	assert.Empty(t, s.answers, s.said.String())
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "dive,date,minute,thrusters,battery_v,wind,depth_m,sky,photo,serviced\n"+strings.SplitN(log, "\n", 2)[1]+
		"2,2026-05-09,2,off,12.7,\"SE 4, gusts\",1,fog,,joint\n2,,4,off,12.7,,0,,,\n", string(text))
	assert.Contains(t, s.said.String(), "  serviced wind sky\n")
	assert.Contains(t, s.said.String(), "sky low cloud, wind SE 4, gusts")
}

// What was typed is written where the dive ends at a question about it, and where
// it cannot be that is said; a question that takes no more columns asks again.
func TestDoneAtAQuestion(t *testing.T) {
	const none = ",,,,,,,,"
	for _, c := range []struct{ typed, answers, want, said string }{
		{"1=off 127", "y:=done", "off,,127" + none + ",,,,\n", "on disk: off, battery_v 127"},
		{"1=off 127", "y:=p+s 12.4 6.7|y:=127|2=done", "off,,127" + none + ",,,,\n", "Enter leaves 127 as typed; back drops the line"},
		{"1=off 12.7 note new propeller", "worked=done", "off,,12.7" + none + ",,,,new propeller\n", ""},
		{"1=xx 12.7", "instead=more|instead=off|2=done", "off,,12.7" + none + ",,,,\n", ""},
		{"1=2 off 12.7|2=1 off 12.7", "minute=more|minute=3|3=done", "off,,12.7" + none + ",,,,\n31,,3,off,,12.7" + none + ",,,,\n", ""},
		{"1=2 off 12.7|2=1 off 12.7", "minute=done", "off,,12.7" + none + ",,,,\n", "the line is not written: column \"minute\": found minute 1 after 2"},
		{"1=2 off 12.7|2=4 off 127", "y:=back|1=|2=done", "off,,12.7" + none + ",,,,\n", "line 2 is not written"},
	} {
		dir := logbook(t, "joint")
		s := &script{t: t, end: io.EOF, answers: strings.Split(c.typed+"|"+c.answers, "|")}
		_, _, err := interviewOf(t, dir, s).Run()
		require.NoError(t, err, s.said.String())
		assert.Empty(t, s.answers, s.said.String())
		_, wrote, _ := strings.Cut(added(t, dir, "joint"), "2026-05-09,")
		assert.Equal(t, c.want, wrote[strings.Index(wrote, "off"):], c.typed)
		assert.Contains(t, s.said.String(), c.said)
	}
}

// A line that is typed where the dive is asked for is none of that: "off 12.44" was 12.44 °C of water.
func TestALineBeforeItsTurn(t *testing.T) {
	dir := logbook(t, "joint")
	s := &script{t: t, end: io.EOF, answers: []string{"dive=off 12.44", "dive=", "1=off 12.7", "2=done"}}
	_, _, err := interviewOf(t, dir, s).Run()
	require.NoError(t, err, s.said.String())
	assert.Empty(t, s.answers, s.said.String())
	assert.Contains(t, s.said.String(), "that reads as a line of the dive: Enter first, where nothing is new")
	assert.NotContains(t, added(t, dir, "joint"), "12.44")
}

// Yes to a question that proposes nothing leaves the reading as it was typed, and nothing else on the line.
func TestYesLeavesAReading(t *testing.T) {
	dir := logbook(t, "joint")
	s := &script{t: t, end: io.EOF, answers: []string{"dive=joint 14C", "1=2 off 11.9", "instead,=y", "2=done"}}
	_, _, err := interviewOf(t, dir, s).Run()
	require.NoError(t, err, s.said.String())
	assert.Empty(t, s.answers, s.said.String())
	assert.Contains(t, added(t, dir, "joint"), ",2,off,,11.9,")
}

// At 40 columns a question with what it offers stays in the line.
func TestQuestionsAt40Columns(t *testing.T) {
	var out bytes.Buffer
	i := interviewOf(t, logbook(t, "joint"), prompt.Plain(strings.NewReader("\n2 off 12.7\n4 v 12.3\n\ndone\n"), &out))
	i.Width = 40
	_, _, err := i.Run()
	require.NoError(t, err)
	assert.Contains(t, out.String(), "held, or Enter: [vertical] > ")
	for _, line := range strings.FieldsFunc(out.String(), func(r rune) bool { return r == '\n' || r == '>' }) {
		assert.LessOrEqual(t, len([]rune(line)), 40, line)
	}
}

// A dive that goes on is shown by its last line, and not asked again what was asked
// before its first.
func TestADiveGoesOn(t *testing.T) {
	dir := logbook(t, "joint")
	for _, answers := range [][]string{{"dive=joint 14C", "1=2 off 12.7 0"}, {"dive=", "2=4 off 12.7 0", "3=done"}} {
		s := &script{t: t, end: io.EOF, answers: answers}
		_, _, err := interviewOf(t, dir, s).Run()
		require.NoError(t, err, s.said.String())
		assert.Empty(t, s.answers, s.said.String())
		if answers[0] == "dive=" {
			assert.Contains(t, s.said.String(), "dive 31 (2026-05-09) has 1 line, the last:\n1 on disk: serviced joint, water_c 14, minute 2, off, depth_m 0")
			assert.Contains(t, s.said.String(), "dive 31, Enter goes on, new begins another\n")
			assert.NotContains(t, s.said.String(), "worked on")
		}
	}
}

// A first dive is not asked what was worked on since one before, nor whether it is
// deeper than its own lines.
func TestAFirstDive(t *testing.T) {
	dir := logbook(t, "joint")
	keep(t, dir, "dive,date,minute,thrusters,battery_v,depth_m,water_c,wind\n")
	s := &script{t: t, end: io.EOF, answers: []string{"dive=14 wind NW", "1=2 off 12.6 0", "2=4 off 12.6 1", "3=6 off 12.6 5", "4=done"}}
	_, lines, err := interviewOf(t, dir, s).Run()
	require.NoError(t, err, s.said.String())
	assert.Empty(t, s.answers, s.said.String())
	assert.Equal(t, 3, lines)
	assert.Contains(t, s.said.String(), "  water_c wind\ndive 1 2026-05-09, any of these?\n")
}

// A time is asked for over a length: the usual one stands there, and without one there
// is nothing to time.
func TestGuidedRuns(t *testing.T) {
	dir := logbook(t, "joint")
	keep(t, dir, "dive,date,thrusters,battery_v,run_m,run_s\n1,2026-05-01,port + starboard,12.3,10,22\n1,,off,12.6,,\n")
	s := &script{t: t, end: io.EOF, answers: []string{"thrusters=off", "battery_v=12.6", "thrusters=p+s", "battery_v=12.3", "run_s=22.5", "thrusters=p+s", "battery_v=12.3", "run_m=", "thrusters=done"}}
	i := guidedOf(t, dir, s)
	_, lines, err := i.Run()
	require.NoError(t, err, s.said.String())
	assert.Empty(t, s.answers, s.said.String())
	assert.Equal(t, 3, lines)
	text, err := os.ReadFile(filepath.Join(dir, session.FileName))
	require.NoError(t, err)
	assert.Contains(t, string(text), "2,,port + starboard,12.3,10,22.5\n2,,port + starboard,12.3,,\n")
	assert.Equal(t, 1, strings.Count(s.said.String(), "run_s  expected "), s.said.String())
}

// A line that says nothing that was read is shown as it was understood.
func TestALineWithoutReadings(t *testing.T) {
	s := &script{t: t, end: io.EOF, answers: []string{"1=12.7", "1=done"}}
	_, lines, err := interviewOf(t, logbook(t, "joint"), s).Run()
	require.NoError(t, err)
	assert.Zero(t, lines)
	assert.Contains(t, s.said.String(), "  minute 12.7: nothing was read on this line; it is not written\n")
}

// A date that is typed alone on the first line is the dive's.
func TestADateAlone(t *testing.T) {
	s := &script{t: t, end: io.EOF, answers: []string{"1=2025-11-04", "1=off 12.7", "2=done"}}
	dir := logbook(t, "joint")
	_, lines, err := interviewOf(t, dir, s).Run()
	require.NoError(t, err)
	assert.Equal(t, 1, lines)
	assert.Contains(t, s.said.String(), "  the dive's date is 2025-11-04: nothing was read on this line; it is not\n  written\n")
	text, err := os.ReadFile(filepath.Join(dir, session.FileName))
	require.NoError(t, err)
	assert.True(t, strings.HasSuffix(string(text), "\n31,2025-11-04,,off,,12.7,,,,,,,,,,,,\n"))
}

// The dive or the input that ends at a question about a word loses nothing else of the line, and the note keeps the word.
func TestDoneAtAWordWithoutMeaning(t *testing.T) {
	for end, answers := range map[string][]string{"done": {"1=2 off 12.7 qqq 0 zzz", "instead=done"}, "end of input": {"1=2 off 12.7 qqq 0 zzz"}} {
		dir := logbook(t, "joint")
		s := &script{t: t, end: io.EOF, answers: answers}
		_, lines, err := interviewOf(t, dir, s).Run()
		require.NoError(t, err)
		assert.Equal(t, 1, lines, "%s: %s", end, s.said.String())
		text, err := os.ReadFile(filepath.Join(dir, session.FileName))
		require.NoError(t, err)
		assert.Regexp(t, `(?m)^31,[-0-9]*,2,off,,12\.7,,,0,.*not understood: qqq zzz$`, string(text))
	}
}

func TestGuided(t *testing.T) {
	dir := logbook(t, "joint")
	s := &script{t: t, end: io.EOF, answers: []string{
		"dive=joint", "thrusters=off", "battery_v=127", "trim_g=-", "y:=12.7", // a decimal point, at the end of the line
		"thrusters=prot", "thrusters=p+s", "held=y", "battery_v=12,3", "current_a=8.1 A", "vehicle_v=9.9",
		"pull_n=back", "vehicle_v=8.5", "pull_n=9.8",
		"thrusters=off", "minute=back", "pull_n=9.9", // at the first question: the line before
		"thrusters=off", "battery_v=done",
	}}
	dive, lines, err := guidedOf(t, dir, s).Run()
	require.NoError(t, err, s.said.String())
	assert.Empty(t, s.answers, s.said.String())
	assert.Equal(t, "31", dive)
	assert.Equal(t, 2, lines)
	assert.Equal(t, `31,2026-05-09,,off,,12.7,,,0,4,,,,,,,joint,
31,,,port + starboard,yes,12.3,8.1,8.5,0,6,,,,9.9,,,,
`, added(t, dir, "joint"))
	said := s.said.String()
	assert.Contains(t, said, `found "prot", want port, starboard, vertical or off (nearest: "port")`)
	assert.Contains(t, said, "\nheld still, yes or no\n")
	for line := range strings.Lines(said) {
		assert.LessOrEqual(t, len([]rune(strings.TrimSuffix(line, "\n"))), 80, line)
	}
}

func TestEveryLineIsOnDiskBeforeTheNext(t *testing.T) {
	dir := logbook(t, "joint")
	s := &script{t: t, end: prompt.ErrInterrupted, answers: []string{"1=off 12.7V"}}
	_, lines, err := interviewOf(t, dir, s).Run()
	assert.ErrorIs(t, err, prompt.ErrInterrupted)
	assert.Equal(t, 1, lines)
	log, err := session.Open(dir)
	require.NoError(t, err)
	assert.Len(t, log.Dives[30].Lines, 1, "the line being typed is lost, and no more")
}

func TestMoreAsksForEveryColumn(t *testing.T) {
	dir := logbook(t, "joint")
	s := &script{t: t, end: io.EOF, answers: []string{"minute=more", "thrusters=off", "battery_v=12.7", "loop_ohm=1.2", "insulation_megohm=50", "note=back", "insulation_megohm=60", "note=back to the dock, done", "battery_v=12.6", "note=done"}}
	_, _, err := guidedOf(t, dir, s).Run()
	require.NoError(t, err)
	log, err := session.Open(dir)
	require.NoError(t, err)
	l := log.Dives[30].Lines[0]
	assert.Equal(t, 1.2, l.Readings[quantity.LoopOhm].X)
	assert.Equal(t, 60.0, l.Readings[quantity.Insulation].X)
	assert.Equal(t, "back to the dock, done", l.Note)
	require.Len(t, log.Dives[30].Lines, 2)
	assert.Empty(t, log.Dives[30].Lines[1].Note, "which ends the dive, as at any question")
}

// A column that the log does not have yet is in the person's units.
func TestMoreInFeet(t *testing.T) {
	dir := logbook(t, "joint")
	keep(t, dir, "dive,date,thrusters,battery_v,trim_g\n")
	s := &script{t: t, end: io.EOF, answers: []string{"thrusters=more", "battery_v=12.7", "trim_g=40", "note=x"}}
	i := guidedOf(t, dir, s)
	i.Dive = newdive.New(i.Dive.Log, nil, &vehicle.Vehicle{Units: units.Imperial}, prompt.RowsIn(dir))
	_, _, err := i.Run()
	require.NoError(t, err)
	for _, want := range []string{"depth_ft", "tether_out_ft", "water_f", "trim_g"} {
		assert.Contains(t, s.said.String(), want)
	}
	assert.NotContains(t, s.said.String(), "depth_m")
}

// The same day's dive goes on, or is followed by another.
func TestASecondDiveOfTheDay(t *testing.T) {
	dir := logbook(t, "joint")
	for _, answers := range [][]string{{"1=off 12.7V", "2=done"}, {"2=off 12.6V", "3=done"}, {"dive=new", "1=off 12.6V", "2=done"}} {
		s := &script{t: t, end: io.EOF, answers: answers}
		_, _, err := interviewOf(t, dir, s).Run()
		require.NoError(t, err, s.said.String())
		assert.Empty(t, s.answers, s.said.String())
	}
	assert.Equal(t, "31,2026-05-09,,off,,12.7,,,,,,,,,,,,\n31,,,off,,12.6,,,,,,,,,,,,\n32,2026-05-09,,off,,12.6,,,,,,,,,,,,\n", added(t, dir, "joint"))
}

// A day that is yet to come is asked about once; what is answered stands.
func TestADayToCome(t *testing.T) {
	for answer, want := range map[string]string{"2062-05-09": "2062-05-09", "9.5.2026": "2026-05-09"} {
		dir := logbook(t, "joint")
		s := &script{t: t, end: io.EOF, answers: []string{"dive=9.5.2062", "instead,=" + answer, "1=off 12.7V", "2=done"}}
		_, _, err := interviewOf(t, dir, s).Run()
		require.NoError(t, err, s.said.String())
		assert.Contains(t, s.said.String(), "date 2062-05-09, after this computer's day, 2026-05-09: a slip?")
		assert.Contains(t, added(t, dir, "joint"), "31,"+want+",,off,,12.7,")
	}
}

// A line that is gone over is the one that was shown, also where another program has
// written lines of the dive before it.
func TestBackOverLinesBesideAnother(t *testing.T) {
	for _, c := range []struct{ other, want, said string }{
		{"31,2026-05-09,1,off,,12.8,,,,,,,,,,,,\n", "31,2026-05-09,1,off,,12.8,,,,,,,,,,,,\n31,,2,off,,12.7,,,7,,,,,,,,,\n31,,4,off,,12.6,,,,,,,,,,,,\n", ""},
		{"31,2026-05-09,1,off,,12.8,,,,,,,,,,,,\n31,,3,off,,12.9,,,,,,,,,,,,\n", "", "line 1 of dive \"31\" is not as it was shown"},
	} {
		dir := logbook(t, "joint")
		path := filepath.Join(dir, session.FileName)
		s := &script{t: t, end: io.EOF, answers: []string{"1=2 off 12.7", "2=4 off 12.6", "3=back", "2=back", "1=depth 7", "the=back", "3=done"}}
		if c.said == "" {
			s.answers = append(s.answers[:5:5], "3=done")
		}
		i := interviewOf(t, dir, &before{script: s, question: "1", nth: 2, do: func() {
			text, err := os.ReadFile(path)
			require.NoError(t, err)
			with := strings.Replace(string(text), "31,2026-05-09,2,off,,12.7", c.other+"31,,2,off,,12.7", 1)
			if c.said != "" {
				with = strings.Replace(with, "31,,2,off,,12.7,,,,,,,,,,,,\n", "", 1)
				with += "31,,6,off,,12.6,,,,,,,,,,,,\n"
			}
			require.NoError(t, os.WriteFile(path, []byte(with), 0o644))
		}})
		_, _, err := i.Run()
		require.NoError(t, err, s.said.String())
		assert.Empty(t, s.answers, s.said.String())
		assert.Contains(t, strings.Join(strings.Fields(s.said.String()), " "), c.said)
		if c.said == "" {
			assert.Equal(t, c.want, added(t, dir, "joint"))
		}
	}
}

// before does something as a question is asked for the nth time.
type before struct {
	*script
	question string
	nth      int
	do       func()
}

func (b *before) Ask(question, preset string, words []string) (string, error) {
	if question == b.question {
		if b.nth--; b.nth == 0 {
			b.do()
		}
	}
	return b.script.Ask(question, preset, words)
}

// Any line of the dive that was written now is changed by going back to it.
func TestBackOverLines(t *testing.T) {
	dir := logbook(t, "joint")
	s := &script{t: t, end: io.EOF, answers: []string{"1=2 off 12.7 0 5", "2=4 off 12.7 0 6", "3=back", "2=back", "1=depth 7m note x", "3=back", "2=5 off 12.6 0", "3=done"}}
	_, lines, err := interviewOf(t, dir, s).Run()
	require.NoError(t, err, s.said.String())
	assert.Empty(t, s.answers, s.said.String())
	assert.Equal(t, 2, lines)
	assert.Equal(t, "31,2026-05-09,2,off,,12.7,,,7,5,,,,,,,,x\n31,,5,off,,12.6,,,0,,,,,,,,,\n", added(t, dir, "joint"))
}

// A whole line replaces one also where each number has its unit, as it would if it were new.
func TestBackToAWholeLine(t *testing.T) {
	dir := logbook(t, "joint")
	s := &script{t: t, end: io.EOF, answers: []string{"1=ps 2m 12.3V 8.1A", "2=back", "1=p 3m 12.4V 5.2A", "2=done"}}
	_, _, err := interviewOf(t, dir, s).Run()
	require.NoError(t, err, s.said.String())
	assert.Empty(t, s.answers, s.said.String())
	assert.Regexp(t, `^31,2026-05-09,,port,,12.4,5.2,,3,`, added(t, dir, "joint"))
}

// The words of a note that are services are proposed as such, and no others.
func TestServiceWordsInANote(t *testing.T) {
	dir := logbook(t, "joint")
	s := &script{t: t, end: io.EOF, answers: []string{"1=off 12.7V note weed near the propeller", "2=off 12.7V note new propeller", "worked=y", "3=done"}}
	_, _, err := interviewOf(t, dir, s).Run()
	require.NoError(t, err, s.said.String())
	assert.Empty(t, s.answers, s.said.String())
	assert.Contains(t, added(t, dir, "joint"), ",propeller,new propeller\n")
}

func TestAnEmptyLog(t *testing.T) {
	dir := logbook(t, "joint")
	keep(t, dir, "dive,date,thrusters,battery_v,trim_oz,run_ft,run_s\n")
	s := &script{t: t, end: io.EOF, answers: []string{"thrusters=off", "battery_v=12.6", "trim_oz=3", "thrusters=port + starboard", "battery_v=11.9", "run_ft=30", "run_s=20", "thrusters=done"}}
	_, lines, err := guidedOf(t, dir, s).Run()
	require.NoError(t, err, s.said.String())
	assert.Equal(t, 2, lines)
	assert.Contains(t, s.said.String(), "run_s  expected")
	log, err := session.Open(dir)
	require.NoError(t, err)
	assert.InDelta(t, 30*0.3048/20, log.Dives[0].Lines[1].Readings[quantity.Speed].X, 1e-12)
}

func TestADiskThatIsFullIsTriedAgain(t *testing.T) {
	dir := logbook(t, "joint")
	path := filepath.Join(dir, session.FileName)
	file, err := os.ReadFile(path)
	require.NoError(t, err)
	s := &failing{script: script{t: t, end: io.EOF, answers: []string{"1=off 12.7V", "the=", "2=done"}}}
	s.broken = func() { require.NoError(t, os.Remove(path)) }
	s.mended = func() { require.NoError(t, os.WriteFile(path, file, 0o644)) }
	_, lines, err := interviewOf(t, dir, s).Run()
	require.NoError(t, err)
	assert.Equal(t, 1, lines)
	assert.Contains(t, s.said.String(), "no such file")
}

// failing breaks the log's file while the first line is asked for, and mends it
// when asked to try again.
type failing struct {
	script
	broken, mended func()
}

func (f *failing) Ask(question, preset string, words []string) (string, error) {
	if question == "1" {
		f.broken()
	}
	if strings.HasPrefix(question, "the line is not on disk") {
		f.mended()
	}
	return f.script.Ask(question, preset, words)
}

// Whatever is typed, the log stays readable and what was there stays.
func TestAnyAnswers(t *testing.T) {
	dir := logbook(t, "volts-only")
	path := filepath.Join(dir, session.FileName)
	before, err := os.ReadFile(path)
	require.NoError(t, err)
	word := rapid.OneOf(rapid.SampledFrom([]string{"", "off", "port", "p+s astern 12.3", "9 off 12.3V note x", "back", "more", "done", "?", "=", "-", "12.3", "123", "y", "held", "on", "1,5", "NaN", "joint", "=1", "10:30", "-5", "new", "dive 30", "date x"}), rapid.String())
	dive := diveOf(t, dir)
	rapid.Check(t, func(rt *rapid.T) {
		keep(rt, dir, string(before))
		answers := rapid.SliceOfN(word, 0, 40).Draw(rt, "answers")
		var out bytes.Buffer
		i := &prompt.Interview{Asker: prompt.Asker{Prompter: prompt.Plain(strings.NewReader(strings.Join(answers, "\n")), &out), Width: 80}, Folder: dir, Dive: dive,
			Today: time.Date(2026, 5, 9, 0, 0, 0, 0, time.UTC), Guided: rapid.Bool().Draw(rt, "guided")}
		_, lines, err := i.Run()
		if err != nil {
			rt.Fatalf("%v\n%s", err, out.String())
		}
		log, err := session.Open(dir)
		if err != nil {
			rt.Fatalf("%v\n%s", err, out.String())
		}
		if lines > 0 && len(log.Dives) == 0 {
			rt.Fatal("lines are gone")
		}
	})
}

func TestAmendment(t *testing.T) {
	dir := logbook(t, "joint")
	var out bytes.Buffer
	in := strings.NewReader(strings.Join([]string{"999", "3", "batery_v 12.4", "3", "battery_v 12.4 depth -", "4", "battery_v x", "5", "strike", "5", "", "done"}, "\n"))
	a := &prompt.Amendment{Asker: prompt.Asker{Prompter: prompt.Plain(in, &out), Width: 80}, Folder: dir, Dive: "30", Today: time.Date(2026, 5, 9, 0, 0, 0, 0, time.UTC), Vehicle: &vehicle.Vehicle{Thrusters: []vehicle.Thruster{{Name: "port"}}}}
	n, err := a.Run()
	require.NoError(t, err, out.String())
	assert.Equal(t, 2, n)
	assert.Contains(t, out.String(), `(nearest: "battery_v")`)
	assert.Contains(t, out.String(), `found "999", want one of 1 to 12`)
	text, err := os.ReadFile(filepath.Join(dir, session.FileName))
	require.NoError(t, err)
	assert.Contains(t, string(text), "\n# 2026-05-09 changed, was: 30,,7,port + starboard,yes,12.34,8.2,8.5,0,8,,,,9.94,,,,\n30,,7,port + starboard,yes,12.4,8.2,8.5,,8,,,,9.94,,,,\n")
	assert.Contains(t, string(text), "\n# 2026-05-09 struck, was: 30,,12,starboard,")
}

// What changes is the line that was shown, also where another program has written lines
// above it meanwhile.
func TestAmendmentBesideAnother(t *testing.T) {
	dir := logbook(t, "joint")
	path := filepath.Join(dir, session.FileName)
	s := &script{t: t, end: io.EOF, answers: []string{"line,=3", "what=battery_v 12.4", "line,=done"}}
	a := &prompt.Amendment{Folder: dir, Dive: "30", Today: time.Date(2026, 5, 9, 0, 0, 0, 0, time.UTC), Asker: prompt.Asker{Width: 80, Prompter: &before{script: s, question: "what changes, as battery_v 12.4, or strike", nth: 1, do: func() {
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(path, []byte(strings.Replace(string(text), "\n30,", "\n# a comment\n30,", 1)), 0o644))
	}}}}
	n, err := a.Run()
	require.NoError(t, err, s.said.String())
	assert.Equal(t, 1, n)
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Contains(t, string(text), "\n# 2026-05-09 changed, was: 30,,7,port + starboard,yes,12.34,8.2,8.5,0,8,,,,9.94,,,,\n30,,7,port + starboard,yes,12.4,")
}

func TestPlainPrompter(t *testing.T) {
	var out bytes.Buffer
	p := prompt.Plain(strings.NewReader("a\n\n-\nlast"), &out)
	for _, want := range []string{"a", "preset", "", "last"} {
		got, err := p.Ask("q", "preset", nil)
		require.NoError(t, err)
		assert.Equal(t, want, got)
	}
	_, err := p.Ask("q", "", nil)
	assert.True(t, errors.Is(err, io.EOF))
}
