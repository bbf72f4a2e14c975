// Package disk reads and writes the files of a logbook without losing anything. It assumes that a
// program may be killed, a disk may fill up and the power may fail at any moment; that several
// programs write at once, some of which ignore the lock; and that a path may lead to something
// other than a regular file.
package disk

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"sagline/session/problem"
)

// logbook returns an error if a folder is missing, unreadable or not a folder.
func logbook(folder string) error {
	const want = "want a logbook folder with vehicle.toml and dives.csv"
	st, err := os.Stat(folder)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return problem.Whole(folder, "no such folder; "+want)
	case err != nil:
		return problem.Whole(folder, "cannot be read: %v", cause(err))
	case !st.IsDir():
		return problem.Whole(folder, "no such folder but a file; "+want)
	}
	return nil
}

// InFolder returns the path of one of a logbook's files. The error says that the folder or file is
// missing.
func InFolder(folder, name string) (string, error) {
	path := filepath.Join(folder, name)
	if err := logbook(folder); err != nil {
		return path, err
	}
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		if below := below(folder, name); len(below) > 0 {
			return path, problem.Whole(path, "cannot be read: no such file; want one of the logbooks below, such as %s", below[0])
		}
		return path, problem.Whole(path, "cannot be read: no such file; sagline new makes one")
	}
	return path, nil
}

// below returns the folders in a folder that have a file with a name.
func below(folder, name string) (out []string) {
	all, _ := os.ReadDir(folder) // what cannot be read holds no logbook to name
	for _, e := range all {
		if st, err := os.Stat(filepath.Join(folder, e.Name(), name)); err == nil && st.Mode().IsRegular() {
			out = append(out, filepath.Join(folder, e.Name()))
		}
	}
	return out
}

// Open opens a file for reading. The error says that it cannot be read, is not a regular file (and
// so may never end), or has more than most bytes.
func Open(path string, most int64) (*os.File, error) {
	st, err := os.Stat(path)
	switch {
	case err != nil:
		return nil, problem.Whole(path, "cannot be read: %v", cause(err))
	case st.IsDir():
		return nil, problem.Whole(path, "is a folder, want a file")
	case !st.Mode().IsRegular():
		return nil, problem.Whole(path, "is no regular file, want one")
	case st.Size() > most:
		return nil, problem.Whole(path, "%d bytes, want at most %d", st.Size(), most)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, problem.Whole(path, "cannot be read: %v", cause(err))
	}
	return f, nil
}

// ReadText reads r to its end, at most most bytes; for a file it allocates once. The error is that
// of r, or says that there are more bytes.
func ReadText(r io.Reader, most int64) (string, error) {
	var b strings.Builder
	if f, ok := r.(*os.File); ok {
		if st, err := f.Stat(); err == nil && st.Mode().IsRegular() {
			b.Grow(int(min(st.Size(), most)))
		}
	}
	n, err := io.Copy(&b, io.LimitReader(r, most+1))
	if err == nil && n > most {
		err = fmt.Errorf("found more than %d bytes, want at most that many", most)
	}
	return b.String(), err
}

// Read returns the text of a file. The error is that of Open or ReadText.
func Read(path string, most int64) (string, error) {
	f, err := Open(path, most)
	if err != nil {
		return "", err
	}
	defer f.Close()
	all, err := ReadText(f, most)
	if err != nil {
		return "", problem.Whole(path, "cannot be read: %v", cause(err))
	}
	return all, nil
}

// ReadIn returns the path and the text of one of a logbook's files. The error is that of InFolder
// or Read.
func ReadIn(folder, name string, most int64) (path, text string, err error) {
	if path, err = InFolder(folder, name); err == nil {
		text, err = Read(path, most)
	}
	return path, text, err
}

// same reports whether a file holds exactly text.
func same(path, text string) bool {
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	piece := make([]byte, 64<<10)
	for {
		n, err := f.Read(piece)
		if n > len(text) || string(piece[:n]) != text[:n] {
			return false
		}
		if text = text[n:]; err != nil {
			return errors.Is(err, io.EOF) && text == ""
		}
	}
}

// cause returns the system's error without the path.
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
