// Package disk reads and writes the files of a logbook so that nothing is lost.
// It assumes that a program may be killed, a disk may fill up and the power may
// go at any moment; that several programs write at once, of which not all heed
// a lock; and that what stands under a name may be anything but the file that
// is wanted there.
package disk

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"sagline/session/problem"
)

// Open opens a file to be read. What is no regular file, and so may never end,
// is a problem, as is one of more than most bytes.
func Open(path string, most int64) (*os.File, error) {
	st, err := os.Stat(path)
	switch {
	case err != nil:
		return nil, whole(path, "cannot be read: %v", cause(err))
	case st.IsDir():
		return nil, whole(path, "is a folder, want a file")
	case !st.Mode().IsRegular():
		return nil, whole(path, "is no regular file, want one")
	case st.Size() > most:
		return nil, whole(path, "%d bytes, want at most %d", st.Size(), most)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, whole(path, "cannot be read: %v", cause(err))
	}
	return f, nil
}

// ReadAll reads what is left of r, at most most bytes.
func ReadAll(r io.Reader, most int64) ([]byte, error) {
	all, err := io.ReadAll(io.LimitReader(r, most+1))
	if err == nil && int64(len(all)) > most {
		err = fmt.Errorf("found more than %d bytes, want at most that many", most)
	}
	return all, err
}

func read(path string, most int64) ([]byte, error) {
	f, err := Open(path, most)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	all, err := ReadAll(f, most)
	if err != nil {
		return nil, whole(path, "cannot be read: %v", cause(err))
	}
	return all, nil
}

// whole is a problem of a file as a whole.
func whole(file, format string, args ...any) error {
	return &problem.Problem{File: file, Text: fmt.Sprintf(format, args...)}
}

// cause is what the system says, without the path.
func cause(err error) error {
	var pe *fs.PathError
	var le *os.LinkError
	switch {
	case errors.As(err, &pe):
		return pe.Err
	case errors.As(err, &le):
		return le.Err
	}
	return err
}
