package session

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"
)

// SaveFile writes a file whole or not at all: to a temporary one beside it,
// synced, then renamed over it. It replaces what a link points to, not the
// link, and keeps the mode of a file that is there. Its error is that of
// write or of the system, and the old file is as it was.
func SaveFile(path string, write func(io.Writer) error) error {
	return replaceFile(path, write, func() error { return nil })
}

// A disk is what replaceFile does to the system, so that a test can make each
// of it fail.
type disk struct {
	create func(folder, pattern string) (file, error)
	rename func(from, to string) error
	sync   func(folder string)
}

// file is the part of os.File that is written through.
type file interface {
	io.WriteCloser
	Name() string
	Chmod(fs.FileMode) error
	Sync() error
}

var system = disk{
	create: func(folder, pattern string) (file, error) { return os.CreateTemp(folder, pattern) },
	rename: os.Rename, sync: syncFolder,
}

// replaceFile is SaveFile with a last look before the rename: an error of
// allowed leaves the old file.
func replaceFile(path string, write func(io.Writer) error, allowed func() error) error {
	if to, err := filepath.EvalSymlinks(path); err == nil {
		path = to
	}
	mode := fs.FileMode(0o644)
	if st, err := os.Stat(path); err == nil {
		mode = st.Mode().Perm()
	}
	folder := filepath.Dir(path)
	sweep(folder)
	f, err := system.create(folder, temporary+"*")
	if err != nil {
		return notWritten(path, err)
	}
	defer os.Remove(f.Name()) // nothing to remove once renamed
	if err := errors.Join(fill(f, write, mode), f.Close()); err != nil {
		return notWritten(path, err)
	}
	if err := allowed(); err != nil {
		return err
	}
	if err := system.rename(f.Name(), path); err != nil {
		return notWritten(path, err)
	}
	system.sync(folder)
	return nil
}

// temporary begins the names of files being written; a number follows.
const temporary = ".sagline-"

// leftAfter is how old such a file is when no one can be writing it any more.
const leftAfter = time.Hour

// sweep removes what programs that were killed while they wrote have left.
// Where it cannot, nothing is lost: no one reads those files.
func sweep(folder string) {
	entries, _ := os.ReadDir(folder)
	for _, e := range entries {
		number, ours := strings.CutPrefix(e.Name(), temporary)
		if !ours || !digitsOnly(number) || !e.Type().IsRegular() {
			continue
		}
		if st, err := e.Info(); err == nil && time.Since(st.ModTime()) > leftAfter {
			_ = os.Remove(filepath.Join(folder, e.Name()))
		}
	}
}

// notWritten words an error of the system in one line; what write says of its
// own stays as it is.
func notWritten(path string, err error) error {
	var pe *fs.PathError
	var le *os.LinkError
	switch {
	case errors.As(err, &pe):
		err = pe.Err
	case errors.As(err, &le):
		err = le.Err
	default:
		return err
	}
	return fmt.Errorf("%s: cannot be written: %w; the file is as it was", path, err)
}

func fill(f file, write func(io.Writer) error, mode fs.FileMode) error {
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
