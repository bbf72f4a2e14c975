package session

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"time"

	"github.com/gofrs/flock"
)

// lockName is the file that who writes a logbook holds locked. dives.csv
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
