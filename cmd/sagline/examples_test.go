package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sagline/predict/vehicle"
	"sagline/session"
)

// examples is where the examples are, whatever folder a test works in.
var examples, _ = filepath.Abs("../../examples")

// copyExample copies an example into a folder of its own.
func copyExample(t *testing.T, name string) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), name)
	require.NoError(t, shortExample(dir, name))
	return dir
}

// shortExamples copies the examples into a folder, as shortExample does.
func shortExamples(to string) error {
	entries, err := os.ReadDir(examples)
	if err != nil {
		return err
	}
	for _, e := range entries {
		if err := shortExample(filepath.Join(to, e.Name()), e.Name()); err != nil {
			return err
		}
	}
	return nil
}

// shortExample copies an example, of its log the dives of the baseline, the one after it, two that
// help and scripts name and the last three: commands do with it what they do with the whole, in a
// quarter of the time.
func shortExample(to, name string) error {
	if err := os.CopyFS(to, os.DirFS(filepath.Join(examples, name))); err != nil {
		return err
	}
	path := filepath.Join(to, session.FileName)
	text, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	lines := bytes.SplitAfter(text, []byte("\n"))
	dive := func(line []byte) int {
		n, _ := strconv.Atoi(string(line[:max(0, bytes.IndexByte(line, ','))]))
		return n
	}
	last := 0
	for _, line := range lines {
		last = max(last, dive(line))
	}
	var out []byte
	for _, line := range lines {
		if n := dive(line); n <= 6 || n == 21 || n == 22 || n > last-3 {
			out = append(out, line...)
		}
	}
	if err := os.WriteFile(path, out, 0o666); err != nil {
		return err
	}
	hourAgo := time.Now().Add(-time.Hour).Truncate(time.Second) // a file just written is waited for
	if err := os.Chtimes(filepath.Join(to, vehicle.FileName), hourAgo, hourAgo); err != nil {
		return err
	}
	return os.Chtimes(path, hourAgo, hourAgo)
}
