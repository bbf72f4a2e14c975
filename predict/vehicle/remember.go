package vehicle

import (
	"bytes"
	"fmt"
	"slices"
	"strconv"

	"sagline/session/units"
)

// Remember is the text of a vehicle.toml with the units that results are
// shown in set to s: every byte as it was but for that value, or for one new
// line below the name. Its error is that of Read, for a text that is no
// sound vehicle.
func Remember(text []byte, file string, s units.System) ([]byte, error) {
	if _, err := Read(bytes.NewReader(text), file); err != nil {
		return nil, err
	}
	start := len(text) - len(bytes.TrimPrefix(text, []byte("\ufeff")))
	in := scan(text[start:])
	value := strconv.Quote(string(s))
	if e, ok := in.at["units"]; ok {
		return slices.Replace(slices.Clone(text), start+e.from, start+e.from+len(e.raw), []byte(value)...), nil
	}
	at, end := start+in.after("name"), "\n"
	if i := bytes.IndexByte(text, '\n'); i > 0 && text[i-1] == '\r' {
		end = "\r\n"
	}
	line := "units = " + value + end
	if at > 0 && text[at-1] != '\n' { // the name is the file's last line
		line = end + line
	}
	out := slices.Insert(slices.Clone(text), at, []byte(line)...)
	if v, err := Read(bytes.NewReader(out), file); err != nil || v.Units != s {
		return nil, fmt.Errorf("%s: found no place for units, want a line units = %s above the first table", file, value)
	}
	return out, nil
}

// after is where the line below a key's value begins.
func (in *keys) after(path string) int {
	e := in.at[path]
	end := e.from + len(e.raw)
	for _, b := range in.breaks {
		if b >= end {
			return b + 1
		}
	}
	return in.size
}
