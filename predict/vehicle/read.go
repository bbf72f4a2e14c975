package vehicle

import (
	"io"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"sagline/session/disk"
	"sagline/session/problem"
	"sagline/session/tomlfile"
)

// FileName is the name of the vehicle's file in a logbook folder.
const FileName = "vehicle.toml"

// maxBytes bounds the size of a file: far more than any vehicle needs, and too little for deeply
// nested keys to take much time or memory.
const maxBytes = 64 << 10

// mostWorded is the number of a file's problems that are listed.
const mostWorded = 50

// Open reads the vehicle.toml of a logbook folder. The error is that of Read, or says that the file
// cannot be read.
func Open(folder string) (*Vehicle, error) {
	v, _, err := OpenPlaced(folder)
	return v, err
}

// OpenPlaced is Open, and also returns where each key stands.
func OpenPlaced(folder string) (*Vehicle, *Places, error) {
	path, text, err := disk.ReadIn(folder, FileName, maxBytes)
	if err != nil {
		return nil, nil, err
	}
	return readPlaced([]byte(text), path)
}

// Read reads one vehicle.toml strictly; file names it in problems. The error lists every unknown
// key, missing required key and impossible value; the vehicle is then nil.
func Read(r io.Reader, file string) (*Vehicle, error) {
	text, err := disk.ReadText(r, maxBytes)
	if err != nil {
		return nil, problem.Whole(file, "%v", err)
	}
	v, _, err := readPlaced([]byte(text), file)
	return v, err
}

func readPlaced(text []byte, file string) (*Vehicle, *Places, error) {
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

// read assigns everything that the file states except its changes, which need a complete vehicle.
func (c *checker) read() {
	for name, most := range lists {
		if k := c.in.Find(name); k != nil && k.Tables() && name != "change" {
			n := min(len(k.Value.([]any)), most)
			f := c.v.elements(name)
			f.Set(reflect.MakeSlice(f.Type(), n, n))
		}
	}
	done := "\x00" // everything below this path is dealt with
	for _, e := range c.in.Keys {
		switch {
		case strings.HasPrefix(e.Path, done) || e.Parts[0] == "change":
		case len(c.all) > mostWorded: // only counted
			c.all.Add(c.file, 0, "", "")
		case c.readKey(e):
			done = e.Path + "."
		}
	}
	for _, e := range c.in.Twice {
		c.add(e, "found twice, want it once")
	}
	c.missing()
}

// add adds a problem with a key of the file.
func (c *checker) add(e *tomlfile.Key, format string, args ...any) {
	c.all.Add(c.file, c.in.LineOf(e), c.label(e.Parts), format, args...)
}

// readKey reads one key or table and reports whether everything below it is dealt with.
func (c *checker) readKey(e *tomlfile.Key) bool {
	pattern, i := pattern(e.Parts)
	dotted := slices.ContainsFunc(e.Parts, func(s string) bool { return strings.Contains(s, ".") })
	if k, ok := byPath[pattern]; ok && !dotted {
		switch {
		case !c.v.assign(k, i, e.Value):
			c.add(e, "%s", k.mistake(e.Value, c.in.Found(e)))
		case strings.HasPrefix(c.in.Comment(e), learntMark):
			s := c.v.stated[k.at(i)]
			s.learnt = true
			if m := learntComment.FindStringSubmatch(c.in.Comment(e)); m != nil && m[1] != "" {
				s.before, _ = typed(k, m[1])
			}
			c.v.stated[k.at(i)] = s
		}
		return true
	}
	most, isList := lists[pattern]
	all, _ := e.Value.([]any)
	_, isTable := e.Value.(map[string]any)
	switch {
	case len(below(pattern)) == 0 || dotted:
		c.unknown(e)
	case isList && !e.Tables():
		c.add(e, "found %s, want tables, each under [[%s]]", c.in.Found(e), pattern)
	case isList && len(all) > most:
		c.add(e, "found %d, want at most %d", len(all), most)
	case !isList && !isTable:
		c.add(e, "found %s, want a table", c.in.Found(e))
	default:
		return false
	}
	c.meant = append(c.meant, e.Path)
	return true
}

// unknown reports an unknown key, with the nearest key of its table or the table that has a key of
// that name.
func (c *checker) unknown(e *tomlfile.Key) {
	name, table := e.Parts[len(e.Parts)-1], e.Parts[:len(e.Parts)-1]
	outer, _ := pattern(table)
	hint := problem.Suggest(name, below(outer))
	c.meant = append(c.meant, strings.Join(append(slices.Clone(table), problem.Nearest(name, below(outer))), "."))
	if j := slices.IndexFunc(keys, func(k key) bool { return k.name() == name }); hint == "" && j >= 0 {
		hint = ", want it as " + strings.ReplaceAll(keys[j].path, ".*", "")
	}
	c.add(e, "unknown key%s", hint)
}

// missing reports the required keys that the file lacks, each at its table.
func (c *checker) missing() {
	c.v.each(func(k *key, i int) {
		if id := k.id(i); k.need && c.in.Find(id) == nil && !c.isMeant(id) {
			c.bad(id, "missing, want %s", k.want())
		}
	})
	if len(c.v.Thrusters) == 0 && c.in.Find("thruster") == nil && !c.isMeant("thruster") {
		c.all.Add(c.file, 0, "thruster", "missing, want at least one [[thruster]]")
	}
}

// isMeant reports whether a problem with a missing key or its table is reported already.
func (c *checker) isMeant(id string) bool {
	return slices.ContainsFunc(c.meant, func(m string) bool { return id == m || strings.HasPrefix(id, m+".") })
}

// pattern returns a path with a list's index replaced by *, and that index.
func pattern(parts []string) (path string, i int) {
	for _, p := range parts {
		if n, err := strconv.Atoi(p); err == nil && lists[path] > 0 {
			path, i = path+".*", n
			continue
		}
		path = strings.TrimPrefix(path+"."+p, ".")
	}
	return path, i
}

// below returns the names of the keys and tables in the table with the given pattern, "" for the
// whole file.
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

// fill sets what the file leaves out to the median, word or flag of its prior. It goes key by key
// in the table's order, over all thrusters, so that the keys of a formula come before it.
func (v *Vehicle) fill() {
	v.byKey(func(k *key, i int) {
		switch {
		case v.has(k.path, i):
		case k.path == "battery.chemistry":
			v.Battery.Chemistry = inferChemistry(v.Battery.NominalV)
		case k.prior.median != nil:
			v.put(k, i, k.bounded(k.assumed(v, i)))
		case k.kind == flagKind:
			v.field(k, i).Set(reflect.ValueOf(new(k.prior.word == "true")))
		case k.prior.word != "":
			v.field(k, i).SetString(k.prior.word)
		}
		if k.path == armaturePath {
			v.reconcile(i)
		}
	})
}

// bounded limits a prior to the allowed values; a 0 that means none stays.
func (k *key) bounded(x float64) float64 {
	if x == 0 {
		return 0
	}
	return min(max(x, k.low), k.high)
}
