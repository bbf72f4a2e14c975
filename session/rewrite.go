package session

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// errChanged says that another program, which heeds no lock, wrote the file
// while it was being changed.
var errChanged = errors.New("changed by another program while it was being written, nothing written; try again")

// Rewrite changes a file of a logbook folder, whole or not at all: it keeps
// other writers of the folder out, reads the file and writes what change makes
// of it. Where another program replaces the file meanwhile, change is called
// again with what that one wrote.
func Rewrite(path string, change func(file []byte) ([]byte, error)) error {
	return underLock(filepath.Dir(path), func() error {
		before, err := os.ReadFile(path)
		if err != nil {
			return whole(path, "cannot be read: %v", cause(err))
		}
		now, err := change(before)
		if err != nil {
			return err
		}
		return replaceUnchanged(path, before, now)
	})
}

// underLock tries with other writers of a folder kept out, and again when one
// that heeds no lock came between.
func underLock(folder string, try func() error) error {
	unlock, err := lock(folder)
	if err != nil {
		return err
	}
	defer unlock()
	for range 3 {
		if err = try(); !errors.Is(err, errChanged) {
			return err
		}
	}
	return err
}

// replaceUnchanged puts other bytes into a file unless it has changed since it
// was read. Its bytes tell, not its time: that of a clock set back may be the
// same.
func replaceUnchanged(path string, before, now []byte) error {
	if bytes.Equal(before, now) {
		return nil
	}
	return replaceFile(path, func(w io.Writer) error { _, err := w.Write(now); return err }, func() error {
		if file, err := os.ReadFile(path); err != nil || !bytes.Equal(file, before) {
			return fmt.Errorf("%s: %w", path, errChanged)
		}
		return nil
	})
}
