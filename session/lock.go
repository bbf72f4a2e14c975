package session

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"time"

	"github.com/gofrs/flock"
)

// lockName is the lock file writers hold. dives.csv
// itself cannot serve: it is another file after each rename.
const lockName = ".dives.lock"

// patience is how long to wait for another who writes.
const patience = 20 * time.Second

var errBusy = errors.New("another program has been writing here for 20 s; try again when it is done")

// lock keeps other writers of a folder out until unlock.
func lock(folder string) (unlock func(), err error) {
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	for {
		l := flock.New(filepath.Join(folder, lockName), flock.SetPermissions(0o666))
		ok, err := l.TryLockContext(ctx, 3*time.Millisecond)
		switch {
		case errors.Is(err, context.DeadlineExceeded):
			return nil, whole(folder, "%v", errBusy)
		case err != nil:
			return nil, whole(folder, "cannot be written: %v", cause(err))
		case ok && current(l):
			return func() {
				if runtime.GOOS != "windows" { // where a file on its way out turns away who would open it
					_ = os.Remove(l.Path()) // while it is held: current tells who waited for it
				}
				_ = l.Unlock()
			}, nil
		}
		_ = l.Unlock()
	}
}

// current says whether the file that l holds is still the one of that name:
// who held it before has removed it.
func current(l *flock.Flock) bool {
	held, err := l.Stat()
	if err != nil {
		return false
	}
	named, err := os.Stat(l.Path())
	return err == nil && os.SameFile(held, named)
}

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
