package session

import (
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

// byteOrderMarks are the byte-order marks that a file may begin with, and their encodings.
var byteOrderMarks = []encoded{
	{"\xef\xbb\xbf", encoding.Nop},
	{"\xff\xfe", unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM)},
	{"\xfe\xff", unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM)},
}

// An encoded is a file's byte-order mark, "" for none, and its encoding.
type encoded struct {
	mark     string
	encoding encoding.Encoding
}

// decode returns the text of a file's bytes. exact reports whether encode restores the same bytes;
// it does not if some bytes are invalid in the encoding.
func decode(file string) (text string, e encoded, exact bool) {
	e = encoded{"", encoding.Nop}
	for _, m := range byteOrderMarks {
		if strings.HasPrefix(file, m.mark) {
			e = m
			break
		}
	}
	if e.encoding == encoding.Nop {
		return file[len(e.mark):], e, true
	}
	text, _ = e.encoding.NewDecoder().String(file[len(e.mark):]) // invalid bytes become U+FFFD
	again, err := e.encode(text)
	return text, e, err == nil && again == file
}

// encode returns a text as the bytes of the file, byte-order mark included.
func (e encoded) encode(text string) (string, error) {
	if e.encoding == encoding.Nop {
		return e.mark + text, nil
	}
	body, err := e.encoding.NewEncoder().String(text)
	return e.mark + body, err
}

// decodeAny is decode for files of other programs, which may be in Windows-1252, the encoding of
// Western spreadsheets before Unicode. name is the encoding that it found.
func decodeAny(file string) (text, name string) {
	text, e, _ := decode(file)
	if e.encoding != encoding.Nop {
		return text, "UTF-16"
	}
	if _, why := notText(text); e.mark != "" || utf8.ValidString(text) || why != "" {
		return text, "UTF-8"
	}
	text, _ = charmap.Windows1252.NewDecoder().String(file) // every byte is valid
	return text, "Windows-1252"
}

// notText returns why a file, by its beginning, is not text, and on which line (0 for no line).
// why is "" if it is text.
func notText(text string) (line int, why string) {
	switch {
	case strings.HasPrefix(text, "PK\x03\x04"), strings.HasPrefix(text, "\xd0\xcf\x11\xe0"):
		return 0, "found a spreadsheet program's own file, want it saved as CSV: there, File menu, Save as, Export or Download, then CSV"
	case strings.ContainsRune(text[:min(len(text), maxCell)], 0):
		before := text[:strings.IndexByte(text, 0)]
		return 1 + max(strings.Count(before, "\n"), strings.Count(before, "\r")), "found bytes of 0, which no text has, want the file saved as UTF-8"
	}
	return 0, ""
}

// separators are the possible cell separators. The comma comes last, since it may be a decimal
// comma.
var separators = []byte{'\t', ';', ','}

// sampledRows is the number of rows from which the separator is judged: common practice, no source.
const sampledRows = 50

// separatorOf returns the separator of a text's cells: the one that finds most columns of dives.csv
// in the first row. Ties go to the one that cuts most rows into the same number of cells, then to
// the one that makes most cells. Without any it is a comma.
func separatorOf(text string) byte {
	best, most := byte(','), [3]int{}
	for _, sep := range separators {
		if n := fit(text, sep); n[0] > most[0] || n[0] == most[0] && (n[1] > most[1] || n[1] == most[1] && n[2] > most[2]) {
			best, most = sep, n
		}
	}
	return best
}

// fit returns how many columns of dives.csv a separator finds in the first row, how many rows have
// the commonest number of cells, and that number. The last two are 0 if that number is 1.
func fit(text string, separator byte) [3]int {
	s := splitter{rest: text, line: 1, separator: separator}
	known, rows, count := 0, 0, map[int]int{}
	var cells []string
	for r := range s.records {
		if len(r.text) > maxLine || r.comment() || r.blank(separator) {
			continue
		}
		if cells = r.cells(separator, cells[:0]); rows == 0 && len(cells) > 1 {
			for _, c := range cells {
				if _, ok := Find(clean(c)); ok {
					known++
				}
			}
		}
		count[len(cells)]++
		if rows++; rows == sampledRows {
			break
		}
	}
	width, most := 0, 0
	for w, n := range count {
		if n > most || n == most && w > width {
			width, most = w, n
		}
	}
	if width < 2 {
		return [3]int{known, 0, 0}
	}
	return [3]int{known, most, width}
}
