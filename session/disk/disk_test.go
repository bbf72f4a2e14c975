package disk

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// aged makes a file one of a minute ago.
func aged(t *testing.T, path string) {
	t.Helper()
	ago := time.Now().Add(-time.Minute)
	require.NoError(t, os.Chtimes(path, ago, ago))
}

// names are those in a folder, but for the lock that stays on Windows.
func names(t *testing.T, dir string) (out []string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range entries {
		if e.Name() != lockName {
			out = append(out, e.Name())
		}
	}
	return out
}

func hello(w io.Writer) error {
	_, err := io.WriteString(w, "hello")
	return err
}

// A failed write leaves the old file whole, and nothing beside it.
func TestFailedWriteLeavesTheOldFile(t *testing.T) {
	path := fileWith(t, "old")
	broken := errors.New("cannot draw")
	err := Save(path, func(w io.Writer) error {
		_, _ = io.WriteString(w, "half of the n")
		return broken
	})
	require.ErrorIs(t, err, broken)
	assert.Equal(t, "old", textOf(t, path))
	assert.Equal(t, []string{"dives.csv"}, names(t, filepath.Dir(path)))
	assert.ErrorContains(t, Save(filepath.Join(filepath.Dir(path), "missing", "x"), hello), "no such file or directory")
}

// brokenFile is a file of which one thing fails.
type brokenFile struct {
	file
	write, sync error
}

func (b brokenFile) Write(p []byte) (int, error) {
	if b.write != nil {
		n, _ := b.file.Write(p[:len(p)/2]) // a disk that is full takes a part
		return n, b.write
	}
	return b.file.Write(p)
}

func (b brokenFile) Sync() error { return b.sync }

func TestNothingIsLostWhenTheDiskFails(t *testing.T) {
	full := &fs.PathError{Op: "write", Path: "x", Err: errors.New("no space left on device")}
	sound := onDisk
	defer func() { onDisk = sound }()
	broken := func(write, sync error) func(string) (file, error) {
		return func(path string) (file, error) {
			f, err := sound.create(path)
			return brokenFile{f, write, sync}, err
		}
	}
	for name, fail := range map[string]func(*system){
		"full":    func(d *system) { d.create = broken(full, nil) },
		"no sync": func(d *system) { d.create = broken(nil, full) },
		"no rename": func(d *system) {
			d.rename = func(string, string) error { return &os.LinkError{Op: "rename", Err: full.Err} }
		},
		"no temporary": func(d *system) { d.create = func(string) (file, error) { return nil, full } },
	} {
		t.Run(name, func(t *testing.T) {
			path := fileWith(t, "before\n")
			onDisk = sound
			fail(&onDisk)
			err := Change(path, 100, to("after\n"))
			onDisk = sound
			assert.EqualError(t, err, path+": cannot be written: no space left on device; the file is as it was")
			assert.Equal(t, "before\n", textOf(t, path))
			assert.Equal(t, []string{"dives.csv"}, names(t, filepath.Dir(path)))
		})
	}
}

func TestWhatMustNotBeReplaced(t *testing.T) {
	path := fileWith(t, "log\n")
	dir := filepath.Dir(path)
	require.NoError(t, os.Chmod(path, 0o444))
	for _, err := range []error{Save(path, hello), Change(path, 100, to("x"))} {
		assert.EqualError(t, err, path+": is read-only, not written")
	}
	assert.EqualError(t, Save(dir, hello), dir+": is no regular file, not written")
	require.NoError(t, os.Chmod(path, 0o644))
	require.NoError(t, os.Mkdir(filepath.Join(dir, lockName), 0o755))
	assert.ErrorContains(t, Change(path, 100, to("x")), lockName+": is no regular file; it is the lock that writers hold")
	assert.Equal(t, "log\n", textOf(t, path))
}

// A file of someone else's whose owner cannot be kept is written in place.
func TestAFileOfSomeoneElses(t *testing.T) {
	sound := onDisk
	defer func() { onDisk = sound }()
	onDisk.copyOwner = func(string, fs.FileInfo) error { return fs.ErrPermission }
	for _, now := range []string{"1\n2\n", "1\n22\n3\n", "", "x"} {
		path := fileWith(t, "1\n2\n")
		before, err := os.Stat(path)
		require.NoError(t, err)
		require.NoError(t, Change(path, 100, to(now)))
		assert.Equal(t, now, textOf(t, path))
		after, err := os.Stat(path)
		require.NoError(t, err)
		assert.True(t, os.SameFile(before, after))
		assert.Equal(t, []string{"dives.csv"}, names(t, filepath.Dir(path)))
		assert.ErrorContains(t, Save(path, hello), "cannot be given to its owner, not written")
	}
}

// A program that writes in place, with pauses, is waited for; what it writes is
// not lost.
func TestAProgramThatWritesInPlace(t *testing.T) {
	t.Parallel()
	path := fileWith(t, "1\n2\n3\n")
	done := make(chan error, 1)
	started := make(chan bool)
	go func() {
		f, err := os.Create(path)
		for i := 1; i <= 3 && err == nil; i++ {
			_, err = fmt.Fprintf(f, "%d, again\n", i)
			if i == 1 {
				close(started)
			}
			time.Sleep(50 * time.Millisecond)
		}
		done <- errors.Join(err, f.Close())
	}()
	<-started
	require.NoError(t, Change(path, 100, func(s string) (string, error) { return s + "added\n", nil }))
	require.NoError(t, <-done)
	assert.Equal(t, "1, again\n2, again\n3, again\nadded\n", textOf(t, path))
}

// A program that began to write before the file was replaced, and goes on
// after, has its file given back, and the change is made to that one.
func TestAProgramThatGoesOnToWrite(t *testing.T) {
	sound := onDisk
	defer func() { onDisk = sound }()
	path := fileWith(t, "1\n")
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_APPEND, 0)
	require.NoError(t, err)
	defer f.Close()
	renamed := 0
	onDisk.rename = func(from, to string) error {
		if renamed++; renamed == 1 {
			defer f.WriteString("2\n") // into the file that has just been replaced
		}
		return sound.rename(from, to)
	}
	require.NoError(t, Change(path, 100, func(s string) (string, error) { return s + "added\n", nil }))
	assert.Equal(t, "1\n2\nadded\n", textOf(t, path))
	assert.Equal(t, []string{"dives.csv"}, names(t, filepath.Dir(path)))
}

// Changes one after the other wait for no one.
func TestOwnChangesAreKnownForWhole(t *testing.T) {
	t.Parallel()
	path := fileWith(t, "1\n")
	for range 3 {
		require.NoError(t, Change(path, 100, func(s string) (string, error) { return s + "x\n", nil }))
		recent, err := waitForWriter(path)
		require.NoError(t, err)
		assert.False(t, recent)
	}
	require.NoError(t, os.WriteFile(path, []byte("1\n"), 0o644))
	recent, err := waitForWriter(path)
	require.NoError(t, err)
	assert.True(t, recent)
	for age, want := range map[time.Duration]bool{4 * time.Second: true, time.Hour: false} { // another program's, and long done
		written := time.Now().Add(-age).Truncate(time.Second).Add(time.Millisecond)
		require.NoError(t, os.Chtimes(path, written, written))
		recent, err = waitForWriter(path)
		require.NoError(t, err)
		assert.Equal(t, want, recent, age)
	}
}

// A file that another program has just written is waited for until that is 0.3 s ago, or 2 s where its last line has
// no end; one that was written before that is not.
func TestWriterIsWaitedFor(t *testing.T) {
	t.Parallel()
	const ended, unended = 300 * time.Millisecond, 2 * time.Second
	for _, c := range []struct {
		text       string
		age, until time.Duration
	}{
		{"1\n", 0, ended}, {"1\n2", 1400 * time.Millisecond, unended}, {"1\n2", 2100 * time.Millisecond, 0},
		{"1\n", 400 * time.Millisecond, 0}, {"1\r", 400 * time.Millisecond, 0}, {"1\x00\n\x00", 400 * time.Millisecond, 0}, {"\x001\x00\n", 400 * time.Millisecond, 0}, {"", 400 * time.Millisecond, 0},
	} {
		path := fileWith(t, c.text)
		least := time.Hour
		for range 5 { // a busy machine may be slow by itself
			start := time.Now()
			written := start.Add(-c.age)
			require.NoError(t, os.Chtimes(path, written, written))
			_, err := waitForWriter(path)
			require.NoError(t, err)
			least = min(least, time.Since(start))
			if c.until > 0 {
				assert.GreaterOrEqual(t, time.Since(written), c.until, "%+v", c)
			}
			if c.until > 0 || least < ended/2 {
				break
			}
		}
		if c.until == 0 {
			assert.Less(t, least, ended/2, "%+v", c)
		}
	}
}

// An output replaces files of its kind alone, no link and nothing of a logbook.
func TestSaveOutput(t *testing.T) {
	path := fileWith(t, "dive,date\n")
	dir := filepath.Dir(path)
	at := func(name string) string { return filepath.Join(dir, name) }
	require.NoError(t, os.WriteFile(at("mine.svg"), []byte("my notes"), 0o644))
	require.NoError(t, os.WriteFile(at("old.svg"), []byte("\ufeff\n<?XML version=\"1.0\"?>"), 0o644))
	require.NoError(t, os.WriteFile(at("empty.png"), nil, 0o644))
	require.NoError(t, os.Symlink("dives.csv", at("link.svg")))
	require.NoError(t, os.Symlink("nowhere", at("dangling.svg")))
	for name, want := range map[string]string{
		"dives.csv": "is a logbook's own file, not overwritten", "Vehicle.TOML": "is a logbook's own file, not overwritten",
		"mine.svg": "exists and is no svg file, not overwritten", "link.svg": "is a link to another file, not overwritten",
		"dangling.svg": "is a link to another file, not overwritten",
	} {
		assert.EqualError(t, SaveOutput(at(name), hello), at(name)+": "+want)
	}
	for _, name := range []string{"new.svg", "old.svg", "empty.png"} {
		require.NoError(t, SaveOutput(at(name), hello))
		assert.Equal(t, "hello", textOf(t, at(name)))
	}
	assert.Equal(t, "dive,date\n", textOf(t, path))
	assert.Equal(t, "my notes", textOf(t, at("mine.svg")))
}

func TestOpenRegularFilesOnly(t *testing.T) {
	path := fileWith(t, "1234")
	_, err := Open(path, 3)
	assert.EqualError(t, err, path+": 4 bytes, want at most 3")
	_, err = Open(filepath.Dir(path), 3)
	assert.EqualError(t, err, filepath.Dir(path)+": is a folder, want a file")
	f, err := Open(path, 4)
	require.NoError(t, err)
	all, err := ReadText(f, 3)
	assert.EqualError(t, err, "found more than 3 bytes, want at most that many")
	assert.Len(t, all, 4)
	require.NoError(t, f.Close())
}

// Who comes first makes the file, and the other's line follows.
func TestChange(t *testing.T) {
	path := filepath.Join(t.TempDir(), "new.csv")
	var wait sync.WaitGroup
	for range 8 {
		wait.Go(func() {
			assert.NoError(t, Change(path, 1000, func(before string) (string, error) { return before + "x\n", nil }))
		})
	}
	wait.Wait()
	all, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, strings.Repeat("x\n", 8), string(all))
}

// Where a folder of logbooks is named in place of one of them, one is named: a new logbook around them is not what is wanted.
func TestAFolderOfLogbooks(t *testing.T) {
	dir := t.TempDir()
	_, err := InFolder(dir, "vehicle.toml")
	require.ErrorContains(t, err, "sagline new makes one")
	require.NoError(t, os.MkdirAll(filepath.Join(dir, "gull"), 0o755))
	_, err = InFolder(dir, "vehicle.toml")
	require.ErrorContains(t, err, "sagline new makes one", "an empty folder is no logbook")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "gull", "vehicle.toml"), nil, 0o644))
	_, err = InFolder(dir, "vehicle.toml")
	require.ErrorContains(t, err, "want one of the logbooks below, such as "+filepath.Join(dir, "gull"))
	assert.NotContains(t, err.Error(), "new")
}
