package session

import (
	"encoding/csv"
	"strings"
)

// A record is a piece of a file's text, line end included: a row of cells, whose quoted cells may
// span lines, a comment, or a blank line.
type record struct {
	text   string
	line   int    // on which it begins, from 1
	damage string // what is wrong with the row, "" if it is sound
	cell   int    // the damaged cell, from 0
}

// A splitter splits a text into records. It assumes that a quote opens or closes a cell, and
// that any other quote damages its own line only.
type splitter struct {
	rest      string
	line      int // on which rest begins
	separator byte
	width     int // cells of the header, 0 until it is known
}

// records yields the records of the rest.
func (s *splitter) records(yield func(record) bool) {
	for more := true; more && s.rest != ""; {
		r, lines := record{text: s.rest[:lineLength(s.rest)], line: s.line}, 1
		if !r.comment() && strings.Contains(r.text, `"`) {
			r, lines = s.quoted(r)
		}
		s.rest, s.line = s.rest[len(r.text):], s.line+lines
		more = yield(r)
	}
}

// quoted returns the record that begins with a line that has quotes, and its number of lines. It
// takes in all lines that its quoted cells span, or only the first if they are damaged.
func (s *splitter) quoted(first record) (r record, lines int) {
	n, lines := len(first.text), 1
	open := oddQuotes(first.text)
	for open && n < len(s.rest) && n <= maxLine {
		end := n + lineLength(s.rest[n:])
		open = oddQuotes(s.rest[n:end]) != open
		n, lines = end, lines+1
	}
	r = record{text: s.rest[:n], line: first.line}
	if r.cell, r.damage = r.findDamage(s.separator); r.damage == "" && lines > 1 {
		r.cell, r.damage = s.rowWithin(r)
	}
	if r.damage != "" {
		first.cell, first.damage = r.cell, r.damage
		return first, 1
	}
	return r, lines
}

func oddQuotes(s string) bool { return strings.Count(s, `"`)%2 == 1 }

// fewestCells is the least width of a log in which a line within a quoted cell is taken for a line
// of the log: common practice, no source.
const fewestCells = 3

// rowWithin finds a quoted cell that spans what looks like other lines of the file: they have as
// many cells as the header, and no blank after a separator as in a sentence. Two lines that each
// lack a quote make such a cell.
func (s *splitter) rowWithin(r record) (cell int, damage string) {
	for i, c := range r.raw(s.separator, nil) {
		for k, line := range strings.FieldsFunc(c, func(r rune) bool { return r == '\n' || r == '\r' }) {
			if k > 0 && s.width >= fewestCells && strings.Count(line, string(s.separator)) == s.width-1 && !strings.Contains(line, string(s.separator)+" ") {
				return i, "found a quoted cell that holds other lines of the file, want its closing quote before them"
			}
		}
	}
	return 0, ""
}

// findDamage finds the first cell with misplaced quotes.
func (r record) findDamage(separator byte) (cell int, damage string) {
	for i, c := range r.raw(separator, nil) {
		if _, ok := unquote(c); ok {
			continue
		}
		if !strings.HasPrefix(c, `"`) {
			return i, `found a " within a cell, want the whole cell in quotes and the " doubled`
		}
		return i, `found a quoted cell that does not end or has text after its end, want quotes around the whole cell and a " in it doubled`
	}
	return 0, ""
}

// lineLength returns the length of a text's first line with its end: CR LF, LF, or CR alone as some
// spreadsheets still write.
func lineLength(text string) int {
	i := strings.IndexAny(text, "\r\n")
	switch {
	case i < 0:
		return len(text)
	case strings.HasPrefix(text[i:], "\r\n"):
		return i + 2
	}
	return i + 1
}

func (r record) comment() bool { return strings.HasPrefix(r.text, "#") }

// blank reports whether all cells are empty. The cells are split if there are quotes, since a
// dive's label may be a comma in quotes.
func (r record) blank(separator byte) bool {
	if strings.Trim(r.text, " \t\r\n\""+string(separator)) != "" {
		return false
	}
	return !strings.Contains(r.text, `"`) || r.damage != "" || empty(r.cells(separator, nil))
}

// end returns the line end, "" for a last line that has none.
func (r record) end() string {
	for _, e := range []string{"\r\n", "\n", "\r"} {
		if strings.HasSuffix(r.text, e) {
			return e
		}
	}
	return ""
}

// raw appends the cells as written, with their quotes.
func (r record) raw(separator byte, into []string) []string {
	body, quoted, start := strings.TrimSuffix(r.text, r.end()), false, 0
	for i := range len(body) {
		switch {
		case body[i] == '"':
			quoted = !quoted
		case body[i] == separator && !quoted:
			into = append(into, body[start:i])
			start = i + 1
		}
	}
	return append(into, body[start:])
}

// cells appends the unquoted cells of a record that is not damaged.
func (r record) cells(separator byte, into []string) []string {
	into = r.raw(separator, into)
	if strings.Contains(r.text, `"`) {
		for i := range into {
			into[i], _ = unquote(into[i])
		}
	}
	return into
}

// unquote removes the quotes of a cell. ok is false if they do not enclose the whole cell, or if
// one within it is not doubled.
func unquote(raw string) (cell string, ok bool) {
	if !strings.Contains(raw, `"`) {
		return raw, true
	}
	if len(raw) < 2 || raw[0] != '"' || raw[len(raw)-1] != '"' {
		return raw, false
	}
	inner := raw[1 : len(raw)-1]
	if strings.Contains(strings.ReplaceAll(inner, `""`, ""), `"`) {
		return raw, false
	}
	return lineEnds.Replace(strings.ReplaceAll(inner, `""`, `"`)), true
}

// lineEnds makes all line ends within a cell LF.
var lineEnds = strings.NewReplacer("\r\n", "\n", "\r", "\n")

// marks reports whether a character may need quotes: any but letters, digits and the signs in
// numbers and days.
func marks(r rune) bool {
	return (r < '0' || r > '9') && (r < 'a' || r > 'z') && (r < 'A' || r > 'Z') && r != '.' && r != '-' && r != '_'
}

// quote returns a cell as written between separators, in quotes if it needs them.
func quote(cell string, separator byte, end string) string {
	if !strings.ContainsFunc(cell, marks) {
		return cell
	}
	var b strings.Builder
	w := csv.NewWriter(&b)
	w.Comma, w.UseCRLF = rune(separator), end == "\r\n"
	_ = w.Write([]string{cell}) // a strings.Builder never fails
	w.Flush()
	return strings.TrimRight(b.String(), "\r\n")
}
