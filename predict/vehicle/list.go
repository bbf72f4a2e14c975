package vehicle

import (
	"fmt"
	"reflect"
)

// A Key is one value of a vehicle by the name that Set takes.
type Key struct{ Name, Value string }

// Keys are all keys that Set takes for this vehicle, in the file's order.
func (v *Vehicle) Keys() []Key { return keysOf(reflect.ValueOf(v).Elem(), "") }

func keysOf(at reflect.Value, path string) (out []Key) {
	switch at.Kind() {
	case reflect.Struct:
		for i := range at.NumField() {
			name := at.Type().Field(i).Tag.Get("toml")
			if path != "" {
				name = path + "." + name
			}
			out = append(out, keysOf(at.Field(i), name)...)
		}
	case reflect.Slice:
		for i := range at.Len() {
			if e := at.Index(i); e.Kind() == reflect.Struct && e.FieldByName("Name").IsValid() && e.FieldByName("Name").String() != "" {
				out = append(out, keysOf(e, path+"."+e.FieldByName("Name").String())...)
			}
		}
	case reflect.Float64, reflect.Int, reflect.String:
		out = append(out, Key{path, fmt.Sprint(at.Interface())})
	case reflect.Pointer:
		if at.Type().Elem().Kind() == reflect.Float64 {
			out = append(out, Key{path, pointed(at)})
		}
	}
	return out
}

// pointed is the number that a key has, "" where the file leaves it out.
func pointed(at reflect.Value) string {
	if at.IsNil() {
		return ""
	}
	return fmt.Sprint(at.Elem().Interface())
}
