package session

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"sagline/session/problem"
)

// FileName is the log's name in its folder.
const FileName = "dives.csv"

// Open reads a logbook folder's dives.csv. A folder or file that is missing,
// or is not what it should be, is told in one line.
func Open(folder string) (*Log, error) {
	f, err := openFile(folder)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return Read(f, f.Name())
}

// openFile opens a folder's dives.csv, told what it is.
func openFile(folder string) (*os.File, error) {
	path := filepath.Join(folder, FileName)
	st, err := os.Stat(folder)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, whole(folder, "no such folder; want a logbook folder with vehicle.toml and dives.csv")
	case err != nil:
		return nil, whole(folder, "cannot be read: %v", cause(err))
	case !st.IsDir():
		return nil, whole(folder, "no such folder but a file; want a logbook folder with vehicle.toml and dives.csv")
	}
	st, err = os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, whole(path, "cannot be read: no such file; sagline new makes one")
	case err != nil:
		return nil, whole(path, "cannot be read: %v", cause(err))
	case st.IsDir():
		return nil, whole(path, "is a folder, want a file")
	case st.Size() > MaxBytes:
		return nil, whole(path, "%d bytes, want at most %d", st.Size(), MaxBytes)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, whole(path, "cannot be read: %v", cause(err))
	}
	return f, nil
}

func whole(file, format string, args ...any) error {
	return &problem.Problem{File: file, Text: fmt.Sprintf(format, args...)}
}

// cause is what the system says, without the path that is told already.
func cause(err error) error {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		return pe.Err
	}
	return err
}
