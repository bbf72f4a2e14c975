package vehicle

import (
	"fmt"
	"reflect"
	"strconv"
	"strings"

	"sagline/session/problem"
)

// Set changes one number or word of a vehicle by its key in vehicle.toml, as
// "tether.length_m=30" or "thruster.port.branch_ohm=0.1".
func (v *Vehicle) Set(assignment string) error {
	key, value, ok := strings.Cut(assignment, "=")
	if !ok {
		return fmt.Errorf("found %s, want key=value", problem.Quote(assignment))
	}
	at := reflect.ValueOf(v).Elem()
	parts := strings.Split(strings.TrimSpace(key), ".")
	for i := 0; i < len(parts); i++ {
		next, err := child(at, parts[i])
		if err != nil {
			return fmt.Errorf("%s: %w", key, err)
		}
		at = next
	}
	return assign(at, strings.TrimSpace(value), key)
}

func child(at reflect.Value, name string) (reflect.Value, error) {
	var known []string
	switch at.Kind() {
	case reflect.Struct:
		for i := range at.NumField() {
			tag := at.Type().Field(i).Tag.Get("toml")
			if tag == name {
				return at.Field(i), nil
			}
			known = append(known, tag)
		}
	case reflect.Slice:
		for i := range at.Len() {
			e := at.Index(i)
			if e.Kind() == reflect.Struct && e.FieldByName("Name").IsValid() {
				if e.FieldByName("Name").String() == name {
					return e, nil
				}
				known = append(known, e.FieldByName("Name").String())
			}
		}
	}
	return at, fmt.Errorf("unknown key %q%s", name, problem.Suggest(name, known))
}

func assign(at reflect.Value, value, key string) error {
	if at.Kind() == reflect.Pointer && at.Type().Elem().Kind() == reflect.Float64 {
		at.Set(reflect.New(at.Type().Elem()))
		at = at.Elem()
	}
	switch at.Kind() {
	case reflect.Float64:
		x, err := strconv.ParseFloat(value, 64)
		if err != nil || x-x != 0 {
			return fmt.Errorf("%s: found %q, want a number", key, value)
		}
		at.SetFloat(x)
	case reflect.Int:
		n, err := strconv.Atoi(value)
		if err != nil {
			return fmt.Errorf("%s: found %q, want a whole number", key, value)
		}
		at.SetInt(int64(n))
	case reflect.String:
		at.SetString(value)
	default:
		return fmt.Errorf("%s: not a single value", key)
	}
	return nil
}
