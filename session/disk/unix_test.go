//go:build !windows

package disk

import (
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The mode of a file that is there is kept, and a link to it stays a link; a
// new one has the mode of new files.
func TestSaveKeepsModeAndLink(t *testing.T) {
	path := fileWith(t, "old")
	require.NoError(t, os.Chmod(path, 0o640))
	link, fresh := filepath.Join(filepath.Dir(path), "link"), filepath.Join(filepath.Dir(path), "fresh")
	require.NoError(t, os.Symlink("dives.csv", link))
	require.NoError(t, Save(link, hello))
	assert.Equal(t, "hello", textOf(t, path))
	assert.Equal(t, fs.FileMode(0o640), modeOf(t, path))
	st, err := os.Lstat(link)
	require.NoError(t, err)
	assert.NotZero(t, st.Mode()&os.ModeSymlink)

	old := syscall.Umask(0o027)
	defer syscall.Umask(old)
	require.NoError(t, Save(fresh, hello))
	assert.Equal(t, fs.FileMode(0o640), modeOf(t, fresh), "the umask holds")
}

func modeOf(t *testing.T, path string) fs.FileMode {
	t.Helper()
	st, err := os.Stat(path)
	require.NoError(t, err)
	return st.Mode().Perm()
}

// A pipe or a device is refused at once, as what is read, written or locked.
func TestWhatNeverEnds(t *testing.T) {
	path := fileWith(t, "1\n")
	pipe := filepath.Join(filepath.Dir(path), "pipe")
	require.NoError(t, syscall.Mkfifo(pipe, 0o600))
	start := time.Now()
	_, err := Open(pipe, 100)
	assert.EqualError(t, err, pipe+": is no regular file, want one")
	assert.EqualError(t, Save(pipe, hello), pipe+": is no regular file, not written")
	assert.EqualError(t, Change(pipe, 100, to("x")), pipe+": is no regular file, not written")
	assert.EqualError(t, SaveOutput(pipe, hello), pipe+": is no regular file, not written")
	require.NoError(t, os.Rename(pipe, filepath.Join(filepath.Dir(path), lockName)))
	assert.ErrorContains(t, Change(path, 100, to("x")), "is no regular file; it is the lock that writers hold")
	assert.Less(t, time.Since(start), lockWait)
}

// Owner and group are kept where the system allows it.
func TestOwnerIsKept(t *testing.T) {
	if os.Getuid() != 0 {
		t.Skip("only root may give files away")
	}
	path := fileWith(t, "1\n")
	require.NoError(t, os.Chown(path, 1234, 2345))
	require.NoError(t, Change(path, 100, to("2\n")))
	st, err := os.Stat(path)
	require.NoError(t, err)
	assert.Equal(t, []uint32{1234, 2345}, []uint32{st.Sys().(*syscall.Stat_t).Uid, st.Sys().(*syscall.Stat_t).Gid})
	assert.Equal(t, fs.FileMode(0o644), modeOf(t, path))
}
