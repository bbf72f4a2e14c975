package session

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func put(t *testing.T, path, text string) {
	t.Helper()
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
}

func TestOpen(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, FileName)
	put(t, path, "dive,date\n1,2026-05-02\n")
	log, err := Open(dir)
	require.NoError(t, err)
	assert.Equal(t, path, log.File)
	assert.Len(t, log.Dives, 1)

	put(t, path, "dive\n1\n")
	_, err = Open(dir)
	assert.EqualError(t, err, path+`:1: no column "date", want the day of each dive`)
}

func TestOpenWhatIsNotThere(t *testing.T) {
	dir := t.TempDir()
	missing := filepath.Join(dir, "missing")
	_, err := Open(missing)
	assert.EqualError(t, err, missing+": no such folder; want a logbook folder with vehicle.toml and dives.csv")

	path := filepath.Join(dir, FileName)
	_, err = Open(dir)
	assert.EqualError(t, err, path+": cannot be read: no such file; sagline new makes one")

	require.NoError(t, os.Mkdir(path, 0o700))
	_, err = Open(dir)
	assert.EqualError(t, err, path+": is a folder, want a file")

	file := filepath.Join(dir, "file")
	put(t, file, "")
	_, err = Open(file)
	assert.EqualError(t, err, file+": no such folder but a file; want a logbook folder with vehicle.toml and dives.csv")
}

func TestOpenRefusesAHugeFileUnread(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, FileName)
	put(t, path, "")
	require.NoError(t, os.Truncate(path, MaxBytes+1)) // sparse
	_, err := Open(dir)
	assert.EqualError(t, err, path+": 268435457 bytes, want at most 268435456")
}

func TestOpenTellsWhatTheSystemSays(t *testing.T) {
	_, err := Open("a\x00b")
	assert.EqualError(t, err, "a\x00b: cannot be read: invalid argument")
}

func TestSaveReadsBack(t *testing.T) {
	dir := t.TempDir()
	log := read(t, "dive,date,depth_ft\n1,2026-05-02,10\n")
	require.NoError(t, save(dir, log.Columns, log))
	again, err := Open(dir)
	require.NoError(t, err)
	assert.Empty(t, difference(log, again, 0))
}

// A failed write leaves the old file whole, and nothing beside it.
func TestFailedWriteLeavesTheOldFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, FileName)
	put(t, path, "old")
	broken := errors.New("pen broke")
	err := SaveFile(path, func(w io.Writer) error {
		_, _ = io.WriteString(w, "half of the n")
		return broken
	})
	require.ErrorIs(t, err, broken)
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "old", string(text))
	names, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, names, 1)

	require.Error(t, save(dir, []string{"fathoms"}, &Log{}))
	assert.ErrorIs(t, SaveFile(filepath.Join(dir, "missing", "x"), func(io.Writer) error { return nil }), os.ErrNotExist)
	assert.Error(t, SaveFile(dir, func(io.Writer) error { return nil }), "a folder is not replaced")
}

func hello(w io.Writer) error {
	_, err := io.WriteString(w, "hello")
	return err
}

// The mode of a file that is there is kept, and a link to it stays a link.
func TestSaveKeepsModeAndLink(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("no modes, and links need a privilege")
	}
	dir := t.TempDir()
	path, link := filepath.Join(dir, "real"), filepath.Join(dir, "link")
	put(t, path, "old")
	require.NoError(t, os.Symlink("real", link))
	require.NoError(t, SaveFile(link, hello))
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "hello", string(text))
	st, err := os.Lstat(link)
	require.NoError(t, err)
	assert.NotZero(t, st.Mode()&os.ModeSymlink)
	st, err = os.Stat(path)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), st.Mode().Perm())

	fresh := filepath.Join(dir, "fresh")
	require.NoError(t, SaveFile(fresh, hello))
	st, err = os.Stat(fresh)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o644), st.Mode().Perm())
}

// save writes a log to folder's dives.csv.
func save(folder string, columns []string, log *Log) error {
	return SaveFile(filepath.Join(folder, FileName), func(w io.Writer) error { return Write(w, columns, log) })
}
