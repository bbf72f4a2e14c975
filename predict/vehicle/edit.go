package vehicle

import (
	"bytes"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"sagline/session/problem"
	"sagline/session/units"
)

// learntMark begins the comment beside a value that the tool has written.
const learntMark = "learnt from"

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
	for _, path := range slices.Sorted(maps.Keys(values)) {
		k, i, err := v.find(path)
		if err != nil {
			return nil, fmt.Errorf("%s: %s: %w", file, path, err)
		}
		if text, err = edit(text, file, k.id(i), values[path], learntMark+" "+from); err != nil {
			return nil, err
		}
	}
	if _, err := Read(bytes.NewReader(text), file); err != nil {
		return nil, err
	}
	return text, nil
}

// Remember is the text of a vehicle.toml with the units that results are shown
// in set to s: every byte as it was but for that value, or for one new line
// below the name.
func Remember(text []byte, file string, s units.System) ([]byte, error) {
	if _, err := Read(bytes.NewReader(text), file); err != nil {
		return nil, err
	}
	out, err := edit(text, file, "units", strconv.Quote(string(s)), "")
	if err != nil {
		return nil, err
	}
	if v, err := Read(bytes.NewReader(out), file); err != nil || v.Units != s {
		return nil, noLineFor(file, "units", strconv.Quote(string(s)))
	}
	return out, nil
}

// edit sets one key by its path in the file, "thruster.0.test_a", and notes the
// comment beside it.
func edit(text []byte, file, path, value, comment string) ([]byte, error) {
	start := len(text) - len(bytes.TrimPrefix(text, []byte("\ufeff")))
	in := scan(text[start:])
	if e, ok := in.at[path]; ok {
		out, ok := in.replace(e, value, comment)
		if !ok {
			return nil, noLineFor(file, path, value)
		}
		return append(text[:start:start], out...), nil
	}
	out, ok := in.insert(path, value, comment)
	if !ok {
		return nil, noLineFor(file, path, value)
	}
	return append(text[:start:start], out...), nil
}

func noLineFor(file, path, value string) error {
	dot := strings.LastIndexByte(path, '.')
	text := "found no place for " + path + ", want a line " + path[dot+1:] + " = " + value
	if dot > 0 {
		text += " of its own under [" + path[:dot] + "]"
	} else {
		text += " above the first table"
	}
	return &problem.Problem{File: file, Text: text}
}

// was finds what a value was before the tool first wrote it, and what its owner
// noted beside it.
var was = regexp.MustCompile(`^` + learntMark + `.*?, was (.*?)(?:; (.*))?$`)

// replace puts a value in the place of another. With a comment it wants the
// value alone on its line.
func (in *layout) replace(e *entry, value, comment string) ([]byte, bool) {
	end, old, note := e.end, in.raw(e), in.comment(e)
	if comment != "" {
		end = in.endOfLine(e.end)
		if rest := bytes.TrimSpace(in.text[e.end:end]); len(rest) > 0 && rest[0] != '#' || strings.Contains(old, "\n") {
			return nil, false
		}
		if m := was.FindStringSubmatch(note); m != nil {
			old, note = m[1], m[2]
		}
		value += "  # " + comment + ", was " + old
		if note != "" {
			value += "; " + note
		}
	}
	return slices.Replace(slices.Clone(in.text), e.from, end, []byte(value)...), true
}

// insert adds a line to its table: after the last of the table's own keys,
// after its header, or in a new table at the file's end. At the top it comes
// below the name.
func (in *layout) insert(path, value, comment string) ([]byte, bool) {
	dot := strings.LastIndexByte(path, '.')
	line := path[dot+1:] + " = " + value
	if comment != "" {
		line += "  # " + comment
	}
	table := path[:max(dot, 0)]
	if dot < 0 {
		return in.after(in.at["name"].end, line), true
	}
	at := -1
	for _, e := range in.order {
		switch {
		case e.path == table && e.from == 0:
			at = max(at, e.offset)
		case len(e.parts) > 1 && e.end > 0 && strings.Join(e.parts[:len(e.parts)-1], ".") == table:
			at = max(at, e.end)
		}
	}
	header, ok := in.at[table]
	switch {
	case ok && header.from == 0:
		return in.after(at, line), true
	case at >= 0 || ok || strings.HasPrefix(table, "thruster."): // an inline table, or keys with dots
		return nil, false
	}
	return in.after(len(in.text), in.newline()+"["+table+"]"+in.newline()+line), true
}

// newline is the file's line break.
func (in *layout) newline() string {
	if len(in.breaks) > 0 && in.breaks[0] > 0 && in.text[in.breaks[0]-1] == '\r' {
		return "\r\n"
	}
	return "\n"
}

// after adds a line below that of an offset.
func (in *layout) after(offset int, line string) []byte {
	at := len(in.text)
	for _, b := range in.breaks {
		if b >= offset {
			at = b + 1
			break
		}
	}
	line += in.newline()
	if at > 0 && in.text[at-1] != '\n' { // the file's last line has no end
		line = in.newline() + line
	}
	return slices.Insert(slices.Clone(in.text), at, []byte(line)...)
}
