package disk

import (
	"fmt"
	"io/fs"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// steps is a disk that notes what is done to it and loses its power at one of
// the steps.
type steps struct {
	sound system
	done  []string
	last  int // step at which the power goes; beyond the end: never
}

type powerCut struct{}

func (s *steps) step(what string) {
	if len(s.done) == s.last {
		panic(powerCut{})
	}
	s.done = append(s.done, what)
}

func (s *steps) disk() system {
	return system{
		create: func(path string) (file, error) {
			s.step("create")
			f, err := s.sound.create(path)
			return steppedFile{f, s}, err
		},
		copyOwner: func(path string, old fs.FileInfo) error { s.step("owner"); return s.sound.copyOwner(path, old) },
		rename:    func(from, to string) error { s.step("rename"); return s.sound.rename(from, to) },
		sync:      func(folder string) { s.step("sync the folder"); s.sound.sync(folder) },
	}
}

type steppedFile struct {
	file
	s *steps
}

func (f steppedFile) Write(p []byte) (int, error) {
	half := len(p) / 2
	f.s.step("write half")
	if n, err := f.file.Write(p[:half]); err != nil {
		return n, err
	}
	f.s.step("write the rest")
	n, err := f.file.Write(p[half:])
	return half + n, err
}

func (f steppedFile) Chmod(m fs.FileMode) error { f.s.step("mode"); return f.file.Chmod(m) }
func (f steppedFile) Sync() error               { f.s.step("sync"); return f.file.Sync() }
func (f steppedFile) Close() error              { f.s.step("close"); return f.file.Close() }

// The bytes are on disk before the name is, and at whichever step the power
// goes there is the old file or the new one, whole; the next writer goes on.
func TestPowerCutAtEachStep(t *testing.T) {
	sound := onDisk
	defer func() { onDisk = sound }()
	order := []string{"create", "write half", "write the rest", "owner", "mode", "sync", "close", "rename", "sync the folder"}
	for last := range len(order) + 1 {
		path := fileWith(t, "before\n")
		s := &steps{sound: sound, last: last, done: []string{}}
		onDisk = s.disk()
		cut := false
		func() {
			defer func() { cut = recover() == any(powerCut{}) }()
			require.NoError(t, Change(path, 100, to("before and after\n")))
		}()
		onDisk = sound
		assert.Equal(t, last < len(order), cut)
		assert.Equal(t, order[:min(last, len(order))], s.done)
		want := "before\n"
		if last > 7 { // renamed
			want = "before and after\n"
		}
		assert.Equal(t, want, textOf(t, path), fmt.Sprint(s.done))
		require.NoError(t, Change(path, 100, to("next\n")))
		assert.Equal(t, "next\n", textOf(t, path))
	}
}

// to is a change of a whole file.
func to(text string) func(string) (string, error) {
	return func(string) (string, error) { return text, nil }
}

// fileWith is the path of a file that no one has written of late.
func fileWith(t *testing.T, text string) string {
	t.Helper()
	path := t.TempDir() + "/dives.csv"
	require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
	aged(t, path)
	return path
}

func textOf(t *testing.T, path string) string {
	t.Helper()
	b, err := os.ReadFile(path)
	require.NoError(t, err)
	return string(b)
}
