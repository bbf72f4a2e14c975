package vehicle

import (
	"cmp"
	"fmt"
	"math"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"

	"sagline/session/problem"
	"sagline/session/wording"
)

// A stated is what the file or Set states for a key: a number (low = high) or its 95 % range.
type stated struct {
	low, high float64
	learnt    bool
	before    any // the value before it was learnt, nil if it was left out
}

// A keyElement is a key of one element of its list: the key's rank in the table, and the element in
// the lower half. A map finds a number quicker than a struct, and every varied vehicle looks all keys up.
type keyElement int64

func (k *key) at(i int) keyElement { return keyElement(k.rank)<<32 | keyElement(i) }

func (at keyElement) parts() (k *key, i int) { return &keys[at>>32], int(at & math.MaxUint32) }

// longest is the largest number of characters of a name.
const longest = 100

// mostListed is the largest length of a list of numbers.
const mostListed = 100

// printable reports whether a text may stand in a table or a picture.
func printable(s string) bool { return problem.Plain(s) && utf8.RuneCountInString(s) <= longest }

// assign sets a key to a value as the TOML library decodes it. It returns false and leaves the
// vehicle unchanged if the key does not take such a value.
func (v *Vehicle) assign(k *key, i int, value any) bool {
	s, ok := stated{}, true
	switch k.kind {
	case numberKind, settingKind, countKind:
		s, ok = k.number(value)
		if ok {
			v.put(k, i, k.middle(s))
			v.dropSizes(k)
		}
	case wordKind, textKind:
		w, isText := value.(string)
		if ok = isText && k.takes(w); ok {
			v.field(k, i).SetString(w)
		}
	case flagKind:
		var b bool
		if b, ok = value.(bool); ok {
			v.field(k, i).Set(reflect.ValueOf(&b))
		}
	case listKind:
		var all []float64
		if all, ok = numbers(value); ok {
			ok = len(all) <= mostListed && !slices.ContainsFunc(all, func(x float64) bool { return !k.allows(x) })
		}
		if ok {
			v.field(k, i).Set(reflect.ValueOf(all))
		}
	}
	if ok && v.stated != nil {
		v.stated[k.at(i)] = s
	}
	return ok
}

// takes reports whether s may be the value of a key of words or text.
func (k *key) takes(s string) bool {
	if k.kind == wordKind {
		return slices.Contains(k.words, s)
	}
	return strings.TrimSpace(s) != "" && printable(s)
}

// allows reports whether x, which is never NaN, may be the key's value.
func (k *key) allows(x float64) bool { return x >= k.low && x <= k.high || x == 0 && k.none }

// number returns the number or range that value states, and whether the key takes it.
func (k *key) number(value any) (stated, bool) {
	if n, ok := value.(int64); ok {
		value = float64(n)
	} else if k.kind == countKind {
		return stated{}, false
	}
	if x, ok := value.(float64); ok {
		return stated{low: x, high: x}, k.allows(x)
	}
	all, ok := numbers(value)
	if !ok || k.kind != numberKind || len(all) != 2 {
		return stated{}, false
	}
	return stated{low: all[0], high: all[1]}, k.allows(all[0]) && k.allows(all[1]) && all[0] < all[1]
}

func numbers(value any) ([]float64, bool) {
	list, ok := value.([]any)
	out := make([]float64, 0, len(list))
	for _, e := range list {
		switch x := e.(type) {
		case float64:
			out = append(out, x)
		case int64:
			out = append(out, float64(x))
		default:
			return nil, false
		}
	}
	return out, ok
}

// middle returns the value to compute with: the middle of a range, geometric for a positive scale.
func (k *key) middle(s stated) float64 {
	switch {
	case s.low == s.high:
		return s.low
	case k.scale(s.low):
		return math.Sqrt(s.low * s.high)
	}
	return (s.low + s.high) / 2
}

// scale reports whether values from low on are on a positive scale, uncertain by factors.
func (k *key) scale(low float64) bool {
	return low > 0 && (k.prior.spread.log || k.tol.log)
}

// sizes are the keys of a conductor's size; one of them is stated.
var sizes = []string{"awg", "area_mm2", "ohm_km"}

// dropSizes unsets the other sizes of a conductor whose size is set by k.
func (v *Vehicle) dropSizes(k *key) {
	if !slices.Contains(sizes, k.name()) {
		return
	}
	for _, name := range sizes {
		if other := strings.TrimSuffix(k.path, k.name()) + name; other != k.path {
			v.field(byPath[other], 0).SetZero()
			delete(v.stated, byPath[other].at(0))
		}
	}
}

// Set changes one key of a vehicle as its file would: "tether.length_m=30",
// "thruster.port.test_a=[4, 6]", "tether.length_m=98 ft". Keys that are not stated keep their
// values, even if their prior is a formula of the key. The error says what is wrong with key or
// value.
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
	x, why := typed(k, value)
	if !v.assign(k, i, x) {
		return fmt.Errorf("%s: %s%s", path, k.mistake(x, problem.Quote(value)), why)
	}
	return nil
}

// typed returns a value from a command line as the TOML library would decode it. Words need no
// quotes, and numbers may be as people write them. why says what is wrong with a unit.
func typed(k *key, s string) (value any, why string) {
	if k.kind == wordKind || k.kind == textKind {
		return s, ""
	}
	x, ok := decoded(s)
	if number := k.numeric() || k.kind == countKind; !ok && number {
		s, why = InUnit(s, k.unit)
		x, ok = decoded(s)
	}
	if !ok {
		x = s
	}
	return x, why
}

// decoded decodes a TOML value.
func decoded(s string) (any, bool) {
	var value struct{ X any }
	err := toml.Unmarshal([]byte("X = "+s), &value)
	return value.X, err == nil
}

// people matches a number, or two as a range, with a unit, as people write them.
var people = regexp.MustCompile(`^([+−-]?(?:\d+(?:[.,]\d*)?|[.,]\d+))(?: *(?:to|-|–|…|\.\.+) *([+−-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)))? *([\p{L}%°'"′″].*)?$`)

// thousand matches a number whose comma may be a decimal comma or separate thousands.
var thousand = regexp.MustCompile(`[1-9]\d{0,2},\d{3}\b`)

// InUnit rewrites a number with a decimal comma or a unit, or a range of two, as TOML in the unit
// of a key. It returns any other text unchanged; why says what is wrong with its unit.
func InUnit(s, unit string) (out, why string) {
	m := people.FindStringSubmatch(s)
	if m == nil || thousand.MatchString(s) {
		return s, ""
	}
	for i, number := range m[1:3] {
		if number == "" {
			continue
		}
		number = strings.NewReplacer(",", ".", "−", "-").Replace(number)
		if number, _ = wording.Plain(number, "."); m[3] != "" {
			var ok bool
			if number, ok = wording.Convert(number, m[3], unit); !ok {
				return s, fmt.Sprintf("; %s does not convert into %s", problem.Quote(m[3]), cmp.Or(unit, "a number without a unit"))
			}
		}
		m[i+1] = number
	}
	if m[2] != "" {
		return "[" + m[1] + ", " + m[2] + "]", ""
	}
	return m[1], ""
}

// A Key is one key of a vehicle: its name as Set takes it, its value and its meaning.
type Key struct{ Name, Value, Is string }

// Keys returns all keys that Set takes for this vehicle, in the file's order. The value of a
// conductor's size is "" unless it is the one stated.
func (v *Vehicle) Keys() (out []Key) {
	v.each(func(k *key, i int) { out = append(out, Key{v.path(k, i), v.written(k, i), k.is}) })
	return out
}

// written returns a key's value as Set takes it.
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

// trimmed formats a number with the fewest digits that read back the same.
func trimmed(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }
