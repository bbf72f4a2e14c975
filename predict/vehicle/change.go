package vehicle

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"sagline/session/problem"
)

// A Change is one [[change]] of the file: what was rebuilt, and from which dive
// on it holds.
type Change struct {
	Dive  string
	Paths []string // as Set takes them, in the file's order

	values []any
	line   int
}

// An Era is a run of dives made with one build of the vehicle.
type Era struct {
	First   int // of the dives
	Vehicle *Vehicle
	Changed []string // paths; nil for the first era
}

// Eras cuts a log, by the labels of its dives in order, where the file says
// that the vehicle was rebuilt. Changes apply one after the other in the file's
// order, which must be the log's. One whose dive is not in the log yet begins
// no era.
func (v *Vehicle) Eras(labels []string) ([]Era, error) {
	w := v.unchanged()
	eras := []Era{{Vehicle: w}}
	last, lastDive := 0, ""
	for i := range v.Changes {
		c := &v.Changes[i]
		first := slices.Index(labels, c.Dive)
		if first < 0 {
			continue
		}
		if first < last {
			return nil, &problem.Problem{File: FileName, Line: c.line, Column: "change.dive",
				Text: fmt.Sprintf("found dive %s below the change of dive %s, want changes in the order of the dives", c.Dive, lastDive)}
		}
		if first > last {
			eras = append(eras, Era{First: first, Vehicle: w.Clone()})
		}
		era := &eras[len(eras)-1]
		if w = era.Vehicle; first > 0 {
			for _, p := range c.Paths {
				if !slices.Contains(era.Changed, p) {
					era.Changed = append(era.Changed, p)
				}
			}
		}
		if err := w.apply(c); err != nil {
			return nil, err
		}
		last, lastDive = first, c.Dive
	}
	return eras, nil
}

// Latest is the vehicle with all changes applied: as it is now.
func (v *Vehicle) Latest() *Vehicle {
	w := v.unchanged()
	for i := range v.Changes {
		if err := w.apply(&v.Changes[i]); err != nil {
			return v.unchanged() // reading has applied them all, so none fails
		}
	}
	return w
}

// unchanged is the vehicle before its changes.
func (v *Vehicle) unchanged() *Vehicle {
	w := v.Clone()
	w.Changes = nil
	return w
}

func (v *Vehicle) apply(c *Change) error {
	for j, path := range c.Paths {
		k, i, err := v.find(path)
		if err == nil && !v.assign(k, i, c.values[j]) {
			err = errors.New(k.mistake(c.values[j], fmt.Sprint(c.values[j])))
		}
		if err != nil {
			return fmt.Errorf("%s: change of dive %s: %s: %w", FileName, c.Dive, path, err)
		}
	}
	if err := v.Check(); err != nil {
		return fmt.Errorf("after the change of dive %s: %w", c.Dive, err)
	}
	return nil
}

// notChanged are what no rebuilding changes; a new thruster is a new vehicle.
var notChanged = []string{"name", "units", "axis", "dives"}

// changes reads the [[change]] tables onto a whole vehicle.
func (c *checker) changes(tree map[string]any) {
	all, ok := tree["change"].([]any)
	if e := c.in.at["change"]; e != nil && (!ok || len(all) > lists["change"]) {
		c.bad("change", "want tables, each under [[change]], at most %d", lists["change"])
		return
	}
	now := c.v.unchanged()
	for i := range all {
		before := len(c.all)
		ch := c.change(now, i, all[i])
		if len(c.all) > before {
			continue
		}
		if err := now.Check(); err != nil {
			for _, p := range problem.Listed(err) {
				c.all.Add(c.file, ch.line, "change "+strconv.Itoa(i+1), "after it %s: %s", p.Column, p.Text)
			}
		}
		c.v.Changes = append(c.v.Changes, ch)
	}
}

// change reads the i-th and applies it to now.
func (c *checker) change(now *Vehicle, i int, table any) (ch Change) {
	id, done := join("change", i), "\x00"
	ch.line = c.in.line(id)
	for _, e := range c.in.order {
		path, ok := strings.CutPrefix(e.path, id+".")
		if !ok || e.end == 0 || strings.HasPrefix(e.path, done) {
			continue
		}
		done = e.path + "."
		value := valueAt(table, e.parts[2:])
		if path == "dive" {
			ch.Dive = c.dive(e, value)
			continue
		}
		k, n, err := now.find(path)
		at := "change " + strconv.Itoa(i+1) + "." + path
		switch {
		case err != nil:
			c.all.Add(c.file, c.in.lineOf(e), at, "%v", err)
		case slices.Contains(notChanged, k.name()):
			c.all.Add(c.file, c.in.lineOf(e), at, "found what no rebuilding changes, want another key")
		case !now.assign(k, n, value):
			c.all.Add(c.file, c.in.lineOf(e), at, "%s", k.mistake(value, c.found(e)))
		default:
			ch.Paths, ch.values = append(ch.Paths, path), append(ch.values, value)
		}
	}
	if c.in.at[id+".dive"] == nil {
		c.all.Add(c.file, ch.line, "change "+strconv.Itoa(i+1)+".dive", "missing, want the dive from which on it holds, in quotes")
	}
	if len(ch.Paths) == 0 && len(c.all) == 0 {
		c.all.Add(c.file, ch.line, "change "+strconv.Itoa(i+1), "changes nothing, want a line as \"tether.length_m\" = 45")
	}
	return ch
}

// dive is a dive's label, which people also write as a number.
func (c *checker) dive(e *entry, value any) string {
	switch d := value.(type) {
	case int64:
		return strconv.FormatInt(d, 10)
	case string:
		if strings.TrimSpace(d) != "" && printable(d) {
			return d
		}
	}
	c.bad(e.path, "found %s, want a dive's label in quotes", c.found(e))
	return ""
}
