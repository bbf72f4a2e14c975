package vehicle

import (
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"sagline/session/problem"
)

// Set changes one key of a vehicle as its file would, as
// "tether.length_m=30" or "thruster.port.test_a=[4, 6]". What is not stated
// stays as it is, though its prior may be a formula of the key.
func (v *Vehicle) Set(assignment string) error {
	path, value, ok := strings.Cut(assignment, "=")
	if !ok {
		return fmt.Errorf("found %s, want key=value", problem.Quote(assignment))
	}
	path = strings.TrimSpace(path)
	k, i, err := v.find(path)
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	value = strings.TrimSpace(value)
	if x := typed(k, value); !v.assign(k, i, x) {
		return fmt.Errorf("%s: %s", path, k.mistake(x, problem.Quote(value)))
	}
	return nil
}

// typed is a value typed on a command line as the TOML library would give it;
// a word needs no quotes.
func typed(k *key, s string) any {
	var value struct{ X any }
	if k.kind == wordKind || k.kind == textKind || toml.Unmarshal([]byte("X = "+s), &value) != nil {
		return s
	}
	return value.X
}

// A Key is one value of a vehicle by the name that Set takes, and what it is.
type Key struct{ Name, Value, Is string }

// Keys are all keys that Set takes for this vehicle, in the file's order. The
// value is "" where a size is not the one stated.
func (v *Vehicle) Keys() (out []Key) {
	v.each(func(k *key, i int) { out = append(out, Key{v.path(k, i), v.written(k, i), k.is}) })
	return out
}

// written is a key's value as Set takes it.
func (v *Vehicle) written(k *key, i int) string {
	f := v.field(k, i)
	if slices.Contains(sizes, k.name()) && v.get(k, i) == 0 && f.Kind() != reflect.Pointer {
		return ""
	}
	if s, ok := v.stated[k.at(i)]; ok && s.low < s.high {
		return "[" + trimmed(s.low) + ", " + trimmed(s.high) + "]"
	}
	switch f.Kind() {
	case reflect.Pointer:
		if f.IsNil() {
			return ""
		}
		return fmt.Sprint(f.Elem().Interface())
	case reflect.Slice:
		var all []string
		for n := range f.Len() {
			all = append(all, trimmed(f.Index(n).Float()))
		}
		return "[" + strings.Join(all, ", ") + "]"
	case reflect.Float64:
		return trimmed(f.Float())
	}
	return fmt.Sprint(f.Interface())
}

// trimmed is a number as short as it reads back.
func trimmed(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }
