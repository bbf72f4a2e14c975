package vehicle

import (
	"bytes"
	"fmt"
	"sort"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// deepest is how far down keys are followed; no known one lies so deep.
const deepest = 8

// layout is where the keys of a file stand, by path as "thruster.0.test_a".
type layout struct {
	text   []byte
	at     map[string]*entry
	order  []*entry
	twice  []*entry // values whose path another value has
	breaks []int    // offsets of line breaks
}

// entry is a key or a table of a file.
type entry struct {
	path   string
	parts  []string
	offset int // of the key
	kind   unstable.Kind
	from   int // where the value begins and ends
	end    int
}

func join(parts ...any) string {
	words := make([]string, len(parts))
	for i, p := range parts {
		words[i] = fmt.Sprint(p)
	}
	return strings.Join(words, ".")
}

// scan notes where each key of a file stands, as far as its syntax is sound.
func scan(text []byte) *layout {
	in := &layout{text: text, at: map[string]*entry{}}
	for i, c := range text {
		if c == '\n' {
			in.breaks = append(in.breaks, i)
		}
	}
	var p unstable.Parser
	p.Reset(text)
	lists := map[string]int{} // elements so far of each [[list]]
	var table []string
	for p.NextExpression() {
		switch e := p.Expression(); e.Kind {
		case unstable.Table, unstable.ArrayTable:
			parts, offset, _ := keyPath(e.Key(), nil, lists)
			if e.Kind == unstable.ArrayTable {
				path := strings.Join(parts, ".")
				in.note(&entry{parts: parts, offset: offset, kind: unstable.Array})
				lists[path]++
				parts = append(parts[:len(parts):len(parts)], fmt.Sprint(lists[path]-1))
			}
			in.note(&entry{parts: parts, offset: offset, kind: unstable.Table})
			table = parts
		case unstable.KeyValue:
			in.value(&p, e, table, lists)
		}
	}
	return in
}

func (in *layout) note(e *entry) {
	e.path = strings.Join(e.parts, ".")
	if first, ok := in.at[e.path]; ok {
		if first.end > 0 && e.end > 0 {
			in.twice = append(in.twice, e)
		}
		return
	}
	in.at[e.path] = e
	in.order = append(in.order, e)
}

// keyPath is a key below a table; a list on the way means its last element.
func keyPath(key unstable.Iterator, table []string, lists map[string]int) (parts []string, offset, end int) {
	parts = table[:len(table):len(table)]
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

func (in *layout) value(p *unstable.Parser, e *unstable.Node, table []string, lists map[string]int) {
	parts, offset, keyEnd := keyPath(e.Key(), table, lists)
	v := e.Value()
	from := int(v.Raw.Offset)
	if v.Kind == unstable.Array { // has no place of its own in this library
		from = keyEnd + bytes.IndexByte(in.text[keyEnd:], '[')
	}
	in.note(&entry{parts: parts, offset: offset, kind: v.Kind, from: from, end: int(e.Raw.Offset + e.Raw.Length)})
	in.inside(p, v, parts, lists)
}

// inside notes the keys of inline tables and of lists of them.
func (in *layout) inside(p *unstable.Parser, v *unstable.Node, parts []string, lists map[string]int) {
	if v.Kind != unstable.InlineTable && v.Kind != unstable.Array || len(parts) > deepest {
		return
	}
	for i, c := 0, v.Children(); c.Next(); {
		switch n := c.Node(); n.Kind {
		case unstable.KeyValue:
			in.value(p, n, parts, lists)
		case unstable.Comment:
		default:
			at := append(parts[:len(parts):len(parts)], fmt.Sprint(i))
			i++
			in.note(&entry{parts: at, offset: int(n.Raw.Offset), kind: n.Kind, from: int(n.Raw.Offset), end: int(n.Raw.Offset + n.Raw.Length)})
			in.inside(p, n, at, lists)
		}
	}
}

// raw is an entry's value as written.
func (in *layout) raw(e *entry) string { return string(in.text[e.from:e.end]) }

// line is a key's line, or 0.
func (in *layout) line(path string) int {
	if in == nil {
		return 0
	}
	e, ok := in.at[path]
	if !ok {
		return 0
	}
	return in.lineOf(e)
}

func (in *layout) lineOf(e *entry) int { return 1 + sort.SearchInts(in.breaks, e.offset) }

// endOfLine is where the line of an offset ends, its line break left out.
func (in *layout) endOfLine(offset int) int {
	if i := sort.SearchInts(in.breaks, offset); i < len(in.breaks) {
		end := in.breaks[i]
		if end > offset && in.text[end-1] == '\r' {
			end--
		}
		return end
	}
	return len(in.text)
}

// comment is what follows a value on its line after the #, "" where nothing
// does or more than a comment.
func (in *layout) comment(e *entry) string {
	if e.end == 0 {
		return ""
	}
	rest := strings.TrimSpace(string(in.text[e.end:in.endOfLine(e.end)]))
	if words, ok := strings.CutPrefix(rest, "#"); ok {
		return strings.TrimSpace(words)
	}
	return ""
}
