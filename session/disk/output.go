package disk

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"sagline/session/problem"
)

// kinds are what the files that commands make begin with, by the end of their
// names, without regard to case.
var kinds = map[string][]string{".png": {"\x89png"}, ".svg": {"<?xml", "<svg"}, ".html": {"<!doctype html"}, ".1": {".nh", ".th"}, ".csv": {"conductor,"}}

// ofALogbook are the files that a person or a command writes as a logbook.
var ofALogbook = []string{"dives.csv", "vehicle.toml", "import.toml", "locate.csv", lockName}

// SaveOutput is Save for a picture, a page or whatever else can be made anew: it
// replaces nothing but a regular file of the kind that the name's end says, no
// link and none of a logbook's own files.
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

// ofKind says whether a file begins as one of its name does; an empty one does.
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
		return len(start) >= len(begin) && bytes.EqualFold(start[:len(begin)], []byte(begin)) // which lowers no byte of a PNG's
	})
}
