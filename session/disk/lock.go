package disk

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"time"

	"github.com/gofrs/flock"

	"sagline/session/problem"
)

// lockName is the lock file that writers hold. dives.csv cannot be the lock, since each rename
// replaces it by another file.
const lockName = ".dives.lock"

// lockWait is how long to wait for another writer.
const lockWait = 20 * time.Second

var errBusy = fmt.Errorf("another program has been writing here for %v; try again when it is done", lockWait)

// lock locks out other writers of a folder until unlock is called.
func lock(folder string) (unlock func(), err error) {
	path := filepath.Join(folder, lockName)
	if st, err := os.Lstat(path); err == nil && !st.Mode().IsRegular() {
		return nil, problem.Whole(path, "is no regular file; it is the lock that writers hold, remove it")
	}
	ctx, cancel := context.WithTimeout(context.Background(), lockWait)
	defer cancel()
	for {
		l := flock.New(path, flock.SetPermissions(0o666))
		ok, err := l.TryLockContext(ctx, 3*time.Millisecond)
		switch {
		case errors.Is(err, context.DeadlineExceeded):
			return nil, problem.Whole(folder, "%v", errBusy)
		case err != nil:
			return nil, problem.Whole(folder, "cannot be written: %v", cause(err))
		case ok && current(l):
			return func() {
				if runtime.GOOS != "windows" { // there, a file being deleted cannot be opened by others
					_ = os.Remove(l.Path()) // while still locked: current tells those who wait for it
				}
				_ = l.Unlock()
			}, nil
		}
		_ = l.Unlock()
	}
}

// current reports whether the file that l holds still has its name. The holder before may have
// removed it.
func current(l *flock.Flock) bool {
	held, err := l.Stat()
	if err != nil {
		return false
	}
	named, err := os.Stat(l.Path())
	return err == nil && os.SameFile(held, named)
}
