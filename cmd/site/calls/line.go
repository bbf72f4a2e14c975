package calls

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"sagline/predict/newdive"
	"sagline/predict/newvehicle"
	"sagline/session"
	"sagline/session/problem"
	"sagline/session/wording"
)

// A Form is a line while it is typed.
type Form struct {
	Fields  []Field     `json:"fields"`
	Doubts  []Doubt     `json:"doubts"`  // none while there is a problem
	Problem string      `json:"problem"` // of the line; "" if it may be kept
	Row     session.Row `json:"row"`     // as typed, or what the line is filled with at first
}

// A Field asks for one cell.
type Field struct {
	Column  string   `json:"column"`
	Words   string   `json:"words"` // what it is called
	Help    string   `json:"help"`
	Unit    string   `json:"unit"`
	Kind    string   `json:"kind"` // number, signed, choice, services, yes, text
	Choices []string `json:"choices"`
	Yes     string   `json:"yes"` // the cell's text for yes
	Should  string   `json:"should"`
	Problem string   `json:"problem"`
}

// A Doubt is a question to ask before a line is kept.
type Doubt struct {
	Column  string      `json:"column"`
	Text    string      `json:"text"`
	Meant   string      `json:"meant"`
	Instead session.Row `json:"instead"` // cells proposed instead; nil if there are none
}

// line returns the form of a line of the dive: which cells make sense, what each should read, and
// what is in doubt.
func (b *Logbook) line(a *Arguments) (Answer, error) {
	if a.Line < 0 || a.Line > len(b.dive.Rows) {
		return Answer{}, fmt.Errorf("line %d: the dive has %d", a.Line+1, len(b.dive.Rows))
	}
	f := Form{Row: a.Row, Fields: []Field{}, Doubts: []Doubt{}}
	if f.Row == nil {
		f.Row = b.blank(a.Line)
	}
	defer b.upTo(a.Line)()
	row, wrong := b.typed(f.Row)
	line, expected := b.dive.Line(row)
	for _, c := range b.columns(a.Line, a.All, f.Row) {
		if f.Row[c.Name] == "" && !newdive.MakesSense(c, line, row, expected) {
			continue
		}
		field := b.field(c, b.dive.Should(c, row, expected))
		if err := wrong[c.Name]; err != nil {
			field.Problem = said(err)
			f.Problem = cmp.Or(f.Problem, c.Name+": "+field.Problem)
		}
		f.Fields = append(f.Fields, field)
	}
	if p := b.dive.Problem(row); p != nil && f.Problem == "" {
		f.Problem = said(p)
	}
	if f.Problem == "" {
		f.Doubts = append(f.Doubts, b.doubts(row)...)
	}
	return Answer{Value: f}, nil
}

// upTo cuts the dive off before its i-th line. back restores it.
func (b *Logbook) upTo(i int) (back func()) {
	after := slices.Clone(b.dive.Rows[i:])
	if len(after) == 0 {
		return func() {}
	}
	b.dive.Put(i)
	return func() { b.dive.Put(i, after...) }
}

// typed converts a typed row into cells. It leaves out wrong cells and returns what is wrong with
// them, by column.
func (b *Logbook) typed(typed session.Row) (session.Row, map[string]error) {
	row, wrong := session.Row{}, map[string]error{}
	for name, text := range typed {
		c, ok := b.dive.Find(name)
		if !ok || name == "dive" || name == "date" {
			continue
		}
		cell, err := b.dive.Reader.Cell(c, text)
		if err != nil {
			wrong[name] = err
			continue
		}
		row[name] = cell
	}
	b.dive.Measure(row)
	for name, cell := range row {
		if c, _ := b.dive.Find(name); cell != "" {
			if err := b.dive.CellProblem(c, row, cell); err != nil {
				wrong[name] = err
			}
		}
	}
	if newdive.Has(row, "run_back_s") && !newdive.Has(row, "run_s") {
		wrong["run_back_s"] = errors.New("given without run_s, want both")
	}
	for name := range wrong {
		delete(row, name)
	}
	return row, wrong
}

// columns returns the columns to ask for on a line, and those that have a cell in the row.
func (b *Logbook) columns(i int, every bool, row session.Row) []*session.Column {
	out := b.dive.Columns(every)
	if i == 0 && !every {
		out = append(b.dive.First(), out...)
	}
	for _, c := range session.Columns() {
		if row[c.Name] != "" && c.Name != "dive" && c.Name != "date" && !slices.Contains(out, c) {
			out = append(out, c)
		}
	}
	return out
}

// blank returns what a line is filled with at first: its own cells or, for a new line, those of the
// same line of the dive before that usually repeat.
func (b *Logbook) blank(i int) session.Row {
	row := session.Row{}
	if i < len(b.dive.Rows) {
		return maps.Clone(b.dive.Rows[i])
	}
	if i < len(b.dive.Plan) {
		for _, name := range []string{"lights", "run_m", "run_ft", "climb_m", "climb_ft"} {
			row[name] = b.dive.Plan[i][name]
		}
	}
	maps.Copy(row, b.dive.Next())
	maps.DeleteFunc(row, func(_, text string) bool { return text == "" })
	return row
}

// field returns how to ask for a column.
func (b *Logbook) field(c *session.Column, should string) Field {
	f := Field{Column: c.Name, Words: c.Quantity, Help: c.Help, Unit: c.Unit, Kind: "text", Should: should, Choices: []string{}}
	if q, reads := session.QuantityOf(c.Name); reads {
		f.Words = q.Words()
	}
	switch {
	case c.Unit != "" && -c.Lowest > c.Highest/100: // can be further below 0 than by an instrument's zero error
		f.Kind = "signed"
	case c.Unit != "":
		f.Kind = "number"
	case c.Quantity == "thrusters":
		f.Kind, f.Choices = "choice", b.choices()
	case c.Quantity == "serviced":
		f.Kind, f.Choices = "services", session.Serviceable
	case c.Quantity == "held":
		f.Kind, f.Yes = "yes", "yes"
	case c.Quantity == "lights":
		f.Kind, f.Yes = "yes", "on"
	}
	return f
}

// choices returns the thrusters cells to choose from: off, those of recent lines, all surge thrusters
// together, and each thruster alone, ahead or reversed.
func (b *Logbook) choices() []string {
	out := []string{"off"}
	add := func(cell string) {
		if cell != "" && !slices.Contains(out, cell) {
			out = append(out, cell)
		}
	}
	for _, k := range b.dive.Kinds() {
		add(k["thrusters"])
	}
	var ahead, single []string
	if b.vehicle != nil {
		for _, t := range b.vehicle.Thrusters {
			if t.Surge() {
				ahead = append(ahead, t.Name)
			}
			single = append(single, t.Name, t.Reversed())
		}
	}
	add(strings.Join(ahead, " + "))
	for _, name := range single {
		add(name)
	}
	return out
}

// doubts returns what to ask about in a row.
func (b *Logbook) doubts(row session.Row) (out []Doubt) {
	doubts := b.dive.Doubts(row)
	for _, d := range doubts {
		out = append(out, Doubt{d.Column.Name, problem.Visible(d.String()), problem.Visible(d.Meant()), d.Instead})
	}
	if parts := wording.Services(row["note"]); parts != "" && row["serviced"] == "" {
		out = append(out, Doubt{"note", "the note says " + parts + ": worked on before this line?", "serviced " + parts, session.Row{"serviced": parts}})
	}
	return out
}

// early returns the form of a line typed before a logbook is shown: the first line of a log with the
// columns of the usual instruments.
func (b *Logbook) early(*Arguments) (Answer, error) {
	*b = Logbook{log: &session.Log{Columns: newvehicle.Columns()}}
	b.dive = newdive.New(b.log, nil, nil, b.rows)
	b.dive.Begin("1")
	return b.line(&Arguments{})
}
