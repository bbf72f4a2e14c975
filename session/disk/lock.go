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

// lockName is the lock file that writers hold. dives.csv cannot be the lock: it is another
// file after each rename.
const lockName = ".dives.lock"

// lockWait is how long to wait for another writer.
const lockWait = 20 * time.Second

var errBusy = fmt.Errorf("another program has been writing here for %v; try again when it is done", lockWait)

// lock keeps other writers of a folder out until unlock.
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
				if runtime.GOOS != "windows" { // where a file on its way out turns away who would open it
					_ = os.Remove(l.Path()) // while it is held: who waited for it finds out by current
				}
				_ = l.Unlock()
			}, nil
		}
		_ = l.Unlock()
	}
}

// current says whether the file that l holds still has that name; the holder before may have
// removed it.
func current(l *flock.Flock) bool {
	held, err := l.Stat()
	if err != nil {
		return false
	}
	named, err := os.Stat(l.Path())
	return err == nil && os.SameFile(held, named)
}
