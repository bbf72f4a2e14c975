package session

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// FileName is the log's name in its folder.
const FileName = "dives.csv"

// Open reads a logbook folder's dives.csv. A folder or file that is missing,
// or is not what it should be, is a problem in one line.
func Open(folder string) (*Log, error) {
	f, err := openFile(folder)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return Read(f, f.Name())
}

// openFile opens a folder's dives.csv if it is one.
func openFile(folder string) (*os.File, error) {
	st, err := os.Stat(folder)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, whole(folder, "no such folder; want a logbook folder with vehicle.toml and dives.csv")
	case err != nil:
		return nil, whole(folder, "cannot be read: %v", cause(err))
	case !st.IsDir():
		return nil, whole(folder, "no such folder but a file; want a logbook folder with vehicle.toml and dives.csv")
	}
	return OpenRegular(filepath.Join(folder, FileName))
}

// OpenRegular opens a file to be read. What is no regular file, and so may
// never end, is a problem, as is one that is too large.
func OpenRegular(path string) (*os.File, error) {
	st, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist) && filepath.Base(path) == FileName:
		return nil, whole(path, "cannot be read: no such file; sagline new makes one")
	case err != nil:
		return nil, whole(path, "cannot be read: %v", cause(err))
	case st.IsDir():
		return nil, whole(path, "is a folder, want a file")
	case !st.Mode().IsRegular():
		return nil, whole(path, "is no regular file, want one")
	case st.Size() > MaxBytes:
		return nil, whole(path, "%d bytes, want at most %d", st.Size(), MaxBytes)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, whole(path, "cannot be read: %v", cause(err))
	}
	return f, nil
}

// cause is what the system says, without the path.
func cause(err error) error {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		return pe.Err
	}
	return err
}

// longestComment bounds what is read of a file for its first comment, bytes:
// common practice, no source.
const longestComment = 4096

// FirstComment is what the comment says that a folder's dives.csv begins with;
// "" when it begins with none, or cannot be read.
func FirstComment(folder string) string {
	f, err := openFile(folder)
	if err != nil {
		return ""
	}
	defer f.Close()
	start := make([]byte, longestComment)
	n, _ := f.Read(start)
	text, _, _ := decode(start[:n])
	comment, found := strings.CutPrefix(text[:lineLength(text)], "#")
	if !found {
		return ""
	}
	return strings.TrimSpace(comment)
}
