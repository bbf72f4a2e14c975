// Package tomlfile reads a TOML file with the position of each key, words syntax errors so
// that they help, and edits values without changing any other byte. The file is held in
// memory. The package does not know the meaning of keys.
package tomlfile

import (
	"bytes"
	"fmt"
	"slices"
	"sort"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"sagline/session/problem"
)

// deepest is the greatest depth of nested keys that are read.
const deepest = 8

// A File is a TOML file that has been read.
type File struct {
	Keys  []*Key // in the file's order
	Twice []*Key // values whose path an earlier value has, spelt differently

	mark   int // length of a byte-order mark
	text   []byte
	tree   map[string]any
	at     map[string]*Key
	breaks []int // offsets of line breaks
}

// A Key is a key or a table of a file.
type Key struct {
	Path  string   // "thruster.0.test_a": elements of lists by their index
	Parts []string // of the path; a quoted key may contain dots
	Value any      // as the TOML library decodes it

	kind   unstable.Kind
	offset int // of the key, in bytes
	from   int // offset of the value; 0: a header
	end    int // offset of the value's end
}

// Header reports whether the key is the name of a [table] or a [[list]].
func (k *Key) Header() bool { return k.from == 0 }

// Tables reports whether the key is a list of tables, under [[headers]] or in braces.
func (k *Key) Tables() bool {
	_, many := k.Value.([]any)
	return many && k.kind == unstable.Array
}

// Parse reads a TOML text, with or without a byte-order mark. name is the file's. The
// error for a text that is not TOML is a *problem.Problem.
func Parse(text []byte, name string) (*File, error) {
	rest := bytes.TrimPrefix(text, []byte("\ufeff"))
	f := &File{text: rest, mark: len(text) - len(rest), at: map[string]*Key{}}
	for i, c := range rest {
		if c == '\n' {
			f.breaks = append(f.breaks, i)
		}
	}
	if line, ok := notText(rest); ok {
		return nil, &problem.Problem{File: name, Line: line, Text: "found bytes that are not UTF-8 text, want the file saved as UTF-8"}
	}
	if err := toml.Unmarshal(rest, &f.tree); err != nil {
		return nil, syntaxProblem(err, rest, name)
	}
	f.scan()
	return f, nil
}

// scan finds all keys and their positions.
func (f *File) scan() {
	var p unstable.Parser
	p.Reset(f.text)
	lists := map[string]int{} // elements so far of each [[list]]
	var table []string
	for p.NextExpression() {
		switch e := p.Expression(); e.Kind {
		case unstable.Table, unstable.ArrayTable:
			parts, offset, _ := keyPath(e.Key(), nil, lists)
			if e.Kind == unstable.ArrayTable {
				path := strings.Join(parts, ".")
				f.note(&Key{Parts: parts, offset: offset, kind: unstable.Array})
				lists[path]++
				parts = append(slices.Clip(parts), fmt.Sprint(lists[path]-1))
			}
			f.note(&Key{Parts: parts, offset: offset, kind: unstable.Table})
			table = parts
		case unstable.KeyValue:
			f.value(&p, e, table, lists)
		}
	}
}

func (f *File) note(k *Key) {
	k.Path = strings.Join(k.Parts, ".")
	if first, ok := f.at[k.Path]; ok {
		if !first.Header() && !k.Header() {
			f.Twice = append(f.Twice, k)
		}
		return
	}
	k.Value = valueAt(f.tree, k.Parts)
	f.at[k.Path] = k
	f.Keys = append(f.Keys, k)
}

// keyPath returns the path of a key in a table, and the byte offsets of its last part. A
// list in the path stands for its last element.
func keyPath(key unstable.Iterator, table []string, lists map[string]int) (parts []string, offset, end int) {
	parts = slices.Clip(table)
	for n := 0; key.Next() && n < deepest; n++ {
		if last := lists[strings.Join(parts, ".")] - 1; last >= 0 && len(parts) != len(table) {
			parts = append(parts, fmt.Sprint(last))
		}
		parts = append(parts, string(key.Node().Data))
		raw := key.Node().Raw
		offset, end = int(raw.Offset), int(raw.Offset+raw.Length)
	}
	return parts, offset, end
}

func (f *File) value(p *unstable.Parser, e *unstable.Node, table []string, lists map[string]int) {
	parts, offset, keyEnd := keyPath(e.Key(), table, lists)
	v := e.Value()
	from := int(v.Raw.Offset)
	if v.Kind == unstable.Array { // has no offset of its own in this library
		from = keyEnd + bytes.IndexByte(f.text[keyEnd:], '[')
	}
	f.note(&Key{Parts: parts, offset: offset, kind: v.Kind, from: from, end: int(e.Raw.Offset + e.Raw.Length)})
	f.inside(p, v, parts, lists)
}

// inside adds the keys of inline tables and the elements of lists.
func (f *File) inside(p *unstable.Parser, v *unstable.Node, parts []string, lists map[string]int) {
	if v.Kind != unstable.InlineTable && v.Kind != unstable.Array || len(parts) > deepest {
		return
	}
	for i, c := 0, v.Children(); c.Next(); {
		switch n := c.Node(); n.Kind {
		case unstable.KeyValue:
			f.value(p, n, parts, lists)
		case unstable.Comment:
		default:
			at := append(slices.Clip(parts), fmt.Sprint(i))
			i++
			f.note(&Key{Parts: at, offset: int(n.Raw.Offset), kind: n.Kind, from: int(n.Raw.Offset), end: int(n.Raw.Offset + n.Raw.Length)})
			f.inside(p, n, at, lists)
		}
	}
}

// valueAt returns the decoded value at a path, nil for none.
func valueAt(tree any, parts []string) any {
	for _, p := range parts {
		switch t := tree.(type) {
		case map[string]any:
			tree = t[p]
		case []any:
			n, err := strconv.Atoi(p)
			if err != nil || n >= len(t) {
				return nil
			}
			tree = t[n]
		default:
			return nil
		}
	}
	return tree
}

// Find returns the key of a path, nil for none or on a nil File.
func (f *File) Find(path string) *Key {
	if f == nil {
		return nil
	}
	return f.at[path]
}

// Line returns the line of a path, from 1; 0 if the file does not have it.
func (f *File) Line(path string) int {
	if k := f.Find(path); k != nil {
		return f.LineOf(k)
	}
	return 0
}

// LineOf returns the line of a key, from 1.
func (f *File) LineOf(k *Key) int { return 1 + sort.SearchInts(f.breaks, k.offset) }

// raw returns a value as written.
func (f *File) raw(k *Key) string { return string(f.text[k.from:k.end]) }

// Found words a value for a problem.
func (f *File) Found(k *Key) string {
	switch raw := f.raw(k); {
	case k.kind == unstable.InlineTable, k.Header() && k.kind == unstable.Table:
		return "a table"
	case k.Header():
		return "tables"
	case k.kind == unstable.String:
		return problem.Quote(strings.Trim(raw, `"'`))
	case len(raw) <= 40 && !strings.Contains(raw, "\n"):
		return raw
	case k.kind == unstable.Array:
		return "a list"
	}
	return k.kind.String()
}

// endOfLine returns the offset of the end of a line, before its line break.
func (f *File) endOfLine(offset int) int {
	rest, _, _ := bytes.Cut(f.text[offset:], []byte("\n"))
	return offset + len(bytes.TrimSuffix(rest, []byte("\r")))
}

// Comment returns the comment after a value, without #; "" for none, or if anything else
// follows the value.
func (f *File) Comment(k *Key) string {
	if k.Header() {
		return ""
	}
	rest := strings.TrimSpace(string(f.text[k.end:f.endOfLine(k.end)]))
	if words, ok := strings.CutPrefix(rest, "#"); ok {
		return strings.TrimSpace(words)
	}
	return ""
}
