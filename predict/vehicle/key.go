package vehicle

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"sagline/session/problem"
)

// A kind says what may stand at a key.
type kind int

const (
	numberKind  kind = iota // a number, or its 95 % range [low, high]
	settingKind             // a number that is chosen or printed on something: no range
	countKind               // a whole number
	wordKind                // one of a few words
	textKind                // a line of text
	flagKind                // true or false
	listKind                // a list of numbers
)

// A key is one row of the table of all that vehicle.toml may hold. Reading,
// checking, --set, the commented file, completion and help come from it.
type key struct {
	path      string // "thruster.*.test_a": * stands for an element of a list
	kind      kind
	unit      string
	low, high float64  // what some vehicle may have; outside is a mistake
	words     []string // of a word
	need      bool     // required
	none      bool     // 0 may stand there: there is none of it
	is, how   string   // what it is, how to find out with what lies in a kitchen or tool box
	prior     prior
	tol       spread // one standard deviation of a value that is given
}

// A prior is what is assumed of a key that the file leaves out.
type prior struct {
	median func(v *Vehicle, i int) float64 // of element i, or of the vehicle; nil: none
	spread spread
	from   []string // keys that the median is a formula of
	word   string   // of a word or a flag
	source string
}

// A spread is one standard deviation: of ln(value) where log is set, else in
// the key's unit.
type spread struct {
	sd  float64
	log bool
}

func factor(f float64) spread { return spread{math.Log(f), true} } // a factor f up or down
func percent(p float64) spread {
	return spread{p / 100, true}
}
func plus(sd float64) spread { return spread{sd, false} }

// always is a median that depends on nothing.
func always(x float64) func(*Vehicle, int) float64 { return func(*Vehicle, int) float64 { return x } }

// lists are the tables that a file may have several of, and at most how many:
// more than any vehicle has.
var lists = map[string]int{"thruster": 16, "tube": 50, "tether.floats": 50, "change": 200}

// keys is the table, in the file's order: the tables of the components below.
var keys = slices.Concat(headKeys, batteryKeys, tetherKeys, thrusterKeys, hullKeys, extraKeys, readingKeys)

// byPath finds a row.
var byPath = func() map[string]*key {
	m := map[string]*key{}
	for i := range keys {
		m[keys[i].path] = &keys[i]
	}
	return m
}()

// list is the list that a key's elements form, "" for none.
func (k *key) list() string {
	list, _, ok := strings.Cut(k.path, ".*.")
	if !ok {
		return ""
	}
	return list
}

// name is a key's last name.
func (k *key) name() string { return k.path[strings.LastIndexByte(k.path, '.')+1:] }

// table is the path of a key's table, "" at the file's top.
func (k *key) table() string {
	if list := k.list(); list != "" {
		return list
	}
	return k.path[:max(0, strings.LastIndexByte(k.path, '.'))]
}

// numeric says whether a key holds one number.
func (k *key) numeric() bool { return k.kind == numberKind || k.kind == settingKind }

// id is the path of a key in the file, by its element's number from 0.
func (k *key) id(i int) string { return strings.Replace(k.path, "*", strconv.Itoa(i), 1) }

// between words the numbers that a key takes.
func (k *key) between() string {
	return strings.TrimSpace(fmt.Sprintf("%g to %g %s", k.low, k.high, k.unit))
}

// want words what may stand at a key.
func (k *key) want() string {
	switch k.kind {
	case numberKind:
		return "a number, " + k.between() + ", or its range [low, high]"
	case settingKind:
		return "a number, " + k.between()
	case countKind:
		return "a whole number, " + k.between()
	case wordKind:
		return strings.Join(k.words, " or ")
	case flagKind:
		return "true or false"
	case listKind:
		return "a list of numbers, " + k.between()
	}
	return fmt.Sprintf("a text in quotes, one line of 1 to %d characters", longest)
}

// mistake words a value that may not stand at a key.
func (k *key) mistake(value any, found string) string {
	want := k.want()
	switch x := value.(type) {
	case float64:
		if k.numeric() {
			want = k.between()
		}
	case int64:
		if k.numeric() || k.kind == countKind {
			want = k.between()
		}
	case string:
		return "found " + problem.Quote(x) + ", want " + want + problem.Suggest(x, k.words)
	}
	return "found " + found + ", want " + want
}

// field is the struct field of a path, by the toml tags; * means element i.
func (v *Vehicle) field(path string, i int) reflect.Value {
	at := reflect.ValueOf(v).Elem()
	for name := range strings.SplitSeq(path, ".") {
		if name == "*" {
			at = at.Index(i)
			continue
		}
		for f := range at.NumField() {
			if at.Type().Field(f).Tag.Get("toml") == name {
				at = at.Field(f)
				break
			}
		}
	}
	return at
}

// count is how many elements a key's list has; 1 for a key of no list.
func (v *Vehicle) count(k *key) int {
	list := k.list()
	if list == "" {
		return 1
	}
	return v.field(list, 0).Len()
}

// each calls f for every key of the vehicle, in the file's order: the elements
// of a list one after the other.
func (v *Vehicle) each(f func(k *key, i int)) {
	for j := 0; j < len(keys); {
		n := j + 1
		for n < len(keys) && keys[n].table() == keys[j].table() {
			n++
		}
		for i := range v.count(&keys[j]) {
			for r := j; r < n; r++ {
				f(&keys[r], i)
			}
		}
		j = n
	}
}

// get is the number at a key, 0 where the size of a conductor is not stated.
func (v *Vehicle) get(k *key, i int) float64 {
	switch f := v.field(k.path, i); f.Kind() {
	case reflect.Float64:
		return f.Float()
	case reflect.Int:
		return float64(f.Int())
	case reflect.Pointer:
		if !f.IsNil() {
			return f.Elem().Float()
		}
	}
	return 0
}

// put writes a number to a key.
func (v *Vehicle) put(k *key, i int, x float64) {
	switch f := v.field(k.path, i); f.Kind() {
	case reflect.Float64:
		f.SetFloat(x)
	case reflect.Int:
		f.SetInt(int64(x))
	case reflect.Pointer:
		f.Set(reflect.ValueOf(&x))
	}
}

// elementName is how a path names an element of a list: by its name where it
// has one of its own, else by its number from 1.
func (v *Vehicle) elementName(list string, i int) string {
	all := v.field(list, 0)
	name := func(j int) string {
		if f := all.Index(j).FieldByName("Name"); f.IsValid() {
			return f.String()
		}
		return ""
	}
	if name(i) != "" {
		for j := range all.Len() {
			if j != i && name(j) == name(i) {
				return strconv.Itoa(i + 1)
			}
		}
		return name(i)
	}
	return strconv.Itoa(i + 1)
}

// path is a key as Set takes it: "thruster.port.test_a".
func (v *Vehicle) path(k *key, i int) string {
	list := k.list()
	if list == "" {
		return k.path
	}
	return list + "." + v.elementName(list, i) + "." + k.name()
}

// find is the row and the element of a path as Set takes it.
func (v *Vehicle) find(path string) (*key, int, error) {
	if k, ok := byPath[path]; ok && !strings.Contains(path, "*") {
		return k, 0, nil
	}
	var known []string
	var found *key
	at := 0
	v.each(func(k *key, i int) {
		p := v.path(k, i)
		if known = append(known, p); p == path {
			found, at = k, i
		}
	})
	if found == nil {
		return nil, 0, fmt.Errorf("unknown key%s", problem.Suggest(path, known))
	}
	return found, at, nil
}
