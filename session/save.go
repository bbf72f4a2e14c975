package session

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
)

// Save writes a log to folder's dives.csv in the given columns, whole or not
// at all. Comments that the file had are gone after it.
func Save(folder string, columns []string, log *Log) error {
	return SaveFile(filepath.Join(folder, FileName), func(w io.Writer) error { return Write(w, columns, log) })
}

// SaveFile writes a file whole or not at all: to a temporary one beside it,
// synced, then renamed over it. It replaces what a link points to, not the
// link, and keeps the mode of a file that is there. Its error is that of
// write or of the system, and the old file is as it was.
func SaveFile(path string, write func(io.Writer) error) error {
	if to, err := filepath.EvalSymlinks(path); err == nil {
		path = to
	}
	mode := fs.FileMode(0o644)
	if st, err := os.Stat(path); err == nil {
		mode = st.Mode().Perm()
	}
	folder := filepath.Dir(path)
	f, err := os.CreateTemp(folder, ".sagline-*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name()) // nothing to remove once renamed
	if err := errors.Join(fill(f, write, mode), f.Close()); err != nil {
		return err
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return err
	}
	syncFolder(folder)
	return nil
}

func fill(f *os.File, write func(io.Writer) error, mode fs.FileMode) error {
	if err := write(f); err != nil {
		return err
	}
	if err := f.Chmod(mode); err != nil && runtime.GOOS != "windows" { // which has no modes to keep
		return err
	}
	return f.Sync()
}

// syncFolder makes the new name last through a loss of power where a system
// can. Where it cannot, as on Windows and some shares, the file is whole
// under the old name or the new, so the error says nothing of use.
func syncFolder(folder string) {
	if d, err := os.Open(folder); err == nil {
		_ = d.Sync()
		_ = d.Close()
	}
}
