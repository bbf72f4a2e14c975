package importer

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"sagline/session"
	"sagline/session/spreadsheet"
	"sagline/session/wording"
)

// A Mapping says how a table becomes lines of dives.csv. It is proposed, shown, stored as TOML and
// edited by hand.
type Mapping struct {
	Dives     string            `toml:"dives" comment:"a dive for each label in the \"column\", each \"date\", or one for the \"file\""`
	Date      string            `toml:"date" comment:"\"year-month-day\", \"day.month.year\" or \"month/day/year\""`
	Year      string            `toml:"year,omitempty" comment:"of the first date without one; \"above\": that of the date above it"`
	Decimal   string            `toml:"decimal" comment:"the decimal mark"`
	Work      string            `toml:"work" comment:"\"yes\" takes what [notes] says as done, \"no\" keeps it as notes alone"`
	Alone     string            `toml:"alone" comment:"a number alone where cells have several is the \"first\", or kept in the \"note\""`
	Yes       []string          `toml:"yes"`
	No        []string          `toml:"no"`
	Empty     []string          `toml:"empty" comment:"not measured"`
	Columns   []Match           `toml:"column"`
	Thrusters map[string]string `toml:"thrusters,omitempty" comment:"what the file says = as vehicle.toml names them, joined by +"`
	Notes     map[string]string `toml:"notes,omitempty" comment:"what a note says was done = \"serviced joint+seal\", \"ballast_g 200\", or \"\" for nothing"`

	answered []Question
	found    string // year that the file itself gives, "" for none
	lacking  string // the file's first date without a year, "" for none
}

// A Match says which column of dives.csv a heading becomes. Its numbers are multiplied by Times,
// then Plus is added. To is "" for a heading left out, "?" if a person must decide, "date time" for
// a column with both, and "battery_v / current_a in mA" if a cell has several numbers. A "note"
// among them keeps the whole cell in the note.
type Match struct {
	Heading string  `toml:"heading"`
	To      string  `toml:"to"`
	Why     string  `toml:"why,omitempty"`
	Times   float64 `toml:"times,omitempty"` // set by a person; 0 means 1
	Plus    float64 `toml:"plus,omitempty"`
	Drive   string  `toml:"drive,omitempty"` // the thruster of a column for a single thruster, else ""
	Sure    string  `toml:"-"`

	choices []string // possible values of To, the likeliest first
	given   bool     // whether a person has chosen To
}

// How rows are divided into dives.
const (
	ByColumn = "column"
	ByDate   = "date"
	ByFile   = "file"
)

// Known is what is known about the target logbook. Judge reports, by column, which of a line's
// readings are far from what the vehicle can have. Columns that it cannot judge are absent.
type Known struct {
	Thrusters []string // names
	Log       *session.Log
	Judge     func(session.Row) (far map[string]bool)
}

// newMapping returns a mapping with defaults, before any file is read.
func newMapping() *Mapping {
	return &Mapping{Dives: ByFile, Date: wording.YearFirst, Decimal: ".", Work: Asked, Alone: "note",
		Yes: wording.List("yes"), No: wording.List("no"), Empty: wording.List("empty"), Thrusters: map[string]string{}, Notes: map[string]string{}}
}

// Propose makes a mapping from a source. What is not certain is set to Asked.
func Propose(s *spreadsheet.Sheet, k Known) *Mapping {
	m := newMapping()
	m.match(s, k)
	var numbers []string // cells that are numbers, or may be
	for _, c := range m.Columns {
		if t := c.targets()[0]; t.name == Asked || t.measured() {
			numbers = append(numbers, s.Column(c.Heading, nil)...)
		}
	}
	m.Decimal = cmp.Or(wording.DecimalMark(numbers, s.Separator == ','), Asked)
	if m.Dated() {
		m.Date, m.Dives = cmp.Or(wording.DateForm(m.days(s)), Asked), ByDate
	}
	if d := m.to("dive"); d != nil && (d.To != section || slices.ContainsFunc(s.Column(d.Heading, nil), func(text string) bool { dive, _ := spreadsheet.NamedIn(text); return dive != "" })) {
		m.Dives = ByColumn
	}
	m.complete(s, k)
	return m
}

// Adapt completes a stored mapping for a source: it proposes matches for headings that the mapping
// lacks or leaves open.
func (m *Mapping) Adapt(s *spreadsheet.Sheet, k Known) {
	m.match(s, k)
	m.complete(s, k)
}

// match proposes a column for each heading that the mapping lacks or leaves open.
func (m *Mapping) match(s *spreadsheet.Sheet, k Known) {
	var all []Match
	for _, h := range s.Headings {
		old := m.find(h.Text)
		if old != nil && old.To != Asked {
			continue
		}
		cells := s.Column(h.Text, m.Empty)
		c := m.perThruster(several(match(h, cells), h, cells), h, cells, k.Thrusters)
		if old != nil {
			c.Times, c.Plus = old.Times, old.Plus
		}
		all = append(all, c)
	}
	if slices.ContainsFunc(all, func(c Match) bool { return c.Drive != "" }) { // a thruster that never ran may have an empty column
		for i, c := range all {
			if c.To == "note" && len(s.Column(c.Heading, m.Empty)) == 0 {
				all[i] = m.perThruster(c, spreadsheet.ReadHeading(c.Heading), []string{"0"}, k.Thrusters)
			}
		}
	}
	byCells(all, s, m, k.Thrusters)
	oneEach(all)
	m.Columns = append(slices.DeleteFunc(m.Columns, func(c Match) bool { return c.To == Asked && s.Has(c.Heading) }), all...)
}

// complete proposes years, thrusters and work, and weighs the matches by the resulting lines.
func (m *Mapping) complete(s *spreadsheet.Sheet, k Known) {
	m.findYear(s)
	m.nameThrusters(s, k)
	m.weigh(s, k)
	m.findWork(s)
	for _, c := range m.Columns {
		open := slices.DeleteFunc(c.targets(), func(t target) bool { return t.fixed != "" || t.rest || t.name == "note" })
		if len(open) > 1 && slices.ContainsFunc(s.Column(c.Heading, m.Empty), wording.IsNumber) && !c.given {
			m.Alone = Asked
		}
	}
}

// first returns the first match for which is holds, nil if there is none.
func (m *Mapping) first(is func(*Match) bool) *Match {
	for i := range m.Columns {
		if is(&m.Columns[i]) {
			return &m.Columns[i]
		}
	}
	return nil
}

func (m *Mapping) find(heading string) *Match {
	return m.first(func(c *Match) bool { return c.Heading == heading })
}

// to returns the match that gives a column, nil if there is none.
func (m *Mapping) to(column string) *Match {
	return m.first(func(c *Match) bool { return gives(c.targets(), column) })
}

// Dated reports whether a heading gives dates.
func (m *Mapping) Dated() bool { return m.to("date") != nil }

// days returns the file's dates as written, in its order.
func (m *Mapping) days(s *spreadsheet.Sheet) (days []string) {
	date := m.to("date")
	if date == nil {
		return nil
	}
	for _, text := range s.Column(date.Heading, m.Empty) {
		if date.To == section {
			_, text = spreadsheet.NamedIn(text)
		}
		if text, _ = wording.SplitStamp(text); text != "" {
			days = append(days, text)
		}
	}
	return days
}

// findYear finds the year of dates without one in the file. If there is none, Year is Asked.
func (m *Mapping) findYear(s *spreadsheet.Sheet) {
	m.found, m.lacking = wording.FindYear(m.days(s), m.Date, s.File)
	if m.Year == Asked {
		m.Year = ""
	}
	if m.Year == "" && m.lacking != "" && m.found == "" {
		m.Year = Asked
	}
}

// mostListed is how many notes of work, and how many words for thrusters, a mapping lists.
const mostListed = 200

// findWork proposes the work that notes mention.
func (m *Mapping) findWork(s *spreadsheet.Sheet) {
	for _, c := range m.Columns {
		for _, text := range s.Column(c.Heading, nil) {
			_, had := m.Notes[text]
			if work := wording.Work(text); !had && work != "" && len(m.Notes) < mostListed && (c.To == "note" || gives(c.targets(), "ballast_g") && !wording.IsNumber(text)) {
				m.Notes[text] = work
			}
		}
	}
	if m.Work == Asked && len(m.works()) == 0 {
		m.Work = "yes"
	}
}

// works lists the notes that mention work, each with the work.
func (m *Mapping) works() (list []string) {
	for _, text := range slices.Sorted(maps.Keys(m.Notes)) {
		if work := m.Notes[text]; work != "" && work != wording.Unweighed {
			list = append(list, fmt.Sprintf("%q is %s", text, work))
		}
	}
	return list
}
