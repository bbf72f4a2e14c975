package vehicle

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"sagline/session/problem"
)

// FileName is the vehicle's name in its folder.
const FileName = "vehicle.toml"

// maxBytes is far more than any vehicle needs, and little enough that keys and
// lists nested without end take neither time nor memory.
const maxBytes = 64 << 10

// Open reads a logbook folder's vehicle.toml.
func Open(folder string) (*Vehicle, error) {
	v, _, err := OpenPlaced(folder)
	return v, err
}

// OpenPlaced is Open that remembers where each key stands.
func OpenPlaced(folder string) (*Vehicle, *Places, error) {
	path := filepath.Join(folder, FileName)
	if st, err := os.Stat(folder); err != nil || !st.IsDir() {
		return nil, nil, &problem.Problem{File: folder, Text: "no such folder; want a logbook folder with vehicle.toml and dives.csv"}
	}
	if st, err := os.Stat(path); err == nil && !st.Mode().IsRegular() {
		return nil, nil, &problem.Problem{File: path, Text: "not a file"}
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, nil, &problem.Problem{File: path, Text: "cannot be read; sagline new makes one"}
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
		return nil, nil, &problem.Problem{File: file, Text: err.Error()}
	}
	if len(text) > maxBytes {
		return nil, nil, &problem.Problem{File: file, Text: fmt.Sprintf("found more than %d bytes, want at most that many", maxBytes)}
	}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	if line, ok := notText(text); ok {
		return nil, nil, &problem.Problem{File: file, Line: line, Text: "found bytes that are not UTF-8 text, want the file saved as UTF-8"}
	}
	var tree map[string]any
	if err := toml.Unmarshal(text, &tree); err != nil {
		return nil, nil, syntaxProblem(err, text, file)
	}
	in := scan(text)
	c := checker{v: &Vehicle{stated: map[string]stated{}}, in: in, file: file}
	c.read(tree)
	c.shape()
	if len(c.all) == 0 {
		c.v.fill()
		c.tests()
	}
	if len(c.all) == 0 {
		c.changes(tree)
	}
	if err := few(c.all).Err(); err != nil {
		return nil, nil, err
	}
	return c.v, &Places{file, in}, nil
}

// syntaxProblem words an error of the TOML library with its line.
func syntaxProblem(err error, text []byte, file string) error {
	var decode *toml.DecodeError
	if !errors.As(err, &decode) {
		return &problem.Problem{File: file, Text: strings.TrimPrefix(err.Error(), "toml: ")}
	}
	line, _ := decode.Position()
	return &problem.Problem{File: file, Line: line, Column: spelt(decode.Key()),
		Text: unreadable(lineOf(text, line), strings.TrimPrefix(decode.Error(), "toml: "))}
}

// read assigns all that the file states but the changes, which are read onto a
// whole vehicle.
func (c *checker) read(tree map[string]any) {
	for name, most := range lists {
		if all, ok := valueAt(tree, strings.Split(name, ".")).([]any); ok && name != "change" {
			if f := c.v.field(name, 0); len(all) <= most {
				f.Set(reflect.MakeSlice(f.Type(), len(all), len(all)))
			}
		}
	}
	done := "\x00" // the path before all of whose keys one problem stands
	for _, e := range c.in.order {
		if strings.HasPrefix(e.path, done+".") || e.parts[0] == "change" {
			continue
		}
		if len(c.all) > mostWorded { // few counts the rest
			c.all.Add(c.file, 0, "", "")
			continue
		}
		if c.entry(e, valueAt(tree, e.parts)) {
			done = e.path
		}
	}
	for _, e := range c.in.twice {
		c.all.Add(c.file, c.in.lineOf(e), c.label(e.parts), "found twice, want it once")
	}
	c.missing()
}

// entry reads one key or table, and says whether it answers for all below it.
func (c *checker) entry(e *entry, value any) bool {
	pattern, i := pattern(e.parts)
	dotted := slices.ContainsFunc(e.parts, func(s string) bool { return strings.Contains(s, ".") })
	if k, ok := byPath[pattern]; ok && !dotted {
		if !c.v.assign(k, i, value) {
			c.all.Add(c.file, c.in.lineOf(e), c.label(e.parts), "%s", k.mistake(value, c.found(e)))
		} else if strings.HasPrefix(c.in.comment(e), learntMark) {
			s := c.v.stated[k.id(i)]
			s.learnt = true
			c.v.stated[k.id(i)] = s
		}
		return true
	}
	most, isList := lists[pattern]
	_, isTable := value.(map[string]any)
	all, isMany := value.([]any)
	switch {
	case len(below(pattern)) == 0 || dotted:
		c.unknown(e)
	case isList && (!isMany || e.kind != unstable.Array):
		c.all.Add(c.file, c.in.lineOf(e), c.label(e.parts), "found %s, want tables, each under [[%s]]", c.found(e), pattern)
	case isList && len(all) > most:
		c.all.Add(c.file, c.in.lineOf(e), c.label(e.parts), "found %d, want at most %d", len(all), most)
	case !isList && !isTable:
		c.all.Add(c.file, c.in.lineOf(e), c.label(e.parts), "found %s, want a table", c.found(e))
	default:
		return false
	}
	c.meant = append(c.meant, e.path)
	return true
}

// unknown names the nearest key beside it, or the table that has a key of that
// name.
func (c *checker) unknown(e *entry) {
	name, table := e.parts[len(e.parts)-1], e.parts[:len(e.parts)-1]
	outer, _ := pattern(table)
	hint := problem.Suggest(name, below(outer))
	c.meant = append(c.meant, strings.Join(append(slices.Clone(table), problem.Nearest(name, below(outer))), "."))
	if hint == "" {
		for j := range keys {
			if keys[j].name() == name {
				hint = ", want it as " + strings.ReplaceAll(keys[j].path, ".*", "")
				break
			}
		}
	}
	c.all.Add(c.file, c.in.lineOf(e), c.label(e.parts), "unknown key%s", hint)
}

// missing are the required keys that the file lacks, each at its table.
func (c *checker) missing() {
	c.v.each(func(k *key, i int) {
		if id := k.id(i); k.need && c.in.at[id] == nil && !c.isMeant(id) {
			c.bad(id, "missing, want %s", k.want())
		}
	})
	if len(c.v.Thrusters) == 0 && c.in.at["thruster"] == nil && !c.isMeant("thruster") {
		c.all.Add(c.file, 0, "thruster", "missing, want at least one [[thruster]]")
	}
}

// isMeant says whether another problem speaks of a missing key or of its table.
func (c *checker) isMeant(id string) bool {
	return slices.ContainsFunc(c.meant, func(m string) bool { return id == m || strings.HasPrefix(id, m+".") })
}

// found is a value as it is put into words.
func (c *checker) found(e *entry) string {
	raw := c.in.raw(e)
	switch {
	case e.end == 0 && e.kind == unstable.Table, e.kind == unstable.InlineTable:
		return "a table"
	case e.end == 0:
		return "tables"
	case e.kind == unstable.String:
		return problem.Quote(strings.Trim(raw, `"'`))
	case len(raw) > 40 || strings.Contains(raw, "\n"):
		if e.kind == unstable.Array {
			return "a list"
		}
		return e.kind.String()
	}
	return raw
}

// pattern is a path with the number of a list's element as *, and that number.
func pattern(parts []string) (path string, i int) {
	for _, p := range parts {
		if _, ok := lists[path]; ok {
			if n, err := strconv.Atoi(p); err == nil {
				path, i = path+".*", n
				continue
			}
		}
		path = strings.TrimPrefix(path+"."+p, ".")
	}
	return path, i
}

// below are the names of the keys and tables in a table of the pattern, "" for
// the file as a whole.
func below(pattern string) (out []string) {
	if pattern == "" {
		out = append(out, "change")
	} else {
		pattern += "."
	}
	for j := range keys {
		if rest, ok := strings.CutPrefix(keys[j].path, pattern); ok {
			name, _, _ := strings.Cut(rest, ".")
			if !slices.Contains(out, name) {
				out = append(out, name)
			}
		}
	}
	return out
}

// valueAt is what a decoded file has at a path, nil for nothing.
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

// fill gives what the file leaves out its prior's median, word or flag, in the
// table's order: a formula's keys stand before it.
func (v *Vehicle) fill() {
	v.each(func(k *key, i int) {
		_, isStated := v.stated[k.id(i)]
		switch {
		case isStated:
		case k.path == "battery.chemistry":
			v.Battery.Chemistry = inferChemistry(v.Battery.NominalV)
		case k.prior.median != nil:
			v.put(k, i, k.bounded(k.prior.median(v, i)))
		case k.kind == flagKind:
			yes := k.prior.word == "true"
			v.field(k.path, i).Set(reflect.ValueOf(&yes))
		case k.prior.word != "":
			v.field(k.path, i).SetString(k.prior.word)
		}
	})
}

// bounded keeps a prior among what some vehicle has; a 0 that means none stays.
func (k *key) bounded(x float64) float64 {
	if x == 0 {
		return 0
	}
	return min(max(x, k.low), k.high)
}
