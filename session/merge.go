package session

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"sagline/session/problem"
)

// A Merge is the result of merging two copies of a log that were both written to.
type Merge struct {
	Text      string   `json:"-"`         // the merged file's bytes; "" where there are conflicts
	Added     []string `json:"added"`     // what Text has from ours and theirs lacks, in words
	Conflicts []string `json:"conflicts"` // dives that differ so that neither copy can be taken, in words
}

// MergeTexts merges two copies of a log, dive by dive: the result is theirs with what only ours
// has. base is their common ancestor, "" if it is not known. A line of one copy stays unless the
// other has changed it since base, or has changed or struck it with a comment. Two changes of one
// line are a conflict. path names the files in problems. The error says which copy cannot be read.
func MergeTexts(path, base, ours, theirs string) (*Merge, error) {
	m := &merger{}
	for _, side := range []struct{ where, text string }{{"here", ours}, {"there", theirs}} {
		if _, err := rowsOf(path, side.text); err != nil {
			return nil, fmt.Errorf("%s: %w", side.where, err)
		}
	}
	base, ours, theirs, err := m.exchangeEdits(path, base, ours, theirs)
	if err != nil || len(m.Conflicts) > 0 {
		return &m.Merge, err
	}
	if m.ours, err = rowsOf(path, ours); err != nil {
		return nil, fmt.Errorf("here: %w", err)
	}
	if m.theirs, err = rowsOf(path, theirs); err != nil {
		return nil, fmt.Errorf("there: %w", err)
	}
	if m.base, err = rowsOf(path, base); err != nil {
		m.base = &rowsByDive{} // an unreadable base counts as unknown
	}
	for i := range m.ours.file.Log.Dives {
		m.dive(&m.ours.file.Log.Dives[i])
	}
	if len(m.Conflicts) > 0 {
		return &m.Merge, nil
	}
	m.Text, err = EditText(path, theirs, m.write)
	if err == nil {
		err = m.sameBatteries(path)
	}
	if err != nil {
		m.Text = ""
		m.Conflicts = append(m.Conflicts, err.Error())
	}
	return &m.Merge, nil
}

// rowsByDive is a readable file with its rows by the label of their dive.
type rowsByDive struct {
	file *File
	rows map[string][]Row
}

func rowsOf(path, text string) (*rowsByDive, error) {
	f, err := OpenText(path, text)
	if err != nil {
		return nil, err
	}
	if f.Log == nil {
		return nil, f.list.Err()
	}
	out := &rowsByDive{f, map[string][]Row{}}
	for _, d := range f.Log.Dives {
		if out.rows[d.Label], err = f.Rows(&d); err != nil {
			return nil, err
		}
	}
	return out, nil
}

type merger struct {
	Merge
	base, ours, theirs *rowsByDive
	changes            []func(*File) error
}

// exchangeEdits applies the edits in the comments of ours and theirs to each other and to base, and
// returns the three texts. It is a conflict if one copy has edited a line of base that the other
// has changed without a comment.
func (m *merger) exchangeEdits(path, base, ours, theirs string) (newBase, newOurs, newTheirs string, err error) {
	where, now := [2]string{"here", "there"}, [2]string{ours, theirs}
	for i, text := range []string{ours, theirs} {
		with, err := OpenText(path, text)
		if err != nil {
			return "", "", "", err
		}
		var did, left, inBase []edit
		now[1-i], err = EditText(path, now[1-i], func(f *File) (err error) { did, left, err = f.applyEdits(with); return err })
		if err != nil {
			return "", "", "", err
		}
		for _, p := range did {
			if i == 0 {
				m.Added = append(m.Added, p.String()+" here")
			}
		}
		caught, err := EditText(path, base, func(f *File) (err error) { inBase, _, err = f.applyEdits(with); return err })
		if err != nil {
			continue // base is unreadable or unknown
		}
		base = caught
		for _, p := range inBase {
			if slices.ContainsFunc(left, p.same) {
				m.Conflicts = append(m.Conflicts, fmt.Sprintf("%s %s, and no longer %s as it was", p, where[i], where[1-i]))
			}
		}
	}
	return base, now[0], now[1], nil
}

func (m *merger) write(f *File) error {
	for _, change := range m.changes {
		if err := change(f); err != nil {
			return err
		}
	}
	f.keepEdits(m.ours.file)
	return nil
}

// dive decides what becomes of a dive of ours.
func (m *merger) dive(d *Dive) {
	ours, theirs, base := m.ours.rows[d.Label], m.theirs.rows[d.Label], m.base.rows[d.Label]
	switch {
	case begins(ours, theirs): // theirs has all of it
	case begins(theirs, ours):
		m.add(d, ours[len(theirs):], len(theirs) == 0)
	case begins(ours, base) && begins(base, ours) && len(theirs) >= len(base): // changed only there
	case begins(theirs, base) && begins(base, theirs) && len(ours) >= len(base): // changed only here
		for i := range base {
			if !sameRow(base[i], ours[i]) {
				m.changes = append(m.changes, func(f *File) error { return f.ReplaceRow(d.Label, i, ours[i]) })
			}
		}
		m.Added = append(m.Added, fmt.Sprintf("dive %s: lines changed here", d.Label))
		if len(ours) > len(base) {
			m.add(d, ours[len(base):], false)
		}
	default:
		at := 0
		for at < min(len(ours), len(theirs)) && sameRow(ours[at], theirs[at]) {
			at++
		}
		m.Conflicts = append(m.Conflicts, fmt.Sprintf("dive %s has %s here and %s there, which differ from line %d on", d.Label,
			problem.Count(len(ours), "line"), problem.Count(len(theirs), "line"), at+1))
	}
}

// add adds rows of a dive to theirs: at the end of the dive, or, if theirs lacks the dive (fresh),
// as a dive in the order of dates.
func (m *merger) add(d *Dive, rows []Row, fresh bool) {
	for i := range rows {
		rows[i] = maps.Clone(rows[i])
		maps.DeleteFunc(rows[i], func(name, _ string) bool {
			_, ok := Find(name)
			return !ok && !slices.Contains(m.theirs.file.unknown, name)
		})
	}
	if fresh && d.Battery != "" {
		rows[0]["battery"] = d.Battery
	}
	if m.ours.keepsUnknown(d, m.theirs.file.unknown) {
		m.Conflicts = append(m.Conflicts, fmt.Sprintf("dive %s has cells here in columns that are not known, and is not there", d.Label))
	}
	m.Added = append(m.Added, fmt.Sprintf("dive %s: %s of here", d.Label, problem.Count(len(rows), "line")))
	day := m.ours.file.Log.since(d)
	m.changes = append(m.changes, func(f *File) error {
		p := f.places()
		if fresh {
			p.end = f.after(day)
		}
		for _, row := range rows {
			if err := f.append(row, p); err != nil {
				return err
			}
		}
		f.renumber()
		return nil
	})
}

// since returns the newest day of a log up to dive d, zero for none.
func (l *Log) since(d *Dive) (day time.Time) {
	for i := range l.Dives {
		if on := l.Dives[i].Date; !on.IsZero() {
			day = on
		}
		if l.Dives[i].Label == d.Label {
			break
		}
	}
	return day
}

// after returns the place in f.records after all dives before the first one later than day, or
// after all dives if day is zero.
func (f *File) after(day time.Time) int {
	p := f.places()
	later := len(f.records) + 1 // after the first later dive
	for _, d := range f.Log.Dives {
		if !day.IsZero() && d.Date.After(day) {
			later = min(later, p.after[d.Label])
		}
	}
	at := f.header + 1
	for _, end := range p.after {
		if end < later {
			at = max(at, end)
		}
	}
	return at
}

// keepsUnknown reports whether a dive has cells in columns that are neither in the table nor in
// others.
func (o *rowsByDive) keepsUnknown(d *Dive, others []string) bool {
	for i := range d.Lines {
		at, err := o.file.find(d.Lines[i].Number)
		if err != nil {
			return true
		}
		for k, text := range o.file.records[at].cells(o.file.separator, nil) {
			if (k >= len(o.file.columns) || o.file.columns[k] == nil && !slices.Contains(others, o.file.unknown[k])) && clean(text) != "" {
				return true
			}
		}
	}
	return false
}

// sameBatteries returns an error if a dive has another battery in the merged file than in its
// copy, because another dive now comes before it.
func (m *merger) sameBatteries(path string) error {
	now, err := rowsOf(path, m.Text)
	if err != nil {
		return err
	}
	for _, d := range now.file.Log.Dives {
		same := func(of *rowsByDive) bool {
			return slices.ContainsFunc(of.file.Log.Dives, func(o Dive) bool { return o.Label == d.Label && o.Battery == d.Battery })
		}
		if !same(m.theirs) && !same(m.ours) {
			return fmt.Errorf("dive %s would be of battery %q: write its battery down", d.Label, d.Battery)
		}
	}
	return nil
}

// begins reports whether rows a are the beginning of rows all.
func begins(a, all []Row) bool {
	return len(a) <= len(all) && slices.EqualFunc(a, all[:len(a)], sameRow)
}

// sameRow reports whether two rows have the same content. Numbers are compared by value.
func sameRow(a, b Row) bool {
	return maps.Equal(byValue(a), byValue(b))
}

// byValue returns a row's non-empty cells, with numbers in one form.
func byValue(row Row) Row {
	out := Row{}
	for name, text := range row {
		if text = strings.TrimSpace(text); text == "" {
			continue
		}
		out[name] = text
		if c, ok := Find(name); ok && c.Unit != "" {
			if x, err := c.number(clean(text), true); err == nil {
				out[name] = fmt.Sprint(x)
			}
		}
	}
	return out
}
