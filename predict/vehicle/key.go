package vehicle

import (
	"fmt"
	"math"
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

// A key is one row of the table of all that vehicle.toml may hold. Reading, checking, --set, the
// commented file, completion and help use it.
type key struct {
	path      string // "thruster.*.test_a": * stands for an element of a list
	kind      kind
	unit      string
	low, high float64           // the values allowed
	words     []string          // allowed, of a word
	labels    map[string]string // words of trade labels, in lower case, and the word of words that each stands for
	need      bool              // required
	none      bool              // 0 is allowed: the vehicle has none
	is, how   string            // what it is, and how to find out with household tools
	prior     prior
	tol       spread // one standard deviation of a value that is given

	fields []int // indices of Vehicle's fields that lead to the key
	rank   int   // place in the table
}

// A prior is what is assumed of a key that the file leaves out.
type prior struct {
	median func(v *Vehicle, i int) float64 // for element i of a list; nil: nothing is assumed
	spread spread
	from   []string // keys that the median is a formula of
	word   string   // the default of a word or a flag
	source string
}

// A spread is one standard deviation, of ln(value) if log is set, else in the key's unit.
type spread struct {
	sd  float64
	log bool
}

func factor(f float64) spread  { return spread{math.Log(f), true} } // a factor f up or down
func percent(p float64) spread { return spread{p / 100, true} }
func plus(sd float64) spread   { return spread{sd, false} }

// always returns a median that depends on nothing.
func always(x float64) func(*Vehicle, int) float64 { return func(*Vehicle, int) float64 { return x } }

// lists are the tables that may occur several times in a file, with the largest number allowed:
// more than any vehicle has.
var lists = map[string]int{"thruster": 16, "joint": 20, "maintenance": 50, "tube": 50, "tether.floats": 50, "change": 200}

// keys is the table, in the file's order: the tables of the components below.
var keys = slices.Concat(headKeys, batteryKeys, tetherKeys, jointKeys, thrusterKeys, hullKeys, extraKeys, readingKeys, intervalKeys)

// byPath finds a row by its path.
var byPath = map[string]*key{}

func init() {
	for i := range keys {
		keys[i].rank, keys[i].fields = i, fieldsOf(keys[i].path)
		byPath[keys[i].path] = &keys[i]
	}
}

// list returns the list that a key belongs to, "" for none.
func (k *key) list() string {
	list, _, ok := strings.Cut(k.path, ".*.")
	if !ok {
		return ""
	}
	return list
}

// name returns the last part of a key's path.
func (k *key) name() string { return k.path[strings.LastIndexByte(k.path, '.')+1:] }

// table returns the path of a key's table, "" at the top of the file.
func (k *key) table() string {
	if list := k.list(); list != "" {
		return list
	}
	return k.path[:max(0, strings.LastIndexByte(k.path, '.'))]
}

// numeric reports whether a key holds one number.
func (k *key) numeric() bool { return k.kind == numberKind || k.kind == settingKind }

// id returns the path of a key in the file, with its element's number from 0.
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

// mistake words a value that a key does not take.
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
		nearest := problem.Suggest(x, k.words)
		if word, ok := k.labels[strings.ToLower(strings.TrimSpace(x))]; ok {
			nearest = fmt.Sprintf(" (nearest: %q)", word)
		}
		return "found " + problem.Quote(x) + ", want " + want + nearest
	}
	return "found " + found + ", want " + want
}
