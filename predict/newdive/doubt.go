package newdive

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"sagline/predict/forecast"
	"sagline/session"
	"sagline/session/units"
)

// A Doubt is a cell that is asked about.
type Doubt struct {
	Column  *session.Column
	Text    string      // as entered
	Should  string      // "" where nothing is expected
	Why     string      // what it may be: "decimal point?"
	Instead session.Row // the cells that would be as expected; nil where none are known

	explains []Doubt // what other thrusters than these would do away with
}

// String words a doubt.
func (b *Doubt) String() string {
	text := strings.TrimSpace(b.Column.Name + " " + b.Text)
	if b.Should != "" {
		text += ", should be " + b.Should
	}
	if b.Why != "" {
		text += ": " + b.Why
	}
	return text
}

// Meant words what would be as expected, "" where that is not known.
func (b *Doubt) Meant() string {
	if text, ok := b.Instead["thrusters"]; ok {
		return text + heldWord(b.Instead)
	}
	if len(b.Instead) == 1 {
		return b.Instead[b.Column.Name]
	}
	var out []string
	for _, name := range session.ColumnNames() {
		if text := b.Instead[name]; text != "" {
			out = append(out, name+" "+text)
		}
	}
	return strings.Join(out, " ")
}

// From how many standard deviations on a reading is asked about: that of a
// sound vehicle once in some thousand, and one that a slip makes e^2.5 times as
// likely earlier. The experiment that set them is TestSlips.
const (
	farOff   = 3.5
	someOff  = 2.5
	likelier = 5.0 // twice the logarithm
)

// Doubts are what is asked about in a row: what its readings should be, what
// can be read on such a line at all, and what it says beside the line before.
func (d *Dive) Doubts(row session.Row) (doubts []Doubt) {
	line, expected := d.Line(row)
	add := func(list []Doubt) {
		for _, b := range list {
			if !slices.ContainsFunc(doubts, func(o Doubt) bool { return o.Column == b.Column || o.Instead[b.Column.Name] != "" }) {
				doubts = append(doubts, b)
			}
		}
	}
	add(d.furthest(row)) // first: what readings should be follows from depth
	add(d.remarks(row))
	add(d.readings(row, line, expected))
	d.elsewhere(row, doubts)
	if whole := d.explained(row, doubts); whole != nil {
		doubts = []Doubt{*whole}
	}
	if other := d.unlike(row); len(other) > 0 && d.fits(row, other[0].Instead) {
		doubts = other
	}
	add(d.otherWay(row))
	return doubts
}

// stoodTwice is how often a reading stands against what was expected before only
// slips of it are asked about: then the vehicle has changed. Common practice, no
// source.
const stoodTwice = 2

// Stands says that a reading stays as it was entered.
func (d *Dive) Stands(b *Doubt) {
	d.stood[b.Column.Name]++
	for i := range b.explains {
		d.Stands(&b.explains[i])
	}
}

// readings are the doubts about each reading by itself.
func (d *Dive) readings(row session.Row, line *session.Line, expected []forecast.Expected) (out []Doubt) {
	for _, c := range d.given(row) {
		want := expectedOf(c, expected)
		x, ok := value(c, row, row[c.Name])
		doubt := Doubt{Column: c, Text: row[c.Name]}
		switch {
		case !ok || expected == nil || want == nil && c.Quantity == "current_a" && d.unlit && row["lights"] == "on":
		case want == nil:
			doubt.Why = "nothing to read with " + cmp.Or(row["thrusters"], "no thrusters given")
			out = append(out, doubt)
		default:
			doubt.Should = Should(c, row, expected)
			if doubt.judge(x, *want, expected) && (d.stood[c.Name] < stoodTwice || doubt.Instead != nil) {
				if c.Quantity == "current_a" && doubt.Why == "" && x.X > jamTimes*want.Value {
					doubt.Why = jammed(line)
				}
				out = append(out, doubt)
			}
		}
	}
	return out
}

// jamTimes is how many times what it should be a line's current is at least with one of its thrusters jammed, which
// draws two to five times its own: common practice, no source.
const jamTimes = 1.4

// jammed asks whether a thruster of a line is jammed, "" where none runs: its winding may burn within seconds.
func jammed(line *session.Line) string {
	switch len(line.Drives) {
	case 0:
		return ""
	case 1:
		return "is " + line.Drives[0].Name + " jammed? switch it off at once where it does not push"
	}
	return "is a thruster jammed? switch all off at once where one does not push"
}

// elsewhere proposes the column that readings of a row fit better, where it is
// empty.
func (d *Dive) elsewhere(row session.Row, doubts []Doubt) {
	for i := range doubts {
		b := &doubts[i]
		if !strings.HasPrefix(b.Why, wrongColumn) {
			continue
		}
		name := strings.TrimPrefix(b.Why, wrongColumn)
		c := d.columnOf(name)
		move := session.Row{b.Column.Name: "", c.Name: b.Text}
		if c.Unit == b.Column.Unit && row[c.Name] == "" && d.fits(row, move) {
			b.Instead = move
		}
	}
}

// wrongColumn begins what is said of a reading in another's column.
const wrongColumn = "wrong column? it fits "

// given are the columns of readings that a row has.
func (d *Dive) given(row session.Row) (out []*session.Column) {
	for _, c := range session.Columns() {
		if _, reads := readingOf(c); reads && row[c.Name] != "" {
			out = append(out, c)
		}
	}
	return out
}

// judge says whether a reading is in doubt, and what it may be meant to be.
func (b *Doubt) judge(x session.Value, want forecast.Expected, all []forecast.Expected) bool {
	off := math.Abs(want.Off(x.X))
	if off < someOff {
		return false
	}
	g, ok := want.Guess(x, all)
	if off < farOff && (!ok || g.Slip == forecast.WrongColumn || off*off-g.Off*g.Off < likelier) {
		return false
	}
	if ok && g.Slip == forecast.WrongColumn {
		b.Why = wrongColumn + g.Quantity.String()
	} else if ok {
		b.Why = map[forecast.Slip]string{forecast.DecimalPoint: "decimal point?", forecast.SwappedDigits: "digits changed places?", forecast.WrongSign: "sign?"}[g.Slip]
		if g.Slip == forecast.WrongUnit {
			b.Why = "in " + g.Unit + "?"
		}
		b.Instead = session.Row{b.Column.Name: units.Digits(g.Meant, 4)}
	}
	return true
}

// explained is one mistake that accounts for all doubts of a row: one of them,
// two cells that changed places, or other thrusters than those that ran; nil
// where there is none.
func (d *Dive) explained(row session.Row, doubts []Doubt) *Doubt {
	for i := range doubts {
		if b := &doubts[i]; b.Instead != nil && (len(doubts) == 1 || d.fits(row, b.Instead)) {
			return b
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
	thrusters, _ := session.Find("thrusters")
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

// leftOut is a number that was not measured and not marked so, by which those
// after it went one column too far to the left; nil where that explains nothing.
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

// asThrusters are other thrusters for a row that has none: a number that is their name
// was no minute.
func asThrusters(row, other session.Row) session.Row {
	if row["thrusters"] == "" && row["minute"] != "" && row["minute"] == other["thrusters"] {
		return merged(other, "minute", "")
	}
	return other
}

func heldWord(row session.Row) string {
	if row["held"] == "yes" {
		return " held"
	}
	return ""
}

// misfit says which readings do not go with a line's thrusters.
func misfit(doubts []Doubt) string {
	var names []string
	for _, b := range doubts {
		if b.Column.Unit != "" {
			names = append(names, b.Column.Name+" "+b.Text)
		}
	}
	return strings.Join(names, ", ") + " would fit others:"
}

func (d *Dive) should(c *session.Column, row session.Row) string {
	_, expected := d.Line(row)
	return Should(c, row, expected)
}

// fits says whether with some cells changed nothing of a row is in doubt.
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

// unlike is a line that was read as those of other thrusters are, which the
// dive before has here.
func (d *Dive) unlike(row session.Row) []Doubt {
	next := d.Next()
	if len(d.Rows) >= len(d.Plan) || kindOf(row) == kindOf(next) || d.readAs(row, kindOf(row)) || !d.readAs(row, kindOf(next)) {
		return nil
	}
	thrusters, _ := session.Find("thrusters")
	return []Doubt{{Column: thrusters, Text: row["thrusters"] + heldWord(row), Why: "in the dive before, a line with these readings had:", Instead: next}}
}

// otherWay is a line of thrusters that recent dives had running other ways
// alone: "p+s astern" may be meant for both.
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
	thrusters, _ := session.Find("thrusters")
	return []Doubt{{Column: thrusters, Text: row["thrusters"], Why: "ran so in no recent dive:", Instead: other}}
}

// readAs says whether recent lines of a kind have the same readings as a row.
func (d *Dive) readAs(row session.Row, of kind) bool {
	return slices.ContainsFunc(slices.Concat(d.recent, d.Rows), func(r session.Row) bool {
		return kindOf(r) == of && slices.Equal(d.given(r), d.given(row))
	})
}

// remarks are what is odd in a row by itself or beside the line before.
func (d *Dive) remarks(row session.Row) (out []Doubt) {
	lines, _ := session.ParseRows(d.with(row)...)
	for i := range lines {
		lines[i].Number = i + 1
	}
	log := session.Log{Dives: []session.Dive{{Lines: lines}}}
	for _, p := range log.Remarks() {
		c, ok := session.Find(p.ColumnName())
		if ok && p.Line == len(lines) && slices.Contains([]string{"depth", "vehicle_v", "thrusters", "water", "salinity"}, c.Quantity) {
			out = append(out, Doubt{Column: c, Text: row[c.Name], Why: p.Text})
		}
	}
	return out
}

// furthestBefore is how many times as deep, far out or late as ever a line is
// asked about: common practice, no source.
const furthestBefore = 2

// furthest are circumstances far beyond those of recent dives.
func (d *Dive) furthest(row session.Row) (out []Doubt) {
	for _, c := range session.Columns() {
		if !slices.Contains([]string{"depth", "tether", "minute"}, c.Quantity) || row[c.Name] == "" {
			continue
		}
		most := 0.0
		for _, r := range d.recent {
			if x, err := c.Number(r[c.Name]); err == nil {
				most = max(most, x)
			}
		}
		if most == 0 { // a first dive's lines say little of those to come
			continue
		}
		for _, r := range d.Rows {
			if x, err := c.Number(r[c.Name]); err == nil {
				most = max(most, x)
			}
		}
		x, err := c.Number(row[c.Name])
		switch length, course := d.course("run_s"); {
		case err != nil:
		case c.Quantity == "depth" && x > most && length != nil && length.Unit == c.Unit && course == row[c.Name] && row["run_s"] != "":
			out = append(out, Doubt{Column: c, Text: row[c.Name], Why: fmt.Sprintf("no more than %g in recent dives: the run's length?", most), Instead: session.Row{c.Name: ""}})
		case x > furthestBefore*most:
			b := Doubt{Column: c, Text: row[c.Name], Why: fmt.Sprintf("no more than %g in recent dives: decimal point?", most)}
			b.Instead = session.Row{c.Name: units.Digits(x/10, 4)}
			out = append(out, b)
		}
	}
	return out
}
