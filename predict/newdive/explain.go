package newdive

import (
	"maps"
	"math"
	"slices"
	"strings"

	"sagline/session"
)

// thrusters is the column of the thrusters that ran.
var thrusters = session.Named("thrusters")

// elsewhere proposes to move a reading that fits another column better to that column, if that is
// empty.
func (d *Dive) elsewhere(row session.Row, doubts []Doubt) {
	for i := range doubts {
		b := &doubts[i]
		name, wrong := strings.CutPrefix(b.Why, wrongColumn)
		if !wrong {
			continue
		}
		c := d.columnOf(name)
		move := session.Row{b.Column.Name: "", c.Name: b.Text}
		if c.Unit == b.Column.Unit && row[c.Name] == "" && d.fits(row, move) {
			b.Instead = move
		}
	}
}

// wrongColumn begins the reason of a doubt about a reading in the wrong column.
const wrongColumn = "wrong column? it fits "

// explained returns the one mistake that explains all doubts of a row, nil if there is none: one of
// the doubts, a number left out, two swapped cells, or the wrong thrusters.
func (d *Dive) explained(row session.Row, doubts []Doubt) *Doubt {
	for _, b := range doubts {
		if b.Instead != nil && (len(doubts) == 1 || d.fits(row, b.Instead)) {
			return &b
		}
	}
	if len(doubts) == 0 {
		return nil
	}
	if shift := d.leftOut(row); shift != nil {
		return shift
	}
	numbers := slices.DeleteFunc(slices.Clone(d.Reader.Columns), func(c *session.Column) bool { return c.Unit == "" || c.Once || row[c.Name] == "" })
	for i, a := range numbers {
		for _, b := range numbers[i+1:] {
			swapped := session.Row{a.Name: row[b.Name], b.Name: row[a.Name]}
			either := func(x Doubt) bool { return x.Column == a || x.Column == b }
			if slices.ContainsFunc(doubts, either) && d.fits(row, swapped) {
				return &Doubt{Column: a, Text: row[a.Name], Should: d.should(a, row), Why: "changed places with " + b.Name + "?", Instead: swapped}
			}
		}
	}
	others := d.Kinds()
	for _, name := range d.Reader.Thrusters {
		others = append(others, session.Row{"thrusters": name, "held": ""})
	}
	named := slices.IndexFunc(others, func(o session.Row) bool { return len(asThrusters(row, o)) > len(o) })
	if named >= 0 {
		others = slices.Insert(others, 0, others[named])
	}
	for _, other := range others {
		if d.fits(row, other) {
			return &Doubt{Column: thrusters, Text: row["thrusters"] + heldWord(row), Why: misfit(doubts), Instead: asThrusters(row, other), explains: doubts}
		}
	}
	return nil
}

// leftOut returns the doubt that a number was not measured and not marked so, so that the numbers
// after it stand one column too far left; nil if that does not fit.
func (d *Dive) leftOut(row session.Row) *Doubt {
	columns := slices.DeleteFunc(d.Order(row), func(c *session.Column) bool { return c.Unit == "" })
	last := len(columns) - 1
	if last < 0 || row[columns[last].Name] != "" {
		return nil
	}
	right := session.Row{}
	for i := last - 1; i >= 0 && row[columns[i].Name] != ""; i-- {
		c, next := columns[i], columns[i+1]
		right[c.Name], right[next.Name] = "", row[c.Name]
		if d.fits(row, right) {
			return &Doubt{Column: c, Text: row[c.Name], Should: d.should(c, row), Why: "left out?", Instead: right}
		}
	}
	return nil
}

// asThrusters returns other, the thrusters proposed for a row. If the row has no thrusters and its
// minute is their name, the minute is emptied too.
func asThrusters(row, other session.Row) session.Row {
	if row["thrusters"] == "" && row["minute"] != "" && row["minute"] == other["thrusters"] {
		return merged(other, "minute", "")
	}
	return other
}

// heldWord returns " held" for a row of a held vehicle.
func heldWord(row session.Row) string {
	if row["held"] == "yes" {
		return " held"
	}
	return ""
}

// misfit words the readings in doubt, for a question about the thrusters.
func misfit(doubts []Doubt) string {
	var names []string
	for _, b := range doubts {
		if b.Column.Unit != "" {
			names = append(names, b.Column.Name+" "+b.Text)
		}
	}
	return strings.Join(names, ", ") + " would fit others:"
}

// should is Should with the readings expected of the row.
func (d *Dive) should(c *session.Column, row session.Row) string {
	_, expected := d.Line(row)
	return Should(c, row, expected)
}

// fits reports whether nothing in a row is in doubt once change is copied into it.
func (d *Dive) fits(row, change session.Row) bool {
	row = maps.Clone(row)
	maps.Copy(row, change)
	if d.Problem(row) != nil || len(d.remarks(row)) > 0 || len(d.furthest(row)) > 0 {
		return false
	}
	_, expected := d.Line(row)
	for _, c := range d.given(row) {
		want := expectedOf(c, expected)
		if x, ok := value(c, row, row[c.Name]); !ok || want == nil || math.Abs(want.Off(x.X)) > farOff {
			return false
		}
	}
	return true
}

// unlike returns a doubt about the thrusters of a row whose readings are in the columns that the
// dive before filled at this line, with other thrusters.
func (d *Dive) unlike(row session.Row) []Doubt {
	next := d.Next()
	if len(d.Rows) >= len(d.Plan) || kindOf(row) == kindOf(next) || d.readAs(row, kindOf(row)) || !d.readAs(row, kindOf(next)) {
		return nil
	}
	return []Doubt{{Column: thrusters, Text: row["thrusters"] + heldWord(row), Why: "in the dive before, a line with these readings had:", Instead: next}}
}

// otherWay returns a doubt about the direction of thrusters that recent dives ran only in other
// directions: "p+s astern" may mean both astern.
func (d *Dive) otherWay(row session.Row) []Doubt {
	names := func(row session.Row) string {
		return strings.NewReplacer(" astern", "", " down", "").Replace(kindOf(row).thrusters)
	}
	var other session.Row
	for _, k := range d.Kinds() {
		switch {
		case k["thrusters"] == row["thrusters"]:
			return nil
		case names(k) == names(row) && strings.Contains(k["thrusters"], " astern"):
			other = session.Row{"thrusters": k["thrusters"]}
		}
	}
	if other == nil || !strings.Contains(row["thrusters"], " astern") {
		return nil
	}
	return []Doubt{{Column: thrusters, Text: row["thrusters"], Why: "ran so in no recent dive:", Instead: other}}
}

// readAs reports whether a recent line of a kind has readings in the same columns as the row.
func (d *Dive) readAs(row session.Row, of kind) bool {
	return slices.ContainsFunc(slices.Concat(d.recent, d.Rows), func(r session.Row) bool {
		return kindOf(r) == of && slices.Equal(d.given(r), d.given(row))
	})
}
