package importer

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
	"strings"
)

// Write writes a mapping as TOML with a word on each key.
func (m *Mapping) Write(w io.Writer) error {
	var b strings.Builder
	p := func(format string, args ...any) { fmt.Fprintf(&b, format, args...) }
	p("# How a file becomes lines of dives.csv. sagline import made it; edit what differs.\n")
	p("# Wherever \"?\" stands, the file did not tell: say it before anything is written.\n\n")
	p("rows = %-16s # %q, or %q of a logger, to be cut into steady stretches\n", toText(m.Rows), Observations, Samples)
	p("dives = %-15s # a dive for each label in the %q, each %q, or one for the %q\n", toText(m.Dives), ByColumn, ByDate, ByFile)
	p("date = %-16s # %s\n", toText(m.Date), quoted(dateForms))
	p("decimal = %-13s # the decimal mark\n", toText(m.Decimal))
	if m.Prefix != "" {
		p("prefix = %s # before the dives' labels\n", toText(m.Prefix))
	}
	p("yes = %s\nno = %s\nempty = %s # not measured\n", toTexts(m.Yes), toTexts(m.No), toTexts(m.Empty))
	if m.Rows == Samples {
		s := m.settings()
		p("\n[cut]\nwindow_s = %g # compared before and after\nleast_s = %g # of a stretch that is kept\nsettle_s = %g # left out after a change, at the least\n",
			s.WindowS, s.LeastS, s.SettleS)
	}
	for _, c := range m.Columns {
		c.write(p)
	}
	table(p, "thrusters", "what the file says = as vehicle.toml names them, joined by +", m.Thrusters)
	table(p, "constant", "column = cell of every line", m.Constant)
	for _, l := range m.Levels {
		p("\n[[level]]\ncolumn = %s\nfrom = %s\nto = %s\nthrusters = %s # what ran while the mean lay there; \"\": not known\n",
			toText(l.Column), float(l.From), float(l.To), toText(l.Thrusters))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// WriteColumns writes the columns of some headings, to stand at the end of a
// mapping's file.
func (m *Mapping) WriteColumns(w io.Writer, headings []string) error {
	var b strings.Builder
	for _, h := range headings {
		if c := m.find(h); c != nil {
			c.write(func(format string, args ...any) { fmt.Fprintf(&b, format, args...) })
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (c *Match) write(p func(string, ...any)) {
	p("\n[[column]]\nheading = %s\nto = %s", toText(c.Heading), toText(c.To))
	if c.Why != "" && c.Sure != Sure {
		p(" # %s", comment(c.Why))
	}
	p("\n")
	if times(c) != 1 {
		p("times = %s\n", float(c.Times))
	}
	if c.Plus != 0 {
		p("plus = %s\n", float(c.Plus))
	}
	if c.Form != "" {
		p("form = %s\n", toText(c.Form))
	}
	if c.Drive != "" {
		p("drive = %s # the thruster that the column is of\n", toText(c.Drive))
	}
}

func table(p func(string, ...any), name, what string, of map[string]string) {
	if len(of) == 0 {
		return
	}
	p("\n[%s] # %s\n", name, what)
	for _, k := range slices.Sorted(maps.Keys(of)) {
		p("%s = %s\n", toText(k), toText(of[k]))
	}
}

// toText is a text in quotes as TOML has it; JSON's escapes are TOML's too.
func toText(s string) string {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	_ = e.Encode(s) // a string always encodes
	return strings.ReplaceAll(strings.TrimSuffix(b.String(), "\n"), "\x7f", `\u007f`)
}

func toTexts(all []string) string {
	out := make([]string, len(all))
	for i, s := range all {
		out[i] = toText(s)
	}
	return "[" + strings.Join(out, ", ") + "]"
}

// float is a number that TOML reads as one with a point.
func float(x float64) string {
	s := strconv.FormatFloat(x, 'f', -1, 64)
	if !strings.Contains(s, ".") {
		s += ".0"
	}
	return s
}

// comment is text that can stand behind a # on one line.
func comment(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, "?"))
}
