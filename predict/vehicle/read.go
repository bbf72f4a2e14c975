package vehicle

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"reflect"
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

// deepest is how far down keys are followed; no known one lies so deep.
const deepest = 8

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

// Read reads one vehicle.toml strictly: an unknown key, a missing one
// or a number out of range is an error that names it, all of them at once.
// Where there is an error there is no vehicle.
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
	var all problem.List
	if line, ok := notText(text); ok {
		all.Add(file, line, "", "found bytes that are not UTF-8 text, want the file saved as UTF-8")
		return nil, nil, few(all).Err()
	}
	v, in := defaults(), scan(text)
	if err := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields().Decode(v); err != nil {
		decodeProblem(err, in, text, file, &all)
		return nil, nil, few(all).Err()
	}
	// The library takes a single [table] for a list of one.
	for _, list := range []string{"thruster", "tube", "tether.floats"} {
		if e, ok := in.at[list]; ok && e.kind != unstable.Array {
			all.Add(file, in.line(list), list, "found a table, want %s", wanted(list))
		}
	}
	if err := few(all).Err(); err != nil {
		return nil, nil, err
	}
	v.fill(in)
	c := checker{v: v, in: in, file: file, all: &all}
	c.vehicle()
	if err := few(all).Err(); err != nil {
		return nil, nil, err
	}
	return v, &Places{file, in}, nil
}

// decodeProblem words an error of the TOML library with its line.
func decodeProblem(err error, in *keys, text []byte, file string, all *problem.List) {
	var strict *toml.StrictMissingError
	var decode *toml.DecodeError
	switch {
	case errors.As(err, &strict):
		for i := range strict.Errors {
			e := &strict.Errors[i]
			key := e.Key()
			if len(*all) >= mostTold { // few counts the rest
				all.Add(file, 0, "", "")
				continue
			}
			line, _ := e.Position()
			all.Add(file, line, spelt(key), "unknown key%s", problem.Suggest(key[len(key)-1], keysBeside(key)))
		}
	case errors.As(err, &decode):
		line, _ := decode.Position()
		if path, is := in.mistyped(line); path != "" {
			all.Add(file, line, shown(path), "found %s, want %s", is, wanted(path))
			return
		}
		all.Add(file, line, spelt(decode.Key()), "%s", unreadable(lineOf(text, line), strings.TrimPrefix(decode.Error(), "toml: ")))
	default:
		all.Add(file, 0, "", "%s", strings.TrimPrefix(err.Error(), "toml: "))
	}
}

// typeAt is the Go type of a key path; numbers in it (elements of lists) are
// passed over. nil: no such key.
func typeAt(path []string) reflect.Type {
	t := reflect.TypeFor[Vehicle]()
next:
	for _, k := range path {
		if _, err := strconv.Atoi(k); err == nil {
			continue
		}
		for t.Kind() == reflect.Slice {
			t = t.Elem()
		}
		if t.Kind() != reflect.Struct {
			return nil
		}
		for i := range t.NumField() {
			if t.Field(i).Tag.Get("toml") == k {
				t = t.Field(i).Type
				continue next
			}
		}
		return nil
	}
	return t
}

// keysBeside are the known keys of the table that an unknown key stands in.
func keysBeside(key []string) []string {
	t := typeAt(key[:len(key)-1])
	for t != nil && t.Kind() == reflect.Slice {
		t = t.Elem()
	}
	if t == nil || t.Kind() != reflect.Struct {
		return nil
	}
	var out []string
	for i := range t.NumField() {
		out = append(out, t.Field(i).Tag.Get("toml"))
	}
	return out
}

// wanted says in words what may stand at a key.
func wanted(path string) string {
	t := typeAt(strings.Split(path, "."))
	if t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch t.Kind() {
	case reflect.Int:
		return "a whole number"
	case reflect.Float64:
		return "a number"
	case reflect.Bool:
		return "true or false"
	case reflect.String:
		return "a text in quotes"
	case reflect.Struct:
		return "a table"
	}
	if t.Elem().Kind() == reflect.Struct {
		return "tables, each under [[…]]"
	}
	return "a list of numbers"
}
