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
	"path/filepath"
	"strings"

	"sagline/session/problem"
)

// Folder says what is wrong where a logbook's folder is none.
func Folder(folder string) error {
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

// InFolder is the path of one of a logbook's files; what is not there is a problem.
func InFolder(folder, name string) (string, error) {
	path := filepath.Join(folder, name)
	if err := Folder(folder); err != nil {
		return path, err
	}
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return path, problem.Whole(path, "cannot be read: no such file; sagline new makes one")
	}
	return path, nil
}

// Open opens a file to be read. What is no regular file, and so may never end,
// is a problem, as is one of more than most bytes.
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

// ReadText reads what is left of r, at most most bytes, into as much memory as it
// has bytes where it is a file.
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

// Read is the text of a file that Open opens.
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

// ReadIn is the path of one of a logbook's files, and its text.
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
