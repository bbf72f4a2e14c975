package session

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"runtime"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// endless is one byte for ever.
type endless byte

func (e endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = byte(e)
	}
	return len(p), nil
}

// refused reads text followed by n bytes more, and returns the error and how
// many bytes were allocated for it.
func refused(t *testing.T, text string, b byte, n int64) (string, uint64) {
	t.Helper()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	_, err := Read(io.MultiReader(strings.NewReader(text), io.LimitReader(endless(b), n)), "dives.csv")
	runtime.ReadMemStats(&after)
	require.Error(t, err)
	return err.Error(), after.TotalAlloc - before.TotalAlloc
}

func TestHugeThingsAreOneLineAndLittleMemory(t *testing.T) {
	const most = 16 << 20 // bytes: what is buffered, and a header of nothing but separators in three readings
	for _, c := range []struct {
		text string
		b    byte
		n    int64
		want string
	}{
		{"dive,date\n", '9', 80 << 20, `dives.csv:2: column "dive": found a cell of more than 65536 bytes, want at most that many`},
		{"dive,date\n1,2026-05-02\n1,\"", 'x', 80 << 20, `dives.csv:3: column "date": found a cell of more than 65536 bytes, want at most that many; is its closing quote missing?`},
		{"dive,date,note\n1,2026-05-02,\"", '\n', 80 << 20, `dives.csv:2: column "note": found a cell of more than 65536 bytes, want at most that many; is its closing quote missing?`},
		{"", 'x', 80 << 20, `dives.csv:1: found a cell of more than 65536 bytes, want at most that many`},
		{"", ',', 80 << 20, `dives.csv:1: found more than 16384 cells, want at most that many`},
		{"dive,date\n1,2026-05-02\n", ',', 80 << 20, `dives.csv:3: found more than 16384 cells, want at most that many`},
		{"# ", 'x', MaxBytes, `dives.csv: found more than 268435456 bytes, want at most that many`},
		{"# ", 'x', 80 << 20, `dives.csv: empty file, want a header line`},
	} {
		got, allocated := refused(t, c.text, c.b, c.n)
		assert.Equal(t, c.want, got)
		assert.Less(t, allocated, uint64(most), c.want)
	}
}

func TestHugeCommentIsNotGathered(t *testing.T) {
	text := io.MultiReader(strings.NewReader(header+"# "), io.LimitReader(endless('x'), 8<<20), strings.NewReader("\n1,2026-05-02\n"))
	log, err := Read(text, "dives.csv")
	require.NoError(t, err)
	assert.Equal(t, 3, log.Dives[0].Lines[0].Number)
}

// What stood before the cell that is too large is told with it.
func TestHugeCellHidesNoProblem(t *testing.T) {
	got, _ := refused(t, "dive,date,held\n1,2026-05-02,maybe\n1,,\"", 'x', 1<<20)
	assert.Equal(t, []string{
		`dives.csv:2: column "held": found "maybe", want yes, no or nothing`,
		`dives.csv:3: column "held": found a cell of more than 65536 bytes, want at most that many; is its closing quote missing?`,
	}, strings.Split(got, "\n"))
}

func TestCellAtTheLimitIsRead(t *testing.T) {
	note := strings.Repeat("x", MaxCell-2)
	log := read(t, "dive,date,note\n1,2026-05-02,"+note+"\n1,,\""+note+"\"\n")
	assert.Len(t, log.Dives[0].Lines[0].Note, MaxCell-2)
	assert.Equal(t, log.Dives[0].Lines[0].Note, log.Dives[0].Lines[1].Note)
}

func TestTooManyLines(t *testing.T) {
	if testing.Short() {
		t.Skip("reads a hundred thousand lines")
	}
	text := "dive,date\n1,2026-05-02\n" + strings.Repeat("\n", MaxLines-2)
	log := read(t, text)
	assert.Len(t, log.Dives[0].Lines, 1, "blank lines are not counted")
	_, err := Read(strings.NewReader(text+"1,\n"), "dives.csv")
	assert.EqualError(t, err, "dives.csv:100001: found more than 100000 lines, want at most that many")
}

// A log takes no more memory than eight times its file and 64 MiB, whatever
// stands on its lines: much, next to nothing, all numbers, a dive each, or one
// dive alone.
func TestMemoryOfALongLog(t *testing.T) {
	if testing.Short() {
		t.Skip("reads a hundred thousand lines, five times")
	}
	one := func(header, first, line string, n int) []byte {
		return []byte(header + first + strings.Repeat(line, n-2))
	}
	var each bytes.Buffer
	each.WriteString("dive,date\n")
	for d := range MaxLines - 1 {
		fmt.Fprintf(&each, "%d,2026-05-02\n", d)
	}
	numbers := "dive,date,minute,battery_v,current_a,vehicle_v,depth_m,tether_out_m,run_m,run_s,run_back_s,climb_m,climb_s,trim_g,pull_n,loop_ohm,insulation_megohm,water_c,salinity_psu,ballast_g\n"
	for name, text := range map[string][]byte{
		"as people keep it": manyLines(MaxLines - 1),
		"next to nothing":   one("dive,date\n", "1,2026-05-02\n", "1\n", MaxLines),
		"all numbers":       one(numbers, "1,2026-05-02\n", "1,,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1\n", MaxLines),
		"carried":           one("dive,date,tether_out_m,water_c\n", "1,2026-05-02,1,1\n", "1\n", MaxLines),
		"a dive each":       each.Bytes(),
	} {
		var before, after runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&before)
		log, err := Read(bytes.NewReader(text), "dives.csv")
		require.NoError(t, err, name)
		runtime.GC()
		runtime.ReadMemStats(&after)
		got, most := after.HeapAlloc-before.HeapAlloc, uint64(8*len(text)+64<<20)
		t.Logf("%s: %d MiB for %d", name, got>>20, len(text)>>20)
		assert.Less(t, got, most, name)
		runtime.KeepAlive(log)
	}
}

func TestManyUnknownColumnsAreWarnedOfInFiftyLines(t *testing.T) {
	log := read(t, "dive"+strings.Repeat(",x", 70)+"\n")
	require.Len(t, log.Warnings, 51)
	assert.EqualError(t, log.Warnings[50], "dives.csv:1: … and 20 more unknown columns")
	assert.Len(t, log.Columns, 71)
}

func TestAtMostTellsOnlyOfMore(t *testing.T) {
	for _, n := range []int{9, 10} {
		got, err := io.ReadAll(&atMost{strings.NewReader(strings.Repeat("x", n)), 10})
		require.NoError(t, err)
		assert.Len(t, got, n)
	}
	more := &atMost{strings.NewReader(strings.Repeat("x", 11)), 10}
	got, err := io.ReadAll(more)
	assert.ErrorIs(t, err, errTooBig)
	assert.Len(t, got, 10)
	n, err := more.Read(make([]byte, 3))
	assert.ErrorIs(t, err, errTooBig, "and goes on telling")
	assert.Zero(t, n)
}

// The guard sees lines, quotes and comments as the CSV reader does: through
// it, rows come out as they do without it.
func TestGuardFollowsTheCSVReader(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOf(rapid.SampledFrom([]rune("a#\",;\n \tδ"))).Draw(t, "text")
		sep := rapid.SampledFrom([]byte(",;\t")).Draw(t, "separator")
		guarded := iotest.OneByteReader(strings.NewReader(text))
		want := splitAll(strings.NewReader(text), sep, '#')
		got := splitAll(&guard{src: guarded, separator: sep, line: 1}, sep, 0)
		assert.Equal(t, want, got)
	})
}

type split struct {
	cells []string
	line  int
	stray bool
}

func splitAll(r io.Reader, sep byte, comment rune) (out []split) {
	c := csv.NewReader(r)
	c.Comma, c.Comment, c.FieldsPerRecord = rune(sep), comment, -1
	for {
		row, err := c.Read()
		var stray *csv.ParseError
		switch {
		case errors.As(err, &stray):
			out = append(out, split{line: stray.StartLine, stray: true})
		case err != nil:
			return out
		default:
			line, _ := c.FieldPos(0)
			out = append(out, split{row, line, false})
		}
	}
}
