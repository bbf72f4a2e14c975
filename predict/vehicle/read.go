package vehicle

import (
	"io"
	"os"
	"path/filepath"

	"sagline/session/disk"
	"sagline/session/problem"
	"sagline/session/tomlfile"
)

// FileName is the vehicle's name in its folder.
const FileName = "vehicle.toml"

// maxBytes is far more than any vehicle needs, and little enough that keys and
// lists nested without end take neither time nor memory.
const maxBytes = 64 << 10

// mostWorded is how many problems of a file are put into words.
const mostWorded = 50

// Open reads a logbook folder's vehicle.toml.
func Open(folder string) (*Vehicle, error) {
	v, _, err := OpenPlaced(folder)
	return v, err
}

// OpenPlaced is Open with where each key stands.
func OpenPlaced(folder string) (*Vehicle, *Places, error) {
	path := filepath.Join(folder, FileName)
	if err := disk.Folder(folder); err != nil {
		return nil, nil, err
	}
	if st, err := os.Stat(path); err == nil && !st.Mode().IsRegular() {
		return nil, nil, problem.Whole(path, "not a file")
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, nil, problem.Whole(path, "cannot be read; sagline new makes one")
	}
	defer f.Close()
	return readPlaced(f, path)
}

// Read reads one vehicle.toml strictly: an unknown key, a required one that is
// missing or a number that no vehicle has is an error that names it, all of
// them at once. Where there is an error there is no vehicle.
func Read(r io.Reader, file string) (*Vehicle, error) {
	v, _, err := readPlaced(r, file)
	return v, err
}

func readPlaced(r io.Reader, file string) (*Vehicle, *Places, error) {
	text, err := io.ReadAll(io.LimitReader(r, maxBytes+1))
	if err != nil {
		return nil, nil, problem.Whole(file, "%v", err)
	}
	if len(text) > maxBytes {
		return nil, nil, problem.Whole(file, "found more than %d bytes, want at most that many", maxBytes)
	}
	in, err := tomlfile.Parse(text, file)
	if err != nil {
		return nil, nil, err
	}
	c := checker{v: &Vehicle{stated: map[keyElement]stated{}}, in: in, file: file}
	c.read()
	c.shape()
	if len(c.all) == 0 {
		c.v.fill()
		c.tests()
	}
	if len(c.all) == 0 {
		c.changes()
	}
	if n := len(c.all) - mostWorded; n > 0 {
		c.all = c.all[:mostWorded:mostWorded]
		c.all.Add(file, 0, "", "… and %d more", n)
	}
	if err := c.all.Err(); err != nil {
		return nil, nil, err
	}
	return c.v, &Places{file, in}, nil
}
