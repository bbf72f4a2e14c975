package session

import (
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

// byteOrderMarks are what a file may begin with, and the encoding that each
// stands for.
var byteOrderMarks = []encoded{
	{"\xef\xbb\xbf", encoding.Nop},
	{"\xff\xfe", unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM)},
	{"\xfe\xff", unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM)},
}

// An encoded is how a file's text stands in bytes.
type encoded struct {
	mark     string
	encoding encoding.Encoding
}

// decode takes a file's bytes apart; exact says whether encode gives the same
// bytes back, which those that are no text of their encoding do not.
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
	text, err := e.encoding.NewDecoder().String(file[len(e.mark):])
	if err != nil {
		return "", e, false
	}
	again, err := e.encode(text)
	return text, e, err == nil && again == file
}

// encode is a text as it stands in the file, byte-order mark included.
func (e encoded) encode(text string) (string, error) {
	if e.encoding == encoding.Nop {
		return e.mark + text, nil
	}
	body, err := e.encoding.NewEncoder().String(text)
	return e.mark + body, err
}

// decodeAny is decode for files of other programs, which may be in the
// encoding that Western spreadsheets have had before Unicode; name says which.
func decodeAny(file string) (text, name string) {
	text, e, _ := decode(file)
	if e.mark != "" || utf8.ValidString(text) || notText(text) != "" {
		return text, "UTF-8"
	}
	text, _ = charmap.Windows1252.NewDecoder().String(file) // every byte stands for something
	return text, "Windows-1252"
}

// notText says why the beginning of a text shows that it is none, "" where it
// is one.
func notText(text string) string {
	switch {
	case strings.HasPrefix(text, "PK\x03\x04"), strings.HasPrefix(text, "\xd0\xcf\x11\xe0"):
		return "found a spreadsheet program's own file, want it saved as CSV: there, File menu, Save as, Export or Download, then CSV"
	case strings.ContainsRune(text[:min(len(text), maxCell)], 0):
		return "found bytes of 0, which no text has, want the file saved as UTF-8"
	}
	return ""
}
