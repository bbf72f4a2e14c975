package session

import (
	"os"
	"path/filepath"
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

	put(t, path, "dive,date\n1,2026-05\n")
	_, err = Open(dir)
	assert.EqualError(t, err, path+`:2: column "date": found "2026-05", want a day as 2026-05-31`)
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
