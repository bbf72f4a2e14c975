package session

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"strings"
)

// A chunk is a piece of a file's text up to and with its line end: a record,
// which may span lines, a comment, or a blank line.
type chunk struct {
	text string
	line int // of the file, from 1
}

// chunks takes a text apart as Read does.
func chunks(text string, separator byte) []chunk {
	var out []chunk
	g := guard{separator: separator}
	start, first, line := 0, 1, 1
	for i := range len(text) {
		b := text[i]
		if b == '\r' {
			if strings.HasPrefix(text[i+1:], "\n") {
				continue
			}
			b = '\n'
		}
		g.follow(b) // within the limits, or Read would have refused the file
		if b != '\n' {
			continue
		}
		line++
		if g.state == lineStart {
			out = append(out, chunk{text[start : i+1], first})
			start, first = i+1, line
		}
	}
	if start < len(text) {
		out = append(out, chunk{text[start:], first})
	}
	return out
}

// separatorOf is what stands between the cells of a whole file's text.
func separatorOf(text string) byte {
	r := bufio.NewReaderSize(&newlines{src: strings.NewReader(text)}, MaxCell)
	skipToHeader(r)
	first, _ := r.Peek(r.Size())
	return separator(first)
}

func (c chunk) comment() bool { return strings.HasPrefix(c.text, "#") }

// end is the chunk's line end, "" for the last of a file that has none.
func (c chunk) end() string {
	for _, e := range []string{"\r\n", "\n", "\r"} {
		if strings.HasSuffix(c.text, e) {
			return e
		}
	}
	return ""
}

// raw are a record's cells as they stand, quotes and all.
func (c chunk) raw(separator byte) []string {
	body := strings.TrimSuffix(c.text, c.end())
	g := guard{separator: separator}
	var out []string
	start := 0
	for i := range len(body) {
		if body[i] == '\r' {
			continue // as in chunks; a CR alone within quotes changes no state
		}
		if g.follow(body[i]); g.state == cellStart {
			out = append(out, body[start:i])
			start = i + 1
		}
	}
	return append(out, body[start:])
}

// cells are a record's cells as read; nil where it cannot be split.
func (c chunk) cells(separator byte) []string {
	r := csv.NewReader(&newlines{src: strings.NewReader(c.text)})
	r.Comma, r.FieldsPerRecord = rune(separator), -1
	row, err := r.Read()
	if err != nil {
		return nil
	}
	return row
}

// blank says whether there is nothing in any cell.
func (c chunk) blank(separator byte) bool {
	return strings.Trim(c.text, " \t\r\n"+string(separator)) == ""
}

// spell is a cell as it must stand between separators.
func spell(cell string, separator byte, end string) string {
	if cell == "" {
		return ""
	}
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.Comma, w.UseCRLF = rune(separator), end == "\r\n"
	_ = w.Write([]string{cell}) // a bytes.Buffer takes all
	w.Flush()
	return strings.TrimRight(b.String(), "\r\n")
}
