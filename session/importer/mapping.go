package importer

import (
	"slices"
	"strings"

	"sagline/session"
	"sagline/session/steady"
)

// A Mapping says how a foreign file becomes lines of dives.csv. It is
// proposed, shown, kept as TOML and edited by hand.
type Mapping struct {
	Rows    string // Observations or Samples
	Dives   string // ByColumn, ByDate or ByFile
	Prefix  string // of the labels that a column gives
	Date    string // how dates are written; Asked where the cells do not tell
	Decimal string // the decimal mark

	Yes, No, Empty []string // words for on, for off, for not measured

	Columns   []Match
	Thrusters map[string]string // what the file says → what is written
	Constant  map[string]string // column → cell of every line
	Levels    []Level

	WindowS, LeastS, SettleS float64 // of a logger's cut; see steady.Settings
}

// A Level says which thrusters ran while a column's mean was From up to To.
type Level struct {
	Column    string
	From, To  float64
	Thrusters string
}

// What the rows of a file are, and what makes a dive of them.
const (
	Observations = "observations"
	Samples      = "samples"
	ByColumn     = "column"
	ByDate       = "date"
	ByFile       = "file"
)

// Words that a proposal begins with.
var (
	yesWords   = strings.Fields("yes y on true 1 x ✓ ja an oui si sí")
	noWords    = strings.Fields("no n off false 0 nein aus non nee uit")
	emptyWords = strings.Fields("- – — ? n/a na nan null none nil k.a. #N/A")
)

// Known is what a file is matched against: the log it goes into and the
// vehicle that it is of.
type Known struct {
	Columns   []string           // of the log's header
	Thrusters []string           // names
	SD        map[string]float64 // of the instruments, by column in its base unit; a logger's smaller changes are none
	Log       *session.Log       // nil: none yet
}

// has are the log's columns by quantity.
func (k Known) has() map[string]*session.Column {
	out := map[string]*session.Column{}
	for _, name := range k.Columns {
		if c, ok := session.Find(name); ok {
			out[c.Quantity] = c
		}
	}
	return out
}

// Propose makes a mapping of what a source shows. What is not certain is left
// as Asked.
func Propose(s *Source, k Known) *Mapping {
	m := &Mapping{Rows: Observations, Yes: yesWords, No: noWords, Empty: emptyWords, Thrusters: map[string]string{}, Constant: map[string]string{}}
	m.match(s, k)
	if s.sampled(m) {
		m.Rows = Samples
	} else {
		s.all()
	}
	m.Decimal = s.decimal(m)
	m.Date = s.dateForm(m)
	m.Dives = m.grouping()
	if m.Rows == Observations {
		m.nameThrusters(s, k)
	}
	return m
}

// match proposes a column for each heading that the mapping does not have.
func (m *Mapping) match(s *Source, k Known) (fresh []string) {
	var all []Match
	for i, h := range s.headings {
		if m.find(h.text) == nil {
			cells := s.sample(i, m.Empty)
			all = append(all, m.perThruster(match(h, k.has(), cells), h, cells, k.Thrusters))
			fresh = append(fresh, h.text)
		}
	}
	m.neverRan(all, s, k.Thrusters)
	oneEach(all)
	m.Columns = append(m.Columns, all...)
	return fresh
}

func (m *Mapping) find(heading string) *Match {
	for i := range m.Columns {
		if m.Columns[i].Heading == heading {
			return &m.Columns[i]
		}
	}
	return nil
}

// to is the heading that becomes a column, nil without one.
func (m *Mapping) to(column string) *Match {
	for i := range m.Columns {
		if c := &m.Columns[i]; c.To == column || c.To == stamp && (column == "date" || column == "time") {
			return c
		}
	}
	return nil
}

// Dated says whether a heading becomes dates.
func (m *Mapping) Dated() bool { return m.to("date") != nil }

func (m *Mapping) grouping() string {
	switch {
	case m.to("dive") != nil:
		return ByColumn
	case m.to("date") != nil && m.Rows == Observations:
		return ByDate
	}
	return ByFile
}

// nameThrusters proposes what the file's words for thrusters mean.
func (m *Mapping) nameThrusters(s *Source, k Known) {
	c := m.to("thrusters")
	if c == nil || c.Drive != "" {
		return
	}
	for _, cell := range s.column(c.Heading) {
		if m.saysNothing("thrusters", cell) {
			continue
		}
		for _, word := range m.unknownDrives(cell, k.Thrusters) {
			if _, ok := m.Thrusters[word]; !ok && len(m.Thrusters) < mostWords {
				m.Thrusters[word] = guessDrive(word, k.Thrusters)
			}
		}
	}
}

// mostWords is how many words for thrusters are asked about.
const mostWords = 40

func (m *Mapping) isEmpty(cell string) bool {
	return cell == "" || slices.ContainsFunc(m.Empty, func(w string) bool { return strings.EqualFold(w, cell) })
}

// saysNothing is isEmpty for a cell that becomes a column's. That no thruster
// ran is something.
func (m *Mapping) saysNothing(to, cell string) bool {
	return cell == "" || m.isEmpty(cell) && !(to == "thrusters" && slices.Contains(offWords, folded(cell)))
}

// Adapt fits a mapping from a file to a source: headings that it does not know
// are proposed anew. fresh are those; known is how many of its own the source
// has.
func (m *Mapping) Adapt(s *Source, k Known) (fresh []string, known int) {
	for _, h := range s.headings {
		if m.find(h.text) != nil {
			known++
		}
	}
	fresh = m.match(s, k)
	if m.Rows == Observations {
		s.all()
		m.nameThrusters(s, k)
	}
	return fresh, known
}

// settings are those of the cut, the defaults where nothing is said.
func (m *Mapping) settings() steady.Settings {
	s := steady.Defaults
	for _, x := range []struct {
		to   *float64
		said float64
	}{{&s.WindowS, m.WindowS}, {&s.LeastS, m.LeastS}, {&s.SettleS, m.SettleS}} {
		if x.said > 0 {
			*x.to = x.said
		}
	}
	return s
}
