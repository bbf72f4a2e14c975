//go:build !windows

package disk

import (
	"io/fs"
	"os"
	"syscall"
)

// own gives a new file the owner and group of an old one.
func own(path string, old fs.FileInfo) error {
	was, ok := old.Sys().(*syscall.Stat_t)
	if !ok {
		return nil
	}
	now, err := os.Stat(path)
	if err != nil {
		return err
	}
	if is, ok := now.Sys().(*syscall.Stat_t); ok && is.Uid == was.Uid && is.Gid == was.Gid {
		return nil
	}
	return os.Chown(path, int(was.Uid), int(was.Gid))
}
