package vehicle

import (
	"fmt"
	"reflect"
	"strconv"
	"strings"

	"sagline/session/problem"
)

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

func join(parts ...any) string {
	words := make([]string, len(parts))
	for i, p := range parts {
		words[i] = fmt.Sprint(p)
	}
	return strings.Join(words, ".")
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

// elementName is how a path names an element of a list: by its name, else by
// its number from 1.
func (v *Vehicle) elementName(list string, i int) string {
	if f := v.field(list, 0).Index(i).FieldByName("Name"); f.IsValid() && f.String() != "" {
		return f.String()
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
