package calls

import (
	"encoding/json"
	"fmt"
	"slices"

	"sagline/session"
	"sagline/session/problem"
)

// An unasked is the cells of a line that was kept while nothing was expected of
// it.
type unasked struct {
	Dive  string
	Cells []Cell
}

// unaskedIn are those of a file that keep gave.
func unaskedIn(files []string) (out []unasked) {
	if len(files) == 0 || json.Unmarshal([]byte(files[0]), &out) != nil {
		return nil
	}
	return out
}

// toAsk is that file with a line that is kept now, if any. Where ranges are known
// it is empty: then those of the file are shown.
func (b *Logbook) toAsk(files []string, row session.Row) string {
	if b.forecast != nil {
		return ""
	}
	if stored := unaskedIn(files); stored != nil {
		b.unasked = stored
	}
	if row != nil {
		b.unasked = append(b.unasked, unasked{b.dive.Label, cells(row)})
	}
	text, _ := json.Marshal(b.unasked) // of strings alone
	return string(text)
}

// late are the doubts about lines that were kept before their ranges were known.
func (b *Logbook) late() (out []string) {
	if b.forecast == nil || b.vehicle == nil {
		return nil
	}
	for i := range b.log.Dives {
		label := b.log.Dives[i].Label
		if slices.ContainsFunc(b.unasked, func(u unasked) bool { return u.Dive == label }) {
			out = append(out, b.lateOf(label)...)
		}
	}
	return out
}

func (b *Logbook) lateOf(label string) (out []string) {
	now, of := b.dive, ""
	defer func() { b.dive = now }()
	if b.dive = b.written(label); label != now.Label {
		of = " of dive " + problem.Visible(label)
	}
	for i, row := range slices.Clone(b.dive.Rows) {
		if !slices.ContainsFunc(b.unasked, func(u unasked) bool { return u.Dive == label && slices.Equal(u.Cells, cells(row)) }) {
			continue
		}
		back := b.upTo(i)
		for _, d := range b.doubts(row) {
			out = append(out, fmt.Sprintf("line %d%s was kept before its ranges were known: %s", i+1, of, d.Text))
		}
		back()
	}
	return out
}
