package prompt_test

import (
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sagline/cmd/prompt"
	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
	"sagline/session/units"
)

// logbook is a copy of a shipped example.
func logbook(t testing.TB, name string) string {
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, os.DirFS(filepath.Join("../../examples", name))))
	return dir
}

func interviewOf(t testing.TB, dir string, p prompt.Prompter) *prompt.Interview {
	v, err := vehicle.Open(dir)
	require.NoError(t, err)
	log, err := session.Open(dir)
	require.NoError(t, err)
	i := &prompt.Interview{Prompter: p, Folder: dir, Log: log, Today: time.Date(2026, 5, 9, 0, 0, 0, 0, time.UTC), Width: 80, Forecast: fit.AsBuilt(v)}
	if len(log.Dives) > 0 {
		r, err := fit.Fit(v, log, nil)
		require.NoError(t, err)
		i.Forecast = r.Forecast(drift.Present(r, drift.Analyse(r)), nil)
	}
	for _, th := range v.Thrusters {
		i.Thrusters = append(i.Thrusters, th.Name)
	}
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
	if s.asked++; len(s.answers) == 0 || s.asked > 300 {
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

func TestInterview(t *testing.T) {
	dir := logbook(t, "joint")
	before, err := os.ReadFile(filepath.Join(dir, session.FileName))
	require.NoError(t, err)
	s := &script{t: t, end: io.EOF, answers: []string{
		"dive=31", "serviced=joint", "thrusters=off", "battery_v=127", "127?=12.7", "trim_g=-", // a decimal point, mended
		"thrusters=prot", "thrusters=port + starboard", "held=yes", "battery_v=12,3", "current_a=8.1", "vehicle_v=9.9", "9.9?=9.9", // stands
		"pull_n=back", "vehicle_v=8.5", "pull_n=9.8",
		"thrusters=off", "minute=back", "pull_n=9.9", // at the first question: the line before
		"thrusters=off", "battery_v=done",
	}}
	dive, lines, err := interviewOf(t, dir, s).Run()
	require.NoError(t, err, s.said.String())
	assert.Empty(t, s.answers, s.said.String())
	assert.Equal(t, "31", dive)
	assert.Equal(t, 2, lines)
	after, err := os.ReadFile(filepath.Join(dir, session.FileName))
	require.NoError(t, err)
	added, ok := strings.CutPrefix(string(after), string(before))
	require.True(t, ok, "nothing before has changed")
	assert.Equal(t, `31,2026-05-09,,off,,12.7,,,0,4,,,,,,,joint,
31,,,port + starboard,yes,12.3,8.1,8.5,0,6,,,,9.9,,,,
`, added)
	said := s.said.String()
	assert.Contains(t, said, "127? expected 12.8 ± 0.2: decimal point? 12.7; keep")
	assert.Contains(t, said, `found "prot", want port, starboard, vertical or off (nearest: "port")`)
	assert.Regexp(t, `2 +port\+starboard yes +0 +6 +12\.3 +8\.1 +8\.5`, said)
	for line := range strings.Lines(said) {
		assert.LessOrEqual(t, len([]rune(strings.TrimSuffix(line, "\n"))), 80, line)
	}
}

func TestEveryLineIsOnDiskBeforeTheNext(t *testing.T) {
	dir := logbook(t, "joint")
	s := &script{t: t, end: prompt.ErrInterrupted, answers: []string{"thrusters=off", "battery_v=12.7", "thrusters=off", "battery_v=12.6"}}
	_, lines, err := interviewOf(t, dir, s).Run()
	assert.ErrorIs(t, err, prompt.ErrInterrupted)
	assert.Equal(t, 1, lines)
	log, err := session.Open(dir)
	require.NoError(t, err)
	assert.Len(t, log.Dives[30].Lines, 1, "the line being typed is lost, and no more")
}

func TestMoreAsksForEveryColumn(t *testing.T) {
	dir := logbook(t, "joint")
	s := &script{t: t, end: io.EOF, answers: []string{"serviced=more", "thrusters=off", "battery_v=12.7", "loop_ohm=1.2", "insulation_megohm=50", "note=back", "thrusters=done"}}
	_, _, err := interviewOf(t, dir, s).Run()
	require.NoError(t, err)
	log, err := session.Open(dir)
	require.NoError(t, err)
	l := log.Dives[30].Lines[0]
	assert.Equal(t, 1.2, l.Readings[quantity.LoopOhm].X)
	assert.Equal(t, "back", l.Note, "any words are a note")
}

// A column that the log does not have yet is in the person's units.
func TestMoreInFeet(t *testing.T) {
	dir := logbook(t, "joint")
	require.NoError(t, os.WriteFile(filepath.Join(dir, session.FileName), []byte("dive,date,thrusters,battery_v,trim_g\n"), 0o644))
	s := &script{t: t, end: io.EOF, answers: []string{"thrusters=more", "battery_v=12.7", "trim_g=40", "note=x"}}
	i := interviewOf(t, dir, s)
	i.Units = units.Imperial
	_, _, err := i.Run()
	require.NoError(t, err)
	for _, want := range []string{"depth_ft", "tether_out_ft", "water_f", "trim_g"} {
		assert.Contains(t, s.said.String(), want)
	}
	assert.NotContains(t, s.said.String(), "depth_m")
}

func TestResumesADive(t *testing.T) {
	dir := logbook(t, "joint")
	s := &script{t: t, end: io.EOF, answers: []string{"dive=30", "thrusters=off", "battery_v=12.6", "thrusters=done"}}
	dive, lines, err := interviewOf(t, dir, s).Run()
	require.NoError(t, err)
	assert.Equal(t, "30", dive)
	assert.Equal(t, 1, lines)
	assert.NotContains(t, s.said.String(), "date")
}

func TestAnEmptyLog(t *testing.T) {
	dir := logbook(t, "joint")
	require.NoError(t, os.WriteFile(filepath.Join(dir, session.FileName), []byte("dive,date,thrusters,battery_v,trim_oz,run_ft,run_s\n"), 0o644))
	s := &script{t: t, end: io.EOF, answers: []string{"thrusters=off", "battery_v=12.6", "trim_oz=3", "thrusters=port + starboard", "battery_v=11.9", "run_ft=30", "run_s=20", "thrusters=done"}}
	_, lines, err := interviewOf(t, dir, s).Run()
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
	s := &failing{script: script{t: t, end: io.EOF, answers: []string{"thrusters=off", "battery_v=12.7", "the=", "thrusters=done"}}}
	s.broken = func() { require.NoError(t, os.Remove(path)) }
	s.mended = func() { require.NoError(t, os.WriteFile(path, file, 0o644)) }
	_, lines, err := interviewOf(t, dir, s).Run()
	require.NoError(t, err)
	assert.Equal(t, 1, lines)
	assert.Contains(t, s.said.String(), "no such file")
}

// failing breaks the log's file while battery_v is asked for, and mends it
// when asked to try again.
type failing struct {
	script
	broken, mended func()
}

func (f *failing) Ask(question, preset string, words []string) (string, error) {
	if strings.HasPrefix(question, "battery_v") {
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
	word := rapid.OneOf(rapid.SampledFrom([]string{"", "off", "port", "port + starboard astern", "back", "more", "done", "?", "-", "12.3", "123", "yes", "on", "1,5", "NaN", "joint", "=1", "10:30", "-5"}), rapid.String())
	forecast := interviewOf(t, dir, nil).Forecast
	rapid.Check(t, func(rt *rapid.T) {
		require.NoError(t, os.WriteFile(path, before, 0o644))
		answers := rapid.SliceOfN(word, 0, 60).Draw(rt, "answers")
		var out bytes.Buffer
		old, err := session.Open(dir)
		require.NoError(t, err)
		i := &prompt.Interview{Prompter: prompt.Plain(strings.NewReader(strings.Join(answers, "\n")), &out), Folder: dir, Log: old, Width: 80,
			Today: time.Date(2026, 5, 9, 0, 0, 0, 0, time.UTC), Forecast: forecast.Clone(), Thrusters: []string{"port", "starboard", "vertical"}}
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

func TestNextDive(t *testing.T) {
	day := func(s string) time.Time {
		d, err := time.Parse(time.DateOnly, s)
		require.NoError(t, err)
		return d
	}
	for _, c := range []struct{ newest, of, today, want, date string }{
		{"30", "2026-05-02", "2026-05-09", "31", "2026-05-09"},
		{"30", "2026-05-09", "2026-05-09", "30", "2026-05-09"},
		{"P-009", "2026-05-02", "2026-05-09", "P-010", "2026-05-09"},
		{"pool", "2026-05-02", "2026-05-09", "pool-2", "2026-05-09"},
		{"30", "2026-05-02", "1970-01-01", "31", "2026-05-02"}, // a clock that lost its battery
	} {
		label, date := prompt.NextDive(&session.Log{Dives: []session.Dive{{Label: c.newest, Date: day(c.of)}}}, day(c.today))
		assert.Equal(t, c.want, label)
		assert.Equal(t, c.date, date.Format(time.DateOnly))
	}
	label, _ := prompt.NextDive(&session.Log{}, day("2026-05-09"))
	assert.Equal(t, "1", label)
}

func TestAmendment(t *testing.T) {
	dir := logbook(t, "joint")
	log, err := session.Open(dir)
	require.NoError(t, err)
	line := log.Dives[29].Lines[2].Number
	var out bytes.Buffer
	in := strings.NewReader(strings.Join([]string{"999", strconv.Itoa(line), "batery_v", "battery_v", "12.4", strconv.Itoa(line + 1), "battery_v", "x", strconv.Itoa(line + 2), "strike", "done"}, "\n"))
	a := &prompt.Amendment{Prompter: prompt.Plain(in, &out), Folder: dir, Log: log, Dive: "30", Today: time.Date(2026, 5, 9, 0, 0, 0, 0, time.UTC), Width: 80}
	n, err := a.Run()
	require.NoError(t, err, out.String())
	assert.Equal(t, 2, n)
	assert.Contains(t, out.String(), `found "batery_v", want a column (nearest: "battery_v")`)
	assert.Contains(t, out.String(), `found "x", want a number in V`)
	text, err := os.ReadFile(filepath.Join(dir, session.FileName))
	require.NoError(t, err)
	assert.Contains(t, string(text), "\n# 2026-05-09 changed, was: 30,,7,port + starboard,yes,12.34,8.2,8.5,0,8,,,,9.94,,,,\n30,,7,port + starboard,yes,12.4,8.2,8.5,0,8,,,,9.94,,,,\n")
	assert.Contains(t, string(text), "\n# 2026-05-09 struck, was: 30,,10,port,")
}

func TestDoubts(t *testing.T) {
	v := simulate.Fleet(3)
	f := fit.AsBuilt(v)
	log := &session.Log{}
	assert.Empty(t, prompt.Doubts(log, f, []session.Row{{"dive": "1", "thrusters": "off", "battery_v": "12.8"}}))
	got := prompt.Doubts(log, f, []session.Row{{"dive": "1", "thrusters": "off", "battery_v": "128"}})
	require.Len(t, got, 1)
	assert.Contains(t, got[0], "line 1, battery_v: 128? expected")
	assert.Empty(t, prompt.Doubts(log, nil, nil))
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
