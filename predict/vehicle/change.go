package vehicle

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"sagline/session/problem"
	"sagline/session/tomlfile"
)

// A Change is one [[change]] of the file: what was rebuilt from a dive on.
type Change struct {
	Dive  string
	Paths []string // as Set takes them, in the file's order

	values []any
	line   int
}

// An Era is a run of dives made with one build of the vehicle.
type Era struct {
	First   int    // index of its first dive
	Dive    string // label of its first dive or, if that is not in the log, of its first change; "" for the first era
	Vehicle *Vehicle
	Changed []string // paths; nil for the first era

	steps []step
}

// A step holds the vehicle before and after the changes of one label.
type step struct {
	dive          string
	paths         []string
	before, after *Vehicle
}

// Said words the changes that began an era, by the dive that each names: "from dive 13 on:
// tether.length_m = 80, was 30". With toCome they are all still to come.
func (e *Era) Said(toCome bool) (out []string) {
	for _, s := range e.steps {
		from := "dive " + s.dive
		switch {
		case toCome:
			from += ", which is not in the log yet, on"
		case s.dive != e.Dive:
			from = "dive " + e.Dive + ", as dive " + s.dive + " is not in the log, on"
		default:
			from += " on"
		}
		var changed []string
		for _, path := range s.paths {
			changed = append(changed, path+" = "+s.after.Value(path))
			if before := s.before.Value(path); before != "" {
				changed[len(changed)-1] += ", was " + before
			}
		}
		out = append(out, "from "+from+": "+strings.Join(changed, "; "))
	}
	return out
}

// rebuild applies a change to the era's vehicle and records it in a step.
func (e *Era) rebuild(c *Change) {
	before := e.Vehicle.Clone()
	e.Vehicle.apply(c)
	n := slices.IndexFunc(e.steps, func(s step) bool { return s.dive == c.Dive })
	if n < 0 {
		e.steps, n = append(e.steps, step{dive: c.Dive, before: before}), len(e.steps)
	}
	s := &e.steps[n]
	s.after = e.Vehicle.Clone()
	for _, path := range c.Paths {
		if !slices.Contains(s.paths, path) {
			s.paths = append(s.paths, path)
		}
	}
}

// Eras divides a log, given the labels of its dives in order, where the vehicle was rebuilt. It
// returns an error if the file's changes are not in the order of the log. Changes that hold from
// the next dive on, which is not in the log yet, begin an era without a dive; later ones are in no
// era.
func (v *Vehicle) Eras(labels []string) ([]Era, error) {
	eras := []Era{{Vehicle: v.unchanged()}}
	lastDive := ""
	for i := range v.Changes[:v.next(labels)] {
		c, era := &v.Changes[i], &eras[len(eras)-1]
		first := v.begins(i, labels)
		switch {
		case first < era.First:
			return nil, &problem.Problem{File: FileName, Line: c.line, Column: "change.dive",
				Text: fmt.Sprintf("found dive %s below the change of dive %s, want changes in the order of the dives", c.Dive, lastDive)}
		case first > era.First:
			dive := c.Dive
			if first < len(labels) {
				dive = labels[first]
			}
			eras = append(eras, Era{First: first, Dive: dive, Vehicle: era.Vehicle.Clone()})
			era = &eras[len(eras)-1]
		}
		if first > 0 {
			for _, path := range c.Paths {
				if !slices.Contains(era.Changed, path) {
					era.Changed = append(era.Changed, path)
				}
			}
		}
		era.rebuild(c)
		lastDive = c.Dive
	}
	return eras, nil
}

// begins returns the index of the dive from which the i-th change holds. A change whose dive is not
// in the log holds from the next change's dive on.
func (v *Vehicle) begins(i int, labels []string) int {
	for _, c := range v.Changes[i:] {
		if at := slices.Index(labels, c.Dive); at >= 0 {
			return at
		}
	}
	return len(labels)
}

// next returns how many changes hold at the dive after the log's last, given its labels in order.
// Of the changes to come it counts those with the first label, unless the dives are numbered one by
// one and that label is not the next number.
func (v *Vehicle) next(labels []string) int {
	n := 0
	for n < len(v.Changes) && v.begins(n, labels) < len(labels) {
		n++
	}
	if n == len(v.Changes) || skips(labels, v.Changes[n].Dive) {
		return n
	}
	first := v.Changes[n].Dive
	for n < len(v.Changes) && v.Changes[n].Dive == first {
		n++
	}
	return n
}

// skips reports whether the dives are numbered one by one and label is a number beyond the next.
func skips(labels []string, label string) bool {
	n := len(labels)
	if n == 0 {
		return false
	}
	last, wrong := strconv.Atoi(labels[n-1])
	at, wrongAt := strconv.Atoi(label)
	if n > 1 && labels[n-2] != strconv.Itoa(last-1) {
		return false
	}
	return wrong == nil && wrongAt == nil && at > last+1
}

// Next returns the vehicle at the dive after the log's last, given the log's labels in order.
func (v *Vehicle) Next(labels []string) *Vehicle {
	w := v.unchanged()
	for i := range v.Changes[:v.next(labels)] {
		w.apply(&v.Changes[i])
	}
	return w
}

// Later words the changes that come after the next dive, which Next leaves out.
func (v *Vehicle) Later(labels []string) []string {
	n := v.next(labels)
	e := Era{Vehicle: v.Next(labels)}
	for i := range v.Changes[n:] {
		e.rebuild(&v.Changes[n+i])
	}
	out := e.Said(true)
	for i := range out {
		out[i] += " (after the next dive, so not in these numbers)"
	}
	return out
}

// unchanged returns the vehicle before its changes.
func (v *Vehicle) unchanged() *Vehicle {
	w := v.Clone()
	w.Changes = nil
	return w
}

// apply applies a change that was read without an error.
func (v *Vehicle) apply(c *Change) {
	for j, path := range c.Paths {
		if k, i, err := v.find(path); err == nil {
			v.assign(k, i, c.values[j])
		}
	}
	_ = v.Check() // makes a thruster's test one that a motor could give
}

// notChanged are the keys that no [[change]] may set; a new thruster is a new vehicle.
var notChanged = []string{"name", "units", "axis", "dives"}

// changes reads the [[change]] tables in order, each applied to the vehicle as the one before left
// it.
func (c *checker) changes() {
	k := c.in.Find("change")
	if k == nil {
		return
	}
	all, _ := k.Value.([]any)
	if !k.Tables() || len(all) > lists["change"] {
		c.add(k, "want tables, each under [[change]], at most %d", lists["change"])
		return
	}
	now := c.v.unchanged()
	for i := range all {
		ch, sound := c.change(now, i)
		if !sound {
			continue
		}
		for _, p := range problem.Listed(now.Check()) {
			c.all.Add(c.file, ch.line, "change "+strconv.Itoa(i+1), "after it %s: %s", p.Column, p.Text)
		}
		c.v.Changes = append(c.v.Changes, ch)
	}
}

// change reads the i-th [[change]] and applies it to now.
func (c *checker) change(now *Vehicle, i int) (ch Change, sound bool) {
	before := len(c.all)
	id, done := join("change", i), "\x00"
	ch.line = c.in.Line(id)
	for _, e := range c.in.Keys {
		path, ok := strings.CutPrefix(e.Path, id+".")
		if !ok || e.Header() || strings.HasPrefix(e.Path, done) {
			continue
		}
		done = e.Path + "."
		if path == "dive" {
			ch.Dive = c.dive(e)
			continue
		}
		switch k, n, err := now.find(path); {
		case err != nil:
			c.add(e, "%v", err)
		case slices.Contains(notChanged, k.name()):
			c.add(e, "found what no rebuilding changes, want another key")
		case !now.assign(k, n, e.Value):
			c.add(e, "%s", k.mistake(e.Value, c.in.Found(e)))
		default:
			ch.Paths, ch.values = append(ch.Paths, path), append(ch.values, e.Value)
		}
	}
	if c.in.Find(id+".dive") == nil {
		c.bad(id+".dive", "missing, want the dive from which on it holds, in quotes")
	}
	if len(ch.Paths) == 0 && len(c.all) == before {
		c.all.Add(c.file, ch.line, c.label([]string{"change", strconv.Itoa(i)}), `changes nothing, want a line as "tether.length_m" = 45`)
	}
	return ch, len(c.all) == before
}

// dive returns the label of a change's dive, which people also write as a number.
func (c *checker) dive(e *tomlfile.Key) string {
	switch d := e.Value.(type) {
	case int64:
		return strconv.FormatInt(d, 10)
	case string:
		if strings.TrimSpace(d) != "" && printable(d) {
			return d
		}
	}
	c.add(e, "found %s, want a dive's label in quotes", c.in.Found(e))
	return ""
}
