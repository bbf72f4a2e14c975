package vehicle

import (
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"sagline/session/problem"
)

// element stands for the number of a list's element.
const element = -1

// fieldsOf returns the indices of the struct fields that lead to a path, by their toml tags.
func fieldsOf(path string) (out []int) {
	t := reflect.TypeFor[Vehicle]()
	for name := range strings.SplitSeq(path, ".") {
		if name == "*" {
			out, t = append(out, element), t.Elem()
			continue
		}
		for f := range t.NumField() {
			if t.Field(f).Tag.Get("toml") == name {
				out, t = append(out, f), t.Field(f).Type
				break
			}
		}
	}
	return out
}

// field returns the struct field of a key, in element i of its list.
func (v *Vehicle) field(k *key, i int) reflect.Value { return v.follow(k.fields, i) }

// listFields are the indices of the struct fields that lead to the lists.
var listFields = map[string][]int{"thruster": fieldsOf("thruster"), "joint": fieldsOf("joint"), "maintenance": fieldsOf("maintenance"), "tube": fieldsOf("tube"), "tether.floats": fieldsOf("tether.floats")}

// elements returns the slice of a list.
func (v *Vehicle) elements(list string) reflect.Value { return v.follow(listFields[list], 0) }

// follow returns the field at the end of indices, in element i of a list.
func (v *Vehicle) follow(fields []int, i int) reflect.Value {
	at := reflect.ValueOf(v).Elem()
	for _, f := range fields {
		if f == element {
			at = at.Index(i)
			continue
		}
		at = at.Field(f)
	}
	return at
}

// join joins keys and indices to a path.
func join(parts ...any) string {
	words := make([]string, len(parts))
	for i, p := range parts {
		words[i] = fmt.Sprint(p)
	}
	return strings.Join(words, ".")
}

// count returns the length of a key's list, 1 for a key of no list.
func (v *Vehicle) count(k *key) int {
	at := slices.Index(k.fields, element)
	if at < 0 {
		return 1
	}
	return v.follow(k.fields[:at], 0).Len()
}

// each calls f for every key of the vehicle, in the file's order: the elements
// of a list one after the other.
func (v *Vehicle) each(f func(k *key, i int)) {
	for rows := range tables {
		for i := range v.count(&rows[0]) {
			for r := range rows {
				f(&rows[r], i)
			}
		}
	}
}

// byKey calls f for each key in the table's order, for all elements of its list in turn.
func (v *Vehicle) byKey(f func(k *key, i int)) {
	for j := range keys {
		for i := range v.count(&keys[j]) {
			f(&keys[j], i)
		}
	}
}

// tables yields the rows of keys, table by table.
func tables(yield func(rows []key) bool) {
	for rest := keys; len(rest) > 0; {
		n := 1
		for n < len(rest) && rest[n].table() == rest[0].table() {
			n++
		}
		if !yield(rest[:n]) {
			return
		}
		rest = rest[n:]
	}
}

// get returns the number at a key, 0 if it is a conductor's size that is not stated.
func (v *Vehicle) get(k *key, i int) float64 {
	switch f := v.field(k, i); f.Kind() {
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
	switch f := v.field(k, i); f.Kind() {
	case reflect.Float64:
		f.SetFloat(x)
	case reflect.Int:
		f.SetInt(int64(x))
	case reflect.Pointer:
		f.Set(reflect.ValueOf(&x))
	}
}

// elementName returns a list element's part of a path: its name, or else its number from 1.
func (v *Vehicle) elementName(list string, i int) string {
	if f := v.elements(list).Index(i).FieldByName("Name"); f.IsValid() && f.String() != "" {
		return f.String()
	}
	return strconv.Itoa(i + 1)
}

// path returns the path of a key as Set takes it: "thruster.port.test_a".
func (v *Vehicle) path(k *key, i int) string {
	list := k.list()
	if list == "" {
		return k.path
	}
	return list + "." + v.elementName(list, i) + "." + k.name()
}

// find returns the key and the element's index for a path as Set takes it. The error suggests the
// nearest key.
func (v *Vehicle) find(path string) (*key, int, error) {
	if k, ok := byPath[path]; ok && k.list() == "" {
		return k, 0, nil
	}
	for list := range listFields {
		rest, ok := strings.CutPrefix(path, list+".")
		for i := 0; ok && i < v.elements(list).Len(); i++ {
			if name, ok := strings.CutPrefix(rest, v.elementName(list, i)+"."); ok && byPath[list+".*."+name] != nil {
				return byPath[list+".*."+name], i, nil
			}
		}
	}
	var known []string
	v.each(func(k *key, i int) { known = append(known, v.path(k, i)) })
	hint := problem.Suggest(path, known)
	if hint == "" {
		hint = ", want one that sagline vehicle lists"
	}
	return nil, 0, fmt.Errorf("unknown key%s", hint)
}

// ID converts a path as Set takes it to one with list indices, as Places takes it:
// thruster.0.test_a; "" if there is no such key. If a [[change]] of the dive since sets the key, it
// is the path within that change.
func (v *Vehicle) ID(path, since string) string {
	for i := range v.Changes {
		if c := &v.Changes[i]; c.Dive == since && slices.Contains(c.Paths, path) {
			return join("change", i, path)
		}
	}
	k, i, err := v.find(path)
	if err != nil {
		return ""
	}
	return k.id(i)
}
