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

// learntComment matches such a comment: the value before the tool first wrote it, "" if it was left
// out, and the owner's own comment.
var learntComment = regexp.MustCompile(`^` + learntMark + ` .*?(?:, was (.*?))?(?:; (.*))?$`)

// Learn returns the text of a vehicle.toml with values written into it, keyed by path as Set takes
// it and in TOML ("0.52", "[0.48, 0.56]"). from says what they are learnt from, such as "5 dives".
// Each replaces the old value, which its comment keeps, or stands on a new line of its table. Every
// other byte stays the same. Errors are those of Read or of a path.
func Learn(text []byte, file string, values map[string]string, from string) ([]byte, error) {
	v, err := Read(bytes.NewReader(text), file)
	if err != nil {
		return nil, err
	}
	note := func(old, comment string) string {
		if m := learntComment.FindStringSubmatch(comment); m != nil {
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

// Remember returns the text of a vehicle.toml with units set to s. If the key is not there yet, it
// gets a line below the name. Every other byte stays the same. Errors are those of Read.
func Remember(text []byte, file string, s units.System) ([]byte, error) {
	if _, err := Read(bytes.NewReader(text), file); err != nil {
		return nil, err
	}
	return tomlfile.Set(text, file, "units", strconv.Quote(string(s)), nil)
}
