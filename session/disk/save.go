package disk

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"time"

	"sagline/session/problem"
)

// Save writes a file completely or not at all: to a temporary file beside it, synced, then renamed
// over it. It replaces what a link points to, not the link, and keeps mode, owner and group of an
// existing file. A new file has the system's usual mode. The error is that of write or a system
// error; the file then stays as it was.
func Save(path string, write func(io.Writer) error) error {
	path, old, err := target(path)
	if err != nil {
		return err
	}
	link, err := replace(path, old, write, func() error { return nil })
	_ = os.Remove(link)
	if errors.Is(err, errOwner) {
		return problem.Whole(path, "%v, not written", errOwner)
	}
	return err
}

// SaveText is Save for a text in memory.
func SaveText(path string, text []byte) error {
	return Save(path, func(w io.Writer) error {
		_, err := w.Write(text)
		return err
	})
}

// A system holds the disk operations of replace, so that tests can make each of them fail.
type system struct {
	create    func(path string) (file, error)
	rename    func(from, to string) error
	copyOwner func(path string, old fs.FileInfo) error
	sync      func(folder string)
}

// file is the part of os.File that replace and fill use.
type file interface {
	io.WriteCloser
	Name() string
	Chmod(fs.FileMode) error
	Sync() error
}

var onDisk = system{
	create: func(path string) (file, error) { return os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o666) },
	rename: os.Rename, copyOwner: copyOwner, sync: syncFolder,
}

// target returns the file that a path leads to, links resolved, and its state, nil if there is no
// such file. The error says that the file cannot or must not be replaced.
func target(path string) (string, fs.FileInfo, error) {
	if to, err := filepath.EvalSymlinks(path); err == nil {
		path = to
	}
	st, err := os.Lstat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return path, nil, nil
	case err != nil:
		return path, nil, notWritten(path, err)
	case !st.Mode().IsRegular():
		return path, nil, problem.Whole(path, "is no regular file, not written")
	case st.Mode().Perm()&0o222 == 0:
		return path, nil, problem.Whole(path, "is read-only, not written")
	}
	f, err := os.OpenFile(path, os.O_WRONLY, 0)
	if err != nil {
		return path, nil, notWritten(path, err)
	}
	return path, st, f.Close()
}

// errOwner says that a new file cannot be given the old one's owner.
var errOwner = errors.New("cannot be given to its owner")

// replace replaces the old file by a new one, unless allowed, called last, returns an error. It
// returns the name of a link to the old file, which the caller must remove; "" if there is none.
func replace(path string, old fs.FileInfo, write func(io.Writer) error, allowed func() error) (link string, err error) {
	folder := filepath.Dir(path)
	removeLeftovers(folder)
	f, err := onDisk.create(temporaryName(folder))
	if err != nil {
		return "", notWritten(path, err)
	}
	defer os.Remove(f.Name()) // nothing to remove once renamed
	if err := errors.Join(fill(f, write, old), f.Close()); err != nil {
		return "", notWritten(path, err)
	}
	if err := allowed(); err != nil {
		return "", err
	}
	if link = temporaryName(folder); old == nil || os.Link(path, link) != nil {
		link = ""
	}
	if err := onDisk.rename(f.Name(), path); err != nil {
		_ = os.Remove(link)
		return "", notWritten(path, err)
	}
	onDisk.sync(folder)
	return link, nil
}

// fill writes a new file and gives it the owner and mode of the old one.
func fill(f file, write func(io.Writer) error, old fs.FileInfo) error {
	if err := write(f); err != nil {
		return err
	}
	if old != nil {
		if err := onDisk.copyOwner(f.Name(), old); err != nil {
			return errOwner
		}
		if err := f.Chmod(old.Mode().Perm()); err != nil && runtime.GOOS != "windows" { // Windows has no modes to keep
			return err
		}
	}
	now := time.Now().Truncate(time.Second) // whole seconds tell waitForWriter that the file is complete
	return errors.Join(os.Chtimes(f.Name(), now, now), f.Sync())
}

// temporary begins the names of files being written; a number follows.
const temporary = ".sagline-"

func temporaryName(folder string) string {
	return filepath.Join(folder, temporary+strconv.FormatUint(rand.Uint64(), 10))
}

// leftAfter is the age from which no program can still be writing a temporary file: common
// practice, no source.
const leftAfter = time.Hour

// removeLeftovers removes the temporary files of killed programs. Errors are ignored, since nothing
// reads those files.
func removeLeftovers(folder string) {
	entries, _ := os.ReadDir(folder)
	for _, e := range entries {
		number, ours := strings.CutPrefix(e.Name(), temporary)
		if _, err := strconv.ParseUint(number, 10, 64); !ours || err != nil || !e.Type().IsRegular() {
			continue
		}
		if st, err := e.Info(); err == nil && time.Since(st.ModTime()) > leftAfter {
			_ = os.Remove(filepath.Join(folder, e.Name()))
		}
	}
}

// notWritten puts a system error on path in one line. Other errors stay as they are.
func notWritten(path string, err error) error {
	if cause(err) == err {
		return err
	}
	return fmt.Errorf("%s: cannot be written: %w; the file is as it was", path, cause(err))
}

// syncFolder makes the new name survive a loss of power if the system can. If it cannot, as on
// Windows and some shares, the file is complete under the old name or the new, so the error is
// ignored.
func syncFolder(folder string) {
	if d, err := os.Open(folder); err == nil {
		_ = d.Sync()
		_ = d.Close()
	}
}

// kinds holds, by extension, how files that commands write begin, in lower case.
var kinds = map[string][]string{".png": {"\x89png"}, ".svg": {"<?xml", "<svg"}, ".html": {"<!doctype html"}, ".1": {".nh", ".th"}, ".csv": {"conductor,"}}

// ofALogbook lists the files of a logbook.
var ofALogbook = []string{"dives.csv", "vehicle.toml", "import.toml", "locate.csv", lockName}

// SaveOutput is Save for pictures, pages and other files that can be made anew. It replaces only a
// regular file whose content fits the extension of path, never a link or one of a logbook's own
// files.
func SaveOutput(path string, write func(io.Writer) error) error {
	if slices.ContainsFunc(ofALogbook, func(name string) bool { return strings.EqualFold(name, filepath.Base(path)) }) {
		return problem.Whole(path, "is a logbook's own file, not overwritten")
	}
	st, err := os.Lstat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return notWritten(path, err)
	case st.Mode()&fs.ModeSymlink != 0:
		return problem.Whole(path, "is a link to another file, not overwritten")
	case st.Mode().IsRegular() && !ofKind(path, st.Size()):
		return problem.Whole(path, "exists and is no %s file, not overwritten", strings.TrimPrefix(filepath.Ext(path), "."))
	}
	return Save(path, write)
}

// ofKind reports whether a file begins as its extension demands, or is empty.
func ofKind(path string, size int64) bool {
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	start := make([]byte, 64)
	n, _ := io.ReadFull(f, start)
	start = bytes.TrimLeft(start[:n], "\ufeff \r\n\t")
	return size == 0 || slices.ContainsFunc(kinds[strings.ToLower(filepath.Ext(path))], func(begin string) bool {
		return len(start) >= len(begin) && bytes.EqualFold(start[:len(begin)], []byte(begin)) // folding case changes no byte of PNG's start
	})
}

// MakeFolder makes a folder and its missing parents.
func MakeFolder(path string) error {
	if err := os.MkdirAll(path, 0o755); err != nil {
		return fmt.Errorf("%s: no folder can be made there: %w", path, cause(err))
	}
	return nil
}
