package session

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
	sound disk
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

func (s *steps) disk() disk {
	return disk{
		create: func(folder, pattern string) (file, error) {
			s.step("create")
			f, err := s.sound.create(folder, pattern)
			return steppedFile{f, s}, err
		},
		rename: func(from, to string) error { s.step("rename"); return s.sound.rename(from, to) },
		sync:   func(folder string) { s.step("sync the folder"); s.sound.sync(folder) },
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
	sound := system
	defer func() { system = sound }()
	const before, after = "dive,date\n1,2026-05-02\n", "dive,date\n1,2026-05-02\n1,\n"
	order := []string{"create", "write half", "write the rest", "mode", "sync", "close", "rename", "sync the folder"}
	for last := range len(order) + 1 {
		dir := folderWith(t, before)
		s := &steps{sound: sound, last: last, done: []string{}}
		system = s.disk()
		cut := false
		func() {
			defer func() { cut = recover() == any(powerCut{}) }()
			require.NoError(t, Edit(dir, appending(Row{"dive": "1"})))
		}()
		system = sound
		assert.Equal(t, last < len(order), cut)
		assert.Equal(t, order[:min(last, len(order))], s.done)
		want := before
		if last > 6 { // renamed
			want = after
		}
		assert.Equal(t, want, fileOf(t, dir), fmt.Sprint(s.done))
		require.NoError(t, Edit(dir, appending(Row{"dive": "1", "note": "next"})))
		_, err := Open(dir)
		require.NoError(t, err)
	}
}

// To look leaves a folder as it is, even where nothing can be written or a line
// would be kept aside.
func TestLookWritesNothing(t *testing.T) {
	const file = "dive,date,battery_v\n1,2026-05-02,12.7\n1,,\"x"
	dir := folderWith(t, file)
	require.NoError(t, os.Chmod(dir, 0o555))
	defer os.Chmod(dir, 0o755)
	require.NoError(t, View(dir, func(s *File) error {
		assert.Equal(t, "1", s.NewestDive())
		assert.Contains(t, s.CutOff, ":3: the last line was cut off")
		return nil
	}))
	assert.Equal(t, file, fileOf(t, dir))
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, entries, 1)
	assert.ErrorContains(t, View(t.TempDir(), nil), "no such file")
}
