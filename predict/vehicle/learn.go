package vehicle

import (
	"bytes"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"

	"sagline/session/tomlfile"
	"sagline/session/units"
)

// learntMark begins the comment beside a value that the tool has written.
const learntMark = "learnt from"

// was finds in such a comment what a value was before the tool first wrote it,
// "" where it was left out, and what its owner noted beside it.
var was = regexp.MustCompile(`^` + learntMark + ` .*?(?:, was (.*?))?(?:; (.*))?$`)

// Learn is the text of a vehicle.toml with values written into it, by path as
// Set takes it and as TOML has them ("0.52", "[0.48, 0.56]"); from says what
// they are learnt from, as "5 dives". Each stands in the place of the old one,
// which its comment keeps, or on a new line of its table. Every other byte
// stays. Its error is that of Read, for a text that is no sound vehicle.
func Learn(text []byte, file string, values map[string]string, from string) ([]byte, error) {
	v, err := Read(bytes.NewReader(text), file)
	if err != nil {
		return nil, err
	}
	note := func(old, comment string) string {
		if m := was.FindStringSubmatch(comment); m != nil {
			old, comment = m[1], m[2]
		}
		out := learntMark + " " + from
		if old != "" {
			out += ", was " + old
		}
		if comment != "" {
			out += "; " + comment
		}
		return out
	}
	for _, path := range slices.Sorted(maps.Keys(values)) {
		k, i, err := v.find(path)
		if err != nil {
			return nil, fmt.Errorf("%s: %s: %w", file, path, err)
		}
		if text, err = tomlfile.Set(text, file, k.id(i), values[path], note); err != nil {
			return nil, err
		}
	}
	_, err = Read(bytes.NewReader(text), file)
	return text, err
}

// Remember is the text of a vehicle.toml with the units that results are shown
// in set to s: every byte as it was but for that value, or for one new line
// below the name.
func Remember(text []byte, file string, s units.System) ([]byte, error) {
	if _, err := Read(bytes.NewReader(text), file); err != nil {
		return nil, err
	}
	return tomlfile.Set(text, file, "units", strconv.Quote(string(s)), nil)
}
