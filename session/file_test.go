package session

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding/unicode"
)

// folderWith is a folder whose dives.csv has the given bytes.
func folderWith(t *testing.T, file string) string {
	t.Helper()
	dir := t.TempDir()
	path, ago := filepath.Join(dir, FileName), time.Now().Add(-time.Minute) // a file that no one is writing
	require.NoError(t, os.WriteFile(path, []byte(file), 0o644))
	require.NoError(t, os.Chtimes(path, ago, ago))
	return dir
}

func fileOf(t *testing.T, dir string) string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(dir, FileName))
	require.NoError(t, err)
	return string(b)
}

func appending(e ...Row) func(*File) error { return func(s *File) error { return s.Append(e...) } }

func TestAppendKeepsTheRestByteForByte(t *testing.T) {
	utf16 := func(s string) string {
		out, err := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().String(s)
		require.NoError(t, err)
		return out
	}
	line := Row{"dive": "2", "date": "2026-05-09", "thrusters": "port", "battery_v": "12.6", "note": `a "b", c; d`}
	for _, c := range []struct{ name, file, want string }{
		{"plain", "dive,date,thrusters,battery_v,note\n1,2026-05-02,off,12.7,\n",
			"dive,date,thrusters,battery_v,note\n1,2026-05-02,off,12.7,\n2,2026-05-09,port,12.6,\"a \"\"b\"\", c; d\"\n"},
		{"no line end at the end", "dive,date,thrusters,battery_v,note\n1,2026-05-02,off,12.7,",
			"dive,date,thrusters,battery_v,note\n1,2026-05-02,off,12.7,\n2,2026-05-09,port,12.6,\"a \"\"b\"\", c; d\"\n"},
		{"comments, unknown columns, odd order, a blank tail",
			"# club log\nweather,note,dive, battery_v ,thrusters,date\n# spring\nfine,,1,12.70,off,2026-05-02\n,,,,,\n\n",
			"# club log\nweather,note,dive, battery_v ,thrusters,date\n# spring\nfine,,1,12.70,off,2026-05-02\n,\"a \"\"b\"\", c; d\",2,12.6,port,2026-05-09\n,,,,,\n\n"},
		{"semicolons, decimal commas, CR LF, byte-order mark",
			"\ufeffdive;date;thrusters;battery_v;note\r\n1;2026-05-02;off;12,7;\"two\r\nlines\"\r\n",
			"\ufeffdive;date;thrusters;battery_v;note\r\n1;2026-05-02;off;12,7;\"two\r\nlines\"\r\n2;2026-05-09;port;12,6;\"a \"\"b\"\", c; d\"\r\n"},
		{"semicolons with points", "dive;date;thrusters;battery_v;note\n1;2026-05-02;off;12.7;\n",
			"dive;date;thrusters;battery_v;note\n1;2026-05-02;off;12.7;\n2;2026-05-09;port;12.6;\"a \"\"b\"\", c; d\"\n"},
		{"UTF-16 with tabs", utf16("dive\tdate\tthrusters\tbattery_v\tnote\r\n1\t2026-05-02\toff\t12.7\tß\r\n"),
			utf16("dive\tdate\tthrusters\tbattery_v\tnote\r\n1\t2026-05-02\toff\t12.7\tß\r\n2\t2026-05-09\tport\t12.6\t\"a \"\"b\"\", c; d\"\r\n")},
		{"CR alone", "dive,date,thrusters,battery_v,note\r1,2026-05-02,off,12.7,\r",
			"dive,date,thrusters,battery_v,note\r1,2026-05-02,off,12.7,\r2,2026-05-09,port,12.6,\"a \"\"b\"\", c; d\"\r"},
		{"a header alone", "dive,date,thrusters,battery_v,note\n", "dive,date,thrusters,battery_v,note\n2,2026-05-09,port,12.6,\"a \"\"b\"\", c; d\"\n"},
		{"a column that is not there yet, trailing separators", "dive,date,note,,\n1,2026-05-02,x,,\n",
			"dive,date,note,thrusters,battery_v\n1,2026-05-02,x,,\n2,2026-05-09,\"a \"\"b\"\", c; d\",port,12.6\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := folderWith(t, c.file)
			require.NoError(t, Edit(dir, appending(line)))
			assert.Equal(t, c.want, fileOf(t, dir))
			assert.Equal(t, []string{FileName}, leftIn(t, dir), "nothing else")
		})
	}
}

func TestAppendToADive(t *testing.T) {
	dir := folderWith(t, "dive,date,depth_ft\n1,2026-05-02,\n1,,3\n2,2026-05-09,\n")
	require.NoError(t, Edit(dir, appending(Row{"dive": "1", "date": "2026-05-02", "depth_m": "3.048"}, Row{"dive": "2", "depth_ft": "7"})))
	assert.Equal(t, "dive,date,depth_ft\n1,2026-05-02,\n1,,3\n1,,10\n2,2026-05-09,\n2,,7\n", fileOf(t, dir))
}

// Rows of several dives at once each go to the end of their dive, whatever was
// put before them.
func TestAppendToSeveralDives(t *testing.T) {
	dir := folderWith(t, "dive,date,note\n1,2026-05-02,a\n# between\n2,2026-05-09,b\n3,2026-05-10,c\n,,\n\n")
	require.NoError(t, Edit(dir, appending(Row{"dive": "2", "note": "d"}, Row{"dive": "1", "note": "e"}, Row{"dive": "4", "date": "2026-05-11", "note": "f"}, Row{"dive": "2", "note": "g"},
		Row{"dive": "3", "note": "h"}, Row{"dive": "1", "note": "i"}, Row{"dive": "4", "note": "j"}, Row{"dive": "5", "date": "2026-05-12"})))
	assert.Equal(t, "dive,date,note\n1,2026-05-02,a\n1,,e\n1,,i\n# between\n2,2026-05-09,b\n2,,d\n2,,g\n3,2026-05-10,c\n3,,h\n4,2026-05-11,f\n4,,j\n5,2026-05-12,\n,,\n\n", fileOf(t, dir))
}

// The rows of an edit are found by their lines after each change of it,
// whatever its line ends are.
func TestSeveralChangesOfOneEdit(t *testing.T) {
	for _, end := range []string{"\n", "\r\n", "\r"} {
		lines := func(l ...string) string { return strings.Join(l, end) + end }
		dir := folderWith(t, lines("dive,date,note", "1,2026-05-02,\"a"+end+"b\"", "1,,c", "1,,d"))
		require.NoError(t, Edit(dir, func(f *File) error {
			require.NoError(t, f.Strike(4, "x"))
			require.NoError(t, f.Replace(5, Row{"note": "e"}, "y"))
			return f.Replace(6, Row{"note": "f"}, "z")
		}))
		assert.Equal(t, lines("dive,date,note", "1,2026-05-02,\"a"+end+"b\"", "# x: 1,,c", "# y: 1,,d", "# z: 1,,e", "1,,f"), fileOf(t, dir), "%q", end)
		for _, line := range []int{0, 1, 3, 4, 5, 99} {
			assert.ErrorContains(t, Edit(dir, func(f *File) error { return f.Strike(line, "x") }), "no reading begins on this line", "%d", line)
		}
	}
}

// What a struck line says of later ones goes to the next: of another dive the
// battery alone.
func TestStrikeHandsOn(t *testing.T) {
	dir := folderWith(t, "dive,date,battery,water_c,salinity_psu,tether_out_m,note\n1,2026-05-02,A,9,33,12,x\n1,,,,,,\n2,2026-05-09,,8,,,\n3,2026-05-10,B,7,,,\n4,2026-05-11,,,,,")
	require.NoError(t, Edit(dir, func(f *File) error { return f.Strike(2, "gone") }))
	require.NoError(t, Edit(dir, func(f *File) error { return f.Strike(3, "gone") }))
	require.NoError(t, Edit(dir, func(f *File) error { return f.Strike(5, "gone") }))
	assert.Equal(t, "dive,date,battery,water_c,salinity_psu,tether_out_m,note\n# gone: 1,2026-05-02,A,9,33,12,x\n# gone: 1,2026-05-02,A,9,33,12,\n2,2026-05-09,A,8,,,\n# gone: 3,2026-05-10,B,7,,,\n4,2026-05-11,B,,,,", fileOf(t, dir))
	require.NoError(t, Edit(dir, func(f *File) error { return f.Strike(6, "gone") }), "the last has no next")
}

func TestViewOfAFileThatIsDamaged(t *testing.T) {
	dir := folderWith(t, "dive,date,note\n1,2026-05-02,\"open\n1,,\n")
	_, err := View(dir)
	assert.ErrorContains(t, err, `dives.csv:2: column "note": found a quoted cell`)
}

func TestNoCellRunsInASpreadsheet(t *testing.T) {
	dir := folderWith(t, "dive,date,thrusters,note\n")
	require.NoError(t, Edit(dir, appending(Row{"dive": "=1+1", "date": "2026-05-02", "note": "@SUM(A1)"}, Row{"dive": "=1+1", "note": "-2 g"}, Row{"dive": "=1+1", "trim_g": "-2"})))
	assert.Equal(t, "dive,date,thrusters,note,trim_g\n'=1+1,2026-05-02,,'@SUM(A1)\n'=1+1,,,'-2 g\n'=1+1,,,,-2\n", fileOf(t, dir))
	log, err := Open(dir)
	require.NoError(t, err)
	assert.Equal(t, "=1+1", log.Dives[0].Label)
	assert.Equal(t, "-2 g", log.Dives[0].Lines[1].Note)
}

func TestAppendRefuses(t *testing.T) {
	const file = "dive,date,battery_v\n1,2026-05-02,12.7\n"
	for _, c := range []struct {
		entry Row
		want  string
	}{
		{Row{"dive": "2", "date": "2026-05-09", "battery_v": "12,6"}, `column "battery_v": found "12,6"`},
		{Row{"dive": "2", "date": "2026-05-09", "battery_c": "12.6"}, `column "battery_c": unknown (nearest: "battery_v")`},
		{Row{"dive": "2", "date": "2026-04-09"}, "found 2026-04-09 after 2026-05-02, want dates in order"},
		{Row{"dive": "2", "date": "2026-04-31"}, `column "date": found "2026-04-31", want a day as 2026-05-31`},
		{Row{"dive": "2", "date": "2026-05-09", "run_m": "10"}, "given without run_s, want both"},
	} {
		dir := folderWith(t, file)
		assert.ErrorContains(t, Edit(dir, appending(c.entry)), c.want)
		assert.Equal(t, file, fileOf(t, dir))
	}
}

// A problem elsewhere in the file must not keep a person from writing down
// what they have just read.
func TestAppendBesideAnOldProblem(t *testing.T) {
	dir := folderWith(t, "dive,date,battery_v\n1,2026-05-02,12.x\n")
	require.NoError(t, Edit(dir, appending(Row{"dive": "1", "battery_v": "12.6"})))
	assert.Equal(t, "dive,date,battery_v\n1,2026-05-02,12.x\n1,,12.6\n", fileOf(t, dir))
}

func TestTornLineIsKeptAside(t *testing.T) {
	for _, torn := range []string{`1,,"half a no`, "1,,x1", "1,2026-05"} {
		dir := folderWith(t, "dive,date,battery_v,note\n1,2026-05-02,12.7,\n"+torn)
		kept := ""
		require.NoError(t, Edit(dir, func(s *File) error {
			kept = s.CutOff
			return s.Append(Row{"dive": "1", "battery_v": "12.6"})
		}))
		assert.Contains(t, kept, ":3: the last line was cut off")
		assert.Equal(t, "dive,date,battery_v,note\n1,2026-05-02,12.7,\n1,,12.6,\n# cut off, kept aside: "+torn+"\n", fileOf(t, dir))
	}
}

// A quote that is left open costs its own line and no other: it must be mended
// before anything is written, but for a last line that was cut off.
func TestAnOpenQuoteIsMendedFirst(t *testing.T) {
	const head = "dive,date,battery_v,note\n1,2026-05-02,12.7,\n"
	day := time.Date(2026, 5, 3, 0, 0, 0, 0, time.UTC)
	for _, middle := range []string{"1,,12.6,\"open\n", "1,,12.6,close\"\n", "1,,12.6,\"a\" b\n"} {
		file := head + middle + "2,2026-05-09,12.5,\"a, b\"\n2,,12.4,\n"
		dir := folderWith(t, file)
		for _, change := range []func(*File) error{
			appending(Row{"dive": "2", "battery_v": "12.3"}),
			func(f *File) error { return f.Replace(2, Row{"battery_v": "12.8"}, ChangeNote("changed", day)) },
			func(f *File) error { return f.Strike(5, ChangeNote("struck", day)) },
		} {
			assert.ErrorContains(t, Edit(dir, change), `dives.csv:3: column "note": found a `)
			assert.Equal(t, file, fileOf(t, dir))
		}
	}
	torn := head + strings.Repeat("1,,12.6,\n", 300) + "1,,12.5,\"open"
	dir := folderWith(t, torn)
	require.NoError(t, Edit(dir, appending(Row{"dive": "1", "battery_v": "12.3"})))
	assert.Equal(t, head+strings.Repeat("1,,12.6,\n", 300)+"1,,12.3,\n# cut off, kept aside: 1,,12.5,\"open\n", fileOf(t, dir))
}

func TestReplaceAndStrike(t *testing.T) {
	const file = "dive;date;water_c;battery_v;note\r\n1;2026-05-02;8,5;12,7;\"x\r\ny\"\r\n1;;;12,6;\r\n"
	day := time.Date(2026, 5, 3, 0, 0, 0, 0, time.UTC)
	dir := folderWith(t, file)
	require.NoError(t, Edit(dir, func(s *File) error { return s.Replace(4, Row{"battery_v": "12.4"}, ChangeNote("changed", day)) }))
	assert.Equal(t, "dive;date;water_c;battery_v;note\r\n1;2026-05-02;8,5;12,7;\"x\r\ny\"\r\n# 2026-05-03 changed, was: 1;;;12,6;\r\n1;;;12,4;\r\n", fileOf(t, dir))

	require.NoError(t, Edit(dir, func(s *File) error { return s.Strike(2, ChangeNote("struck", day)) }))
	assert.Equal(t, "dive;date;water_c;battery_v;note\r\n# 2026-05-03 struck, was: 1;2026-05-02;8,5;12,7;\"x\r\n# y\"\r\n"+
		"# 2026-05-03 changed, was: 1;;;12,6;\r\n1;2026-05-02;8,5;12,4;\r\n", fileOf(t, dir))

	assert.ErrorContains(t, Edit(dir, func(s *File) error { return s.Replace(3, Row{}, "") }), ":3: no reading begins on this line")
	assert.ErrorContains(t, Edit(dir, func(s *File) error { return s.Replace(5, Row{"battery_v": "x"}, "") }), `:5: column "battery_v": found "x"`)
	require.NoError(t, Edit(dir, func(s *File) error {
		e, err := s.Row(5)
		assert.Equal(t, Row{"dive": "1", "date": "2026-05-02", "water_c": "8.5", "battery_v": "12.4"}, e)
		return err
	}))
}

// To view leaves a folder as it is, even where nothing can be written or a line
// would be kept aside.
func TestViewWritesNothing(t *testing.T) {
	const file = "dive,date,battery_v\n1,2026-05-02,12.7\n1,,\"x"
	dir := folderWith(t, file)
	require.NoError(t, os.Chmod(dir, 0o555))
	defer os.Chmod(dir, 0o755)
	s, err := View(dir)
	require.NoError(t, err)
	assert.Equal(t, "1", s.NewestDive())
	assert.Contains(t, s.CutOff, ":3: the last line was cut off")
	assert.Equal(t, file, fileOf(t, dir))
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, entries, 1)
	_, err = View(t.TempDir())
	assert.ErrorContains(t, err, "no such file")
}

// FuzzFile: what Read accepts can be written into, and nothing else changes.
func FuzzFile(f *testing.F) {
	for _, seed := range []string{
		"dive,date\n1,2026-05-02\n", "\ufeffdive;date;note\r\n1;2026-05-02;\"a\r\nb\"", "# c\n\ndive\tdate\t\n1\t2026-05-02\n\t\t\n",
		"dive,date\r1,2026-05-02\r#x", "dive,date\n1,2026-05-02\n \n,\n",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, in []byte) {
		old, err := Read(strings.NewReader(string(in)), "dives.csv")
		if err != nil || len(old.Dives) == 0 {
			return
		}
		s, err := OpenText("dives.csv", string(in))
		if err != nil {
			return // bytes that are not text in a comment
		}
		same, err := s.encoded.encode(s.text())
		require.NoError(t, err)
		require.Equal(t, string(in), same)
		last := &old.Dives[len(old.Dives)-1]
		require.NoError(t, s.Append(Row{"dive": last.Label, "note": "x"}))
		require.NoError(t, s.noWorse(s.text()))
		require.NotNil(t, s.Log)
		now := &s.Log.Dives[len(s.Log.Dives)-1]
		require.Len(t, now.Lines, len(last.Lines)+1)
		require.Equal(t, "x", now.Lines[len(last.Lines)].Note)
		now.Lines = now.Lines[:len(last.Lines)]
		require.Empty(t, difference(old, s.Log, 0))
	})
}
