package vehicle

import (
	"fmt"
	"reflect"
	"sort"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// keys are the key paths of a file, as "thruster.0.test_a".
type keys struct {
	at     map[string]entry
	order  []string
	breaks []int // offsets of line breaks
	size   int   // of the file
}

type entry struct {
	offset int // of the key
	kind   unstable.Kind
	raw    string // the value as written
	from   int    // offset of the value
}

func join(parts ...any) string {
	words := make([]string, len(parts))
	for i, p := range parts {
		words[i] = fmt.Sprint(p)
	}
	return strings.Join(words, ".")
}

// scan notes where each key of a file stands, as far as its syntax is sound.
func scan(text []byte) *keys {
	in := &keys{at: map[string]entry{}, size: len(text)}
	for i, c := range text {
		if c == '\n' {
			in.breaks = append(in.breaks, i)
		}
	}
	var p unstable.Parser
	p.Reset(text)
	lists := map[string]int{} // elements so far of each [[list]]
	table := ""
	for p.NextExpression() {
		switch e := p.Expression(); e.Kind {
		case unstable.Table, unstable.ArrayTable:
			path, offset := in.path(e.Key(), "", lists)
			if e.Kind == unstable.ArrayTable {
				in.note(path, entry{offset: offset, kind: unstable.Array})
				lists[path]++
				path = join(path, lists[path]-1)
			}
			in.note(path, entry{offset: offset, kind: unstable.Table})
			table = path
		case unstable.KeyValue:
			in.value(&p, e, table, lists)
		}
	}
	return in
}

func (in *keys) note(path string, e entry) {
	if _, ok := in.at[path]; !ok {
		in.at[path] = e
		in.order = append(in.order, path)
	}
}

// path spells a key below a table; a list on the way means its last element.
func (in *keys) path(key unstable.Iterator, table string, lists map[string]int) (path string, offset int) {
	path = table
	for n := 0; key.Next() && n < deepest; n++ {
		if last := lists[path] - 1; last >= 0 && path != table {
			path = join(path, last)
		}
		if path != "" {
			path += "."
		}
		path += string(key.Node().Data)
		offset = int(key.Node().Raw.Offset)
	}
	return path, offset
}

func (in *keys) value(p *unstable.Parser, e *unstable.Node, table string, lists map[string]int) {
	path, offset := in.path(e.Key(), table, lists)
	v := e.Value()
	in.note(path, entry{offset, v.Kind, string(p.Raw(v.Raw)), int(v.Raw.Offset)})
	in.inside(p, v, path, lists)
}

// inside notes the keys of inline tables and of lists of them.
func (in *keys) inside(p *unstable.Parser, v *unstable.Node, path string, lists map[string]int) {
	if v.Kind != unstable.InlineTable && v.Kind != unstable.Array || strings.Count(path, ".") >= deepest {
		return
	}
	for i, c := 0, v.Children(); c.Next(); {
		switch n := c.Node(); n.Kind {
		case unstable.KeyValue:
			in.value(p, n, path, lists)
		case unstable.Comment:
		default:
			at := join(path, i)
			i++
			in.note(at, entry{int(n.Raw.Offset), n.Kind, string(p.Raw(n.Raw)), int(n.Raw.Offset)})
			in.inside(p, n, at, lists)
		}
	}
}

func (in *keys) has(path string) bool {
	_, ok := in.at[path]
	return ok
}

// line is a key's line, or 0.
func (in *keys) line(path string) int {
	e, ok := in.at[path]
	if !ok {
		return 0
	}
	return 1 + sort.SearchInts(in.breaks, e.offset)
}

// mistyped finds the key of a line whose value is of the wrong kind.
func (in *keys) mistyped(line int) (path, is string) {
	for _, path := range in.order {
		if in.line(path) != line {
			continue
		}
		parts := strings.Split(path, ".")
		t := typeAt(parts)
		if t == nil {
			continue
		}
		if _, err := strconv.Atoi(parts[len(parts)-1]); err == nil && t.Kind() == reflect.Slice {
			t = t.Elem()
		}
		if t.Kind() == reflect.Pointer {
			t = t.Elem()
		}
		e, fits := in.at[path], false
		switch e.kind {
		case unstable.Float:
			fits = t.Kind() == reflect.Float64
		case unstable.Integer:
			fits = t.Kind() == reflect.Float64 || t.Kind() == reflect.Int
		case unstable.Bool:
			fits = t.Kind() == reflect.Bool
		case unstable.String:
			fits = t.Kind() == reflect.String
		case unstable.Array:
			fits, e.raw = t.Kind() == reflect.Slice, "a list"
		case unstable.Table, unstable.InlineTable:
			fits, e.raw = t.Kind() == reflect.Struct, "a table"
		}
		if !fits {
			if len(e.raw) > 40 {
				e.raw = e.kind.String()
			}
			return path, e.raw
		}
	}
	return "", ""
}
