package vehicle

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"sagline/session/problem"
	"sagline/session/tomlfile"
)

// Unknown is what Rebuild takes as the value of a new part about which nothing is known.
const Unknown = "unknown"

// A Rebuilt is one key that a [[change]] sets, with its old and new value.
type Rebuilt struct {
	Key    string `json:"key"`
	Before string `json:"before"` // "": not stated
	Now    string `json:"now"`    // the assumed range if it is not known

	assumed bool
}

// MayBeDive returns an error if a text is no label of a log's dives and can be none of a dive to
// come: where all dives are numbered, that is a number.
func MayBeDive(text string, labels []string) error {
	number := func(s string) bool { _, err := strconv.Atoi(s); return err == nil }
	if len(labels) == 0 || number(text) || slices.Contains(labels, text) || slices.ContainsFunc(labels, func(s string) bool { return !number(s) }) {
		return nil
	}
	return fmt.Errorf("found dive %s, want a number, as the log's dives have", problem.Quote(text))
}

// Rebuild returns the text of a vehicle.toml with one more [[change]]. sets are assignments as Set
// takes them, or with the value Unknown, that hold from a dive on. labels are the log's dives in
// order; a dive that is not among them is still to come. The new change stands above those of later
// dives; every other byte stays the same. Errors are those of Read or of an assignment.
func Rebuild(text []byte, file, dive string, labels, sets []string) ([]byte, []Rebuilt, error) {
	v, err := Read(bytes.NewReader(text), file)
	if err != nil {
		return nil, nil, err
	}
	if strings.TrimSpace(dive) == "" || !printable(dive) {
		return nil, nil, fmt.Errorf("found %s, want a dive's label", problem.Quote(dive))
	}
	w, above := v.At(dive, labels), ""
	if n := len(w.Changes); n < len(v.Changes) {
		above = "change." + strconv.Itoa(n)
	}
	done, err := w.rebuild(sets)
	if err != nil {
		return nil, nil, err
	}
	lines := []string{"[[change]]", "dive = " + strconv.Quote(dive)}
	for _, r := range done {
		lines = append(lines, strconv.Quote(r.Key)+" = "+r.Now+r.comment())
	}
	if text, err = tomlfile.Insert(text, file, "change", above, lines); err != nil {
		return nil, nil, err
	}
	if v, err = Read(bytes.NewReader(text), file); err == nil {
		_, err = v.Eras(labels)
	}
	return text, done, err
}

// At returns the vehicle at a dive, with the changes up to it applied; labels are the log's dives
// in order.
func (v *Vehicle) At(dive string, labels []string) *Vehicle {
	index := slices.Index(labels, dive)
	if index < 0 {
		index = len(labels)
	}
	w, n := v.unchanged(), 0
	for n < len(v.Changes) && v.begins(n, labels) <= index {
		w.apply(&v.Changes[n])
		n++
	}
	w.Changes = v.Changes[:n:n]
	return w
}

// rebuild makes the assignments. Those of unknown values come last, since their priors may be
// formulas of the others.
func (v *Vehicle) rebuild(sets []string) (out []Rebuilt, err error) {
	if len(sets) == 0 {
		return nil, errors.New("found nothing that changes, want a key and its new value, as tether.length_m=45")
	}
	before := v.Clone()
	for _, set := range sets {
		path, value, _ := strings.Cut(set, "=")
		path, value = strings.TrimSpace(path), strings.TrimSpace(value)
		k, i, err := v.find(path)
		switch {
		case err != nil:
			return nil, fmt.Errorf("%s: %w", path, err)
		case slices.Contains(notChanged, k.name()):
			return nil, fmt.Errorf("%s: found what no rebuilding changes, want another key", path)
		case slices.ContainsFunc(out, func(r Rebuilt) bool { return r.Key == path }):
			return nil, fmt.Errorf("%s: found twice, want it once", path)
		case value != Unknown:
			err = v.Set(set)
		}
		if err != nil {
			return nil, err
		}
		out = append(out, Rebuilt{path, before.Value(path), v.tomlValue(k, i), value == Unknown})
	}
	for n := range out {
		r := &out[n]
		if !r.assumed {
			continue
		}
		if r.Now, err = v.Assumed(r.Key); err == nil {
			err = v.Set(r.Key + "=" + r.Now)
		}
		if err != nil {
			return nil, err
		}
	}
	same := func(r Rebuilt) bool { return r.Before == r.Now }
	if all := slices.DeleteFunc(slices.Clone(out), same); len(all) > 0 {
		return all, v.Check()
	}
	return nil, fmt.Errorf("%s: found %s, which it is already: a part that was replaced by its like is written under serviced in dives.csv", out[0].Key, out[0].Now)
}

// Value returns a key's value as the file states it, by its path as Set takes it; "" if it is not
// stated.
func (v *Vehicle) Value(path string) string {
	k, i, err := v.find(path)
	if err != nil || !v.isStated(k, i) {
		return ""
	}
	return v.tomlValue(k, i)
}

// Assumed returns the range assumed for a key whose value is not known. The error says that the key
// needs a value.
func (v *Vehicle) Assumed(path string) (string, error) {
	k, i, err := v.find(path)
	if err != nil {
		return "", fmt.Errorf("%s: %w", path, err)
	}
	b := v.priorBelief(k, i)
	if k.kind != numberKind || k.need || k.prior.median == nil || b.SD == 0 || slices.Contains(sizes, k.name()) {
		return "", fmt.Errorf("%s: found %s, want a value: %s", path, Unknown, k.how)
	}
	return "[" + Short(b.Low) + ", " + Short(b.High) + "]", nil
}

// comment returns the comment that stands beside a new value and tells the old one.
func (r *Rebuilt) comment() string {
	var words []string
	if r.assumed {
		words = append(words, "not known: what is assumed of it")
	}
	if r.Before != "" {
		words = append(words, "was "+r.Before)
	}
	if len(words) == 0 {
		return ""
	}
	return "  # " + strings.Join(words, "; ")
}
