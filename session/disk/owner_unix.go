//go:build !windows

package disk

import (
	"io/fs"
	"os"
	"syscall"
)

// copyOwner gives a new file the owner and group of an old one.
func copyOwner(path string, old fs.FileInfo) error {
	want, ok := old.Sys().(*syscall.Stat_t)
	if !ok {
		return nil
	}
	now, err := os.Stat(path)
	if err != nil {
		return err
	}
	if have, ok := now.Sys().(*syscall.Stat_t); ok && have.Uid == want.Uid && have.Gid == want.Gid {
		return nil
	}
	return os.Chown(path, int(want.Uid), int(want.Gid))
}
