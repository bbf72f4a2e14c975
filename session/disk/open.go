// Package disk reads and writes the files of a logbook so that nothing is lost. It assumes
// that a program may be killed, a disk may fill up and the power may fail at any moment; that
// several programs write at once, not all of which heed a lock; and that a name may stand for
// anything but the file that is wanted.
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

// logbook is an error where a folder is missing, unreadable or no folder.
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

// InFolder is the path of one of a logbook's files. Its error says that folder or file is
// missing.
func InFolder(folder, name string) (string, error) {
	path := filepath.Join(folder, name)
	if err := logbook(folder); err != nil {
		return path, err
	}
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return path, problem.Whole(path, "cannot be read: no such file; sagline new makes one")
	}
	return path, nil
}

// Open opens a file to be read. Its error says that it cannot be read, is no regular file, and
// so may never end, or has more than most bytes.
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

// ReadText reads r to its end, of at most most bytes; for a file it allocates once. Its error is
// that of r, or that there are more bytes.
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

// Read is the text of a file. Its error is that of Open or ReadText.
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

// ReadIn is the path of one of a logbook's files and its text, with the errors of InFolder and
// Read.
func ReadIn(folder, name string, most int64) (path, text string, err error) {
	if path, err = InFolder(folder, name); err == nil {
		text, err = Read(path, most)
	}
	return path, text, err
}

// same says whether a file holds a text.
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

// cause is the system's error without the path.
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
