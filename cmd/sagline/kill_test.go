//go:build !windows

package main

import (
	"bytes"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sagline/session"
)

// A ledger holds a logbook against what its writers were told is on disk.
type ledger struct {
	t         *testing.T
	dir       string
	confirmed []string // marks that stand in the file, each once
	killed    int
	midway    int // of them while a file was being written
}

// fresh begins a logbook with a vehicle and no dives.
func (l *ledger) fresh() {
	l.t.Helper()
	l.confirmed, l.dir = nil, l.t.TempDir()
	vehicle, err := os.ReadFile("../../examples/joint/vehicle.toml")
	require.NoError(l.t, err)
	require.NoError(l.t, os.WriteFile(filepath.Join(l.dir, "vehicle.toml"), vehicle, 0o644))
	require.NoError(l.t, os.WriteFile(l.log(), []byte("dive,date,thrusters,battery_v,note\n"), 0o644))
	hourAgo := time.Now().Add(-time.Hour).Truncate(time.Second) // a file just written is waited for, which is not what the writer takes
	require.NoError(l.t, os.Chtimes(l.log(), hourAgo, hourAgo))
	require.NoError(l.t, os.Chtimes(filepath.Join(l.dir, "vehicle.toml"), hourAgo, hourAgo))
}

func (l *ledger) log() string { return filepath.Join(l.dir, session.FileName) }

// check reads the file as anyone would.
func (l *ledger) check() {
	l.t.Helper()
	_, err := session.Open(l.dir)
	require.NoError(l.t, err)
	text, err := os.ReadFile(l.log())
	require.NoError(l.t, err)
	for _, mark := range l.confirmed {
		require.Equal(l.t, 1, strings.Count(string(text), mark), "%s was confirmed; the file is\n%s", mark, text)
	}
}

// being counts the files that are being written, or were when their writer was
// killed.
func (l *ledger) being() (n int) {
	entries, _ := os.ReadDir(l.dir)
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), ".sagline-") {
			n++
		}
	}
	return n
}

// run runs a command and kills it at a random moment of the time that it
// usually takes, or as soon as it has begun to write; one in five lives. It
// says whether the command was done before.
func (l *ledger) run(usual time.Duration, in io.Reader, out io.Writer, args ...string) (done bool) {
	l.t.Helper()
	cmd := sagline(args...)
	var said bytes.Buffer
	cmd.Stdin, cmd.Stdout, cmd.Stderr = in, out, &said
	cmd.WaitDelay = time.Second
	before := l.being()
	require.NoError(l.t, cmd.Start())
	ended := make(chan error, 1)
	go func() { ended <- cmd.Wait() }()
	l.moment(ended, before, usual)
	_ = cmd.Process.Kill()
	err := <-ended
	if len(ended) > 0 || err == nil {
		return err == nil
	}
	require.False(l.t, cmd.ProcessState.Exited(), "it failed by itself: %s", &said)
	l.killed++
	if l.being() > before {
		l.midway++
	}
	return false
}

// moment waits for the moment to kill.
func (l *ledger) moment(ended chan error, before int, usual time.Duration) {
	switch rand.IntN(5) {
	case 0: // this one lives
		for len(ended) == 0 {
			time.Sleep(time.Millisecond)
		}
		return
	case 1, 2:
		time.Sleep(rand.N(3 * usual / 2))
		return
	}
	for start := time.Now(); time.Since(start) < 2*usual && len(ended) == 0; time.Sleep(50 * time.Microsecond) {
		if l.being() > before {
			time.Sleep(rand.N(2 * time.Millisecond))
			return
		}
	}
}

// sagline is a command line of the program under test as a process.
func sagline(args ...string) *exec.Cmd {
	cmd := exec.Command("sagline", args...) // which TestMain puts on PATH
	cmd.Env = append(os.Environ(), "TERM=xterm", "NO_COLOR=1")
	return cmd
}

// usual is how long a command line takes.
func usual(t *testing.T, in io.Reader, args ...string) time.Duration {
	t.Helper()
	start := time.Now()
	cmd := sagline(args...)
	cmd.Stdin = in
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, string(out))
	return time.Since(start)
}

// season is how many kills one logbook lives through.
const season = 50

// A line that add says is written outlives the program, whenever that is
// killed, and whoever comes next finds a file that reads.
func TestKilledWhileAdding(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	t.Parallel()
	l := &ledger{t: t}
	took, confirmed := time.Second, 0
	for k := 0; l.killed < kills; k++ {
		if k%season == 0 {
			l.fresh()
			took = usual(t, nil, "add", l.dir, "--dive", "1", "--battery-v", "12.5")
		}
		mark := fmt.Sprintf("mark %d.", k)
		if l.run(took, nil, nil, "add", l.dir, "--dive", "1", "--thrusters", "off", "--battery-v", "12.5", "--note", mark) {
			l.confirmed = append(l.confirmed, mark)
			confirmed++
		}
		l.check()
	}
	t.Logf("%d killed, %d of them midway through writing; %d lines confirmed", l.killed, l.midway, confirmed)
}

// rowOf is a line that add shows once it is on disk.
var rowOf = regexp.MustCompile(`\d+ on disk: off, battery_v (12\.\d{6}) `)

// someLines are answers to add's questions: a dive and its date, then thrusters
// and a voltage of its own for each line.
func someLines(dive int) string {
	var b strings.Builder
	fmt.Fprintf(&b, "dive d%d date 2026-05-02\n", dive)
	for k := range 4 {
		fmt.Fprintf(&b, "off\n12.%04d%02d\n\n", dive, k)
	}
	return b.String()
}

// A line that stands in the table is on disk, however the interview ends.
func TestKilledWhileAsked(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	t.Parallel()
	l := &ledger{t: t}
	took, confirmed := time.Second, 0
	for k := 0; l.killed < kills; k++ {
		if k%season == 0 {
			l.fresh()
			took = usual(t, strings.NewReader(someLines(9999)), "add", l.dir, "--plain")
		}
		var out bytes.Buffer
		l.run(took, strings.NewReader(someLines(k)), &out, "add", l.dir, "--plain")
		seen := map[string]bool{}
		for _, m := range rowOf.FindAllStringSubmatch(out.String(), -1) {
			if !seen[m[1]] {
				l.confirmed = append(l.confirmed, m[1])
				confirmed++
			}
			seen[m[1]] = true
		}
		l.check()
	}
	t.Logf("%d killed, %d of them midway through writing; %d lines confirmed", l.killed, l.midway, confirmed)
}

// A line that is changed is the old one or the new one, and every version that
// was confirmed is still in the file.
func TestKilledWhileAmending(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	t.Parallel()
	l := &ledger{t: t}
	took, confirmed := time.Second, 0
	for k := 0; l.killed < kills; k++ {
		if k%season == 0 {
			l.fresh()
			usual(t, nil, "add", l.dir, "--dive", "1", "--battery-v", "12.5")
			took = usual(t, nil, "amend", l.dir, "--line", "2", "--battery-v", "12.4")
		}
		log, err := session.Open(l.dir)
		require.NoError(t, err)
		require.Len(t, log.Dives[0].Lines, 1)
		mark := fmt.Sprintf("mark %d.", k)
		if l.run(took, nil, nil, "amend", l.dir, "--line", fmt.Sprint(log.Dives[0].Lines[0].Number), "--note", mark) {
			l.confirmed = append(l.confirmed, mark)
			confirmed++
		}
		l.check()
	}
	t.Logf("%d killed, %d of them midway through writing; %d changes confirmed", l.killed, l.midway, confirmed)
}

// A file is taken in whole or not at all, and what was confirmed is there.
func TestKilledWhileImporting(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	t.Parallel()
	l := &ledger{t: t}
	took, confirmed, file := time.Second, 0, filepath.Join(t.TempDir(), "old.csv")
	const lines = 40
	foreign := func(k int) {
		var b strings.Builder
		b.WriteString("Dive no,Date,Motors,Batt. Voltage (V),Remarks\n")
		day := time.Date(2026, 5, 2+k, 0, 0, 0, 0, time.UTC).Format(time.DateOnly) // a day that the log has is not taken in again
		for i := range lines {
			fmt.Fprintf(&b, "k%d,%s,off,12.%d,mark %d of %d.\n", k, day, 50+i%10, i, k)
		}
		require.NoError(t, os.WriteFile(file, []byte(b.String()), 0o644))
	}
	for k := 1; l.killed < kills; k++ {
		if k%(season/5) == 1 {
			l.fresh()
			foreign(0)
			took = usual(t, nil, "import", file, l.dir, "--write")
		}
		foreign(k)
		done := l.run(took, nil, nil, "import", file, l.dir, "--write")
		if done {
			confirmed++
			for i := range lines {
				l.confirmed = append(l.confirmed, fmt.Sprintf("mark %d of %d.", i, k))
			}
		}
		l.check()
		text, err := os.ReadFile(l.log())
		require.NoError(t, err)
		require.Contains(t, []int{0, lines}, strings.Count(string(text), fmt.Sprintf(" of %d.", k)), "all of a file or nothing")
	}
	t.Logf("%d killed, %d of them midway through writing; %d files of %d lines confirmed", l.killed, l.midway, confirmed, lines)
}

// vehicle.toml is the old one or the new one, and once confirmed the new.
func TestKilledWhileRemembering(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	l := &ledger{t: t}
	l.fresh()
	texts, system := map[string]string{}, []string{"metric", "imperial"}
	var took time.Duration
	for _, u := range system {
		took = usual(t, nil, "check", l.dir, "--units", u, "--remember")
		text, err := os.ReadFile(filepath.Join(l.dir, "vehicle.toml"))
		require.NoError(t, err)
		texts[string(text)] = u
	}
	require.Len(t, texts, 2)
	confirmed := 0
	for k := 0; l.killed < kills/4; k++ {
		u := system[k%2]
		done := l.run(took, nil, nil, "check", l.dir, "--units", u, "--remember")
		text, err := os.ReadFile(filepath.Join(l.dir, "vehicle.toml"))
		require.NoError(t, err)
		require.Contains(t, texts, string(text))
		if done {
			require.Equal(t, u, texts[string(text)])
			confirmed++
		}
	}
	t.Logf("%d killed, %d of them midway through writing; %d choices confirmed", l.killed, l.midway, confirmed)
}

// In a terminal too: the keys of several lines are typed ahead.
func TestKilledInATerminal(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	l := &ledger{t: t}
	confirmed := 0
	for k := range 1 + kills/10 {
		if k%season == 0 {
			l.fresh()
		}
		x := startTerminal(t, "add", l.dir)
		x.wait(0, " > ")
		x.keys(strings.ReplaceAll(someLines(k), "\n", "\r"))
		if k%2 == 0 {
			time.Sleep(rand.N(100 * time.Millisecond))
		} else {
			x.wait(0, fmt.Sprintf("12.%04d%02d", k, rand.IntN(3)))
		}
		_ = x.cmd.Process.Kill()
		x.exit()
		seen := map[string]bool{}
		for _, m := range rowOf.FindAllStringSubmatch(strings.ReplaceAll(x.screen(), "\r", ""), -1) {
			if !seen[m[1]] {
				l.confirmed = append(l.confirmed, m[1])
				confirmed++
			}
			seen[m[1]] = true
		}
		l.check()
	}
	t.Logf("%d killed; %d lines confirmed", 1+kills/10, confirmed)
}
