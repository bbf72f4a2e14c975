package newdive

import (
	"cmp"
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
	Should  string      // "" if nothing is expected
	Why     string      // what it may be: "decimal point?"
	Instead session.Row // the cells that would be as expected; nil if unknown

	explains []Doubt // the doubts that Instead would settle
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

// Meant words Instead, "" if unknown.
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

// How many standard deviations off a reading is asked about; TestSlips is the experiment that set
// them. A sound vehicle's reading is asked about once in some thousand.
const (
	farOff   = 3.5 // in any case
	someOff  = 2.5 // if a slip makes it e^(likelier/2) times as likely
	likelier = 5.0
)

// Doubts returns the cells of a row to ask about: readings that are not as expected or that cannot
// be read on such a line, and what does not fit the lines before.
func (d *Dive) Doubts(row session.Row) (doubts []Doubt) {
	line, expected := d.Line(row)
	add := func(list []Doubt) {
		for _, b := range list {
			if !slices.ContainsFunc(doubts, func(o Doubt) bool { return o.Column == b.Column || o.Instead[b.Column.Name] != "" }) {
				doubts = append(doubts, b)
			}
		}
	}
	add(d.furthest(row)) // first: expected readings depend on depth
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
	add(d.sinking(row))
	return doubts
}

// stoodTwice is how often a column's reading must stay as entered before it is asked about only if
// a slip explains it: the vehicle has changed then. Common practice, no source.
const stoodTwice = 2

// Stands records that a reading stays as it was entered.
func (d *Dive) Stands(b *Doubt) {
	d.stood[b.Column.Name]++
	for i := range b.explains {
		d.Stands(&b.explains[i])
	}
}

// readings returns the doubts about each reading by itself.
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

// jamTimes is the least ratio of a line's current to its expected value with one thruster jammed,
// which draws two to five times its own current: common practice, no source.
const jamTimes = 1.4

// jammed words the question whether a thruster of the line is jammed, since its winding may burn
// within seconds; "" if none runs.
func jammed(line *session.Line) string {
	switch len(line.Drives) {
	case 0:
		return ""
	case 1:
		return "is " + line.Drives[0].Name + " jammed? switch it off at once where it does not push"
	}
	return "is a thruster jammed? switch all off at once where one does not push"
}

// given returns the columns in which a row has a reading.
func (d *Dive) given(row session.Row) (out []*session.Column) {
	for _, c := range session.Columns() {
		if _, reads := c.Reads(); reads && row[c.Name] != "" {
			out = append(out, c)
		}
	}
	return out
}

// judge reports whether a reading is in doubt, and sets what it may be meant to be.
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
