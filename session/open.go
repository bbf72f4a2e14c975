package session

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"sagline/session/disk"
	"sagline/session/problem"
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

// find is the path of a folder's dives.csv.
func find(folder string) (string, error) {
	path := filepath.Join(folder, FileName)
	if err := disk.Folder(folder); err != nil {
		return path, err
	}
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return path, problem.Whole(path, "cannot be read: no such file; sagline new makes one")
	}
	return path, nil
}

// openFile opens a folder's dives.csv if it is one.
func openFile(folder string) (*os.File, error) {
	path, err := find(folder)
	if err != nil {
		return nil, err
	}
	return disk.Open(path, MaxBytes)
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
	return FirstCommentOf(string(start[:n]))
}

// FirstCommentOf is FirstComment of a file's bytes.
func FirstCommentOf(file string) string {
	text, _, _ := decode(file[:min(len(file), longestComment)])
	comment, found := strings.CutPrefix(text[:lineLength(text)], "#")
	if !found {
		return ""
	}
	return strings.TrimSpace(comment)
}
