//go:build !windows

package main

import (
	"bytes"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// terminalOf runs a command line in a terminal of 80 × 24.
type terminalOf struct {
	t    *testing.T
	tty  *os.File
	cmd  *exec.Cmd
	mu   sync.Mutex
	text bytes.Buffer
	read chan struct{}
}

func startTerminal(t *testing.T, args ...string) *terminalOf {
	t.Helper()
	exe, err := os.Executable()
	require.NoError(t, err)
	cmd := &exec.Cmd{Path: exe, Args: append([]string{"sagline"}, args...), Env: append(os.Environ(), "TERM=xterm", "NO_COLOR=1")}
	tty, err := pty.StartWithSize(cmd, &pty.Winsize{Rows: 24, Cols: 80})
	if err != nil {
		t.Skip("no pseudo-terminal here:", err)
	}
	x := &terminalOf{t: t, tty: tty, cmd: cmd, read: make(chan struct{})}
	go func() {
		defer close(x.read)
		buf := make([]byte, 4096)
		for {
			n, err := tty.Read(buf)
			x.mu.Lock()
			x.text.Write(buf[:n])
			x.mu.Unlock()
			// The line editor asks where the cursor is; a terminal answers
			// (ECMA-48, device status report and active position report).
			for range bytes.Count(buf[:n], []byte("\x1b[6n")) {
				_, _ = tty.WriteString("\x1b[1;1R")
			}
			if err != nil {
				return
			}
		}
	}()
	t.Cleanup(func() { _ = cmd.Process.Kill(); _ = tty.Close() })
	return x
}

var escapes = regexp.MustCompile(`\x1b\[[0-9;?]*[A-Za-z]`)

// screen is what was printed, escapes left out.
func (x *terminalOf) screen() string {
	x.mu.Lock()
	defer x.mu.Unlock()
	return escapes.ReplaceAllString(x.text.String(), "")
}

// wait waits until text is on the screen after the part seen before.
func (x *terminalOf) wait(seen int, text string) int {
	x.t.Helper()
	for range 1500 {
		if i := strings.Index(x.screen()[min(seen, len(x.screen())):], text); i >= 0 {
			return seen + i + len(text)
		}
		time.Sleep(10 * time.Millisecond)
	}
	require.Failf(x.t, "not on the screen", "%q in\n%s", text, x.screen())
	return 0
}

func (x *terminalOf) keys(keys string) {
	x.t.Helper()
	_, err := x.tty.WriteString(keys)
	require.NoError(x.t, err)
}

// exit is the exit code, once all that was printed is read.
func (x *terminalOf) exit() int {
	_ = x.cmd.Wait()
	<-x.read
	return x.cmd.ProcessState.ExitCode()
}

// Keys that are typed faster than questions are asked are not lost, and Tab
// completes a thruster's name.
func TestAddInATerminal(t *testing.T) {
	dir := copyExample(t, "joint")
	x := startTerminal(t, "add", dir)
	at := x.wait(0, "dive 31")
	x.keys("joint 14.5C date 2026-05-09\r2 off 12.7 0 4\rpo\t+st\t held 123 8.1 8.5 0 8 9.9\ry\r")
	x.wait(at, "battery_v 123, should be 12.")
	at = x.wait(at, "2 on disk: port + starboard, held")
	x.keys("12\x7f\x7fdone\r")
	x.wait(at, "next: ")
	assert.Equal(t, exitDone, x.exit(), x.screen())
	text, err := os.ReadFile(filepath.Join(dir, session.FileName))
	require.NoError(t, err)
	assert.True(t, strings.HasSuffix(string(text), "\n31,2026-05-09,2,off,,12.7,,,0,4,,,,,14.5,,joint,\n31,,,port + starboard,yes,12.3,8.1,8.5,0,8,,,,9.9,,,,\n"), string(text[len(text)-200:]))
}

// A line that is on disk stays there, whether the person breaks off or the
// terminal is closed.
func TestTheLineBeingTypedAloneIsLost(t *testing.T) {
	for _, end := range []string{"ctrl-C", "closed", "ctrl-D"} {
		dir := copyExample(t, "joint")
		x := startTerminal(t, "add", dir)
		x.wait(0, "dive 31")
		x.keys("\r2 off 12.7 0 4\r")
		at := x.wait(0, "1 on disk: minute 2, off")
		at = x.wait(at, "2 > ") // until it asks, keys are the terminal's, and so is ctrl-C
		x.keys("9 p+s held 12.3")
		x.wait(at, "12.3")
		switch end {
		case "closed":
			if signal.Ignored(syscall.SIGHUP) { // as below nohup, and so by the program too
				continue
			}
			require.NoError(t, x.cmd.Process.Signal(syscall.SIGHUP)) // as the system does then
			x.exit()
		case "ctrl-C":
			x.keys("\x03")
			assert.Equal(t, exitData, x.exit())
			assert.Contains(t, x.screen(), "broken off: 1 line of dive 31 on disk, the one being typed is not")
		case "ctrl-D":
			x.keys("\r\x04")
			x.wait(at, "next: ")
			assert.Equal(t, exitDone, x.exit())
			continue
		}
		log, err := session.Open(dir)
		require.NoError(t, err)
		assert.Len(t, log.Dives[len(log.Dives)-1].Lines, 1, end)
	}
}

func TestAmendInATerminal(t *testing.T) {
	dir := copyExample(t, "joint")
	x := startTerminal(t, "amend", dir, "30")
	at := x.wait(0, "line, or done")
	x.keys("1\rdepth 0 battery_\t 12.6\r")
	at = x.wait(at, "12.6")
	x.wait(at, "line, or done")
	x.keys("\r")
	x.wait(at, "1 line changed; next: sagline check")
	assert.Equal(t, exitDone, x.exit())
	now, err := session.Open(dir)
	require.NoError(t, err)
	assert.Equal(t, 12.6, now.Dives[len(now.Dives)-1].Lines[0].Readings[quantity.BatteryV].X)
}

// Tab completes a chemistry; ctrl-C leaves nothing behind.
func TestNewInATerminal(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "lake")
	x := startTerminal(t, "new", dir)
	x.wait(0, "called [lake] >")
	x.keys("\r12.8\rlithium-ir\t\r\r10\r20\r2.5 mm2\r\r\r\r\r\r\r\r\r\r")
	at := x.wait(0, "instruments at hand")
	x.keys("\r")
	x.wait(at, "next: ")
	assert.Equal(t, exitDone, x.exit(), x.screen())
	assert.Contains(t, x.screen(), "lake should read on its first dive")
	v, err := vehicle.Open(dir)
	require.NoError(t, err)
	assert.Equal(t, "lithium-iron", v.Battery.Chemistry)

	dir = filepath.Join(t.TempDir(), "sea")
	x = startTerminal(t, "new", dir)
	x.wait(0, "called [sea] >")
	x.keys("\r12\r\x03")
	assert.Equal(t, exitData, x.exit())
	assert.Contains(t, x.screen(), "broken off, nothing is written")
	assert.NoDirExists(t, dir)
}
