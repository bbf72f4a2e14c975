package tomlfile

import (
	"bytes"
	"slices"
	"strings"

	"sagline/session/problem"
)

// Set returns the text of a TOML file with a new value for the key of a path, on a new
// line of its table if the file does not have the key. note returns the comment after the
// value, given the old value and comment, "" for none; a nil note keeps the comment. No
// other byte changes. It is an error if the value is in braces, so that a comment has no
// place, or if the key is new and its table is written with dots or in braces.
func Set(text []byte, name, path, value string, note func(old, comment string) string) ([]byte, error) {
	f, err := Parse(text, name)
	if err != nil {
		return nil, err
	}
	var out []byte
	k, ok := f.at[path]
	switch {
	case ok:
		out, ok = f.replace(k, value, note)
	case note != nil:
		out, ok = f.insert(path, value+"  # "+note("", ""))
	default:
		out, ok = f.insert(path, value)
	}
	if !ok {
		return nil, noLine(name, path, value)
	}
	return append(text[:f.mark:f.mark], out...), nil
}

// Insert returns the text of a TOML file with the lines of another element of a list of
// tables, before the element with the path above ("change.1"), or at the file's end if
// there is none. No other byte changes. A list that is written in brackets is an error.
func Insert(text []byte, name, list, above string, lines []string) ([]byte, error) {
	f, err := Parse(text, name)
	if err != nil {
		return nil, err
	}
	if k := f.at[list]; k != nil && !k.Header() {
		return nil, &problem.Problem{File: name, Line: f.LineOf(k), Column: list, Text: "found " + f.Found(k) + ", want each of them under [[" + list + "]]"}
	}
	at := len(f.text)
	if next := f.at[above]; next != nil {
		at = 0
		for _, k := range f.Keys {
			if k.offset < next.offset {
				at = max(at, k.offset, k.end)
			}
		}
	}
	out := f.after(at, f.newline()+strings.Join(lines, f.newline()))
	return append(text[:f.mark:f.mark], out...), nil
}

// lastDot returns the index of the dot before the last part of a path, which may be
// quoted and contain dots; −1 for none.
func lastDot(path string) int {
	before, _, _ := strings.Cut(path, `"`)
	return strings.LastIndexByte(before, '.')
}

func noLine(name, path, value string) error {
	dot := lastDot(path)
	text := "found no place for " + path + ", want a line " + path[dot+1:] + " = " + value
	if dot > 0 {
		text += " of its own under [" + path[:dot] + "]"
	} else {
		text += " above the first table"
	}
	return &problem.Problem{File: name, Text: text}
}

func (f *File) replace(k *Key, value string, note func(old, comment string) string) ([]byte, bool) {
	end := k.end
	if note != nil {
		end = f.endOfLine(k.end)
		rest := bytes.TrimSpace(f.text[k.end:end])
		if len(rest) > 0 && rest[0] != '#' || strings.Contains(f.raw(k), "\n") {
			return nil, false
		}
		value += "  # " + note(f.raw(k), f.Comment(k))
	}
	return slices.Replace(slices.Clone(f.text), k.from, end, []byte(value)...), true
}

// insert adds a line to its table: after the last of the table's own keys or its header,
// or in a new table at the file's end. A key outside of all tables goes after the first
// key.
func (f *File) insert(path, value string) ([]byte, bool) {
	dot := lastDot(path)
	line, table := path[dot+1:]+" = "+value, path[:max(dot, 0)]
	at, known := -1, f.at[table]
	for _, k := range f.Keys {
		switch outer := strings.Join(k.Parts[:len(k.Parts)-1], "."); {
		case k.Path == table && k.Header():
			at = max(at, k.offset)
		case outer == table && !k.Header() && (dot > 0 || at < 0):
			at = max(at, k.end)
		}
	}
	switch {
	case dot < 0 && at >= 0, known != nil && known.Header():
		return f.after(at, line), true
	case dot < 0 || at >= 0 || known != nil || strings.ContainsAny(table, "0123456789"):
		return nil, false // in braces, with dots, or an element of a list
	}
	return f.after(len(f.text), f.newline()+"["+table+"]"+f.newline()+line), true
}

// newline returns the file's line break.
func (f *File) newline() string {
	if len(f.breaks) > 0 && f.breaks[0] > 0 && f.text[f.breaks[0]-1] == '\r' {
		return "\r\n"
	}
	return "\n"
}

// after inserts a line below that of an offset.
func (f *File) after(offset int, line string) []byte {
	at := len(f.text)
	if end := bytes.IndexByte(f.text[offset:], '\n'); end >= 0 {
		at = offset + end + 1
	}
	line += f.newline()
	if at > 0 && f.text[at-1] != '\n' { // the file's last line has no line break
		line = f.newline() + line
	}
	return slices.Insert(slices.Clone(f.text), at, []byte(line)...)
}
