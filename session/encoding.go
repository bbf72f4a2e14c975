package session

import (
	"bytes"
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
func decode(file []byte) (text string, e encoded, exact bool) {
	e = encoded{"", encoding.Nop}
	for _, m := range byteOrderMarks {
		if bytes.HasPrefix(file, []byte(m.mark)) {
			e = m
			break
		}
	}
	if e.encoding == encoding.Nop {
		return string(file[len(e.mark):]), e, true
	}
	plain, err := e.encoding.NewDecoder().Bytes(file[len(e.mark):])
	if err != nil {
		return "", e, false
	}
	again, err := e.encode(string(plain))
	return string(plain), e, err == nil && bytes.Equal(again, file)
}

// encode is a text as it stands in the file, byte-order mark included.
func (e encoded) encode(text string) ([]byte, error) {
	body, err := e.encoding.NewEncoder().Bytes([]byte(text))
	return append([]byte(e.mark), body...), err
}

// decodeAny is decode for files of other programs, which may be in the
// encoding that Western spreadsheets have had before Unicode; name says which.
func decodeAny(file []byte) (text, name string) {
	text, e, _ := decode(file)
	if e.mark != "" || utf8.ValidString(text) || notText(text) != "" {
		return text, "UTF-8"
	}
	plain, _ := charmap.Windows1252.NewDecoder().Bytes(file) // every byte stands for something
	return string(plain), "Windows-1252"
}

// notText says why the beginning of a text shows that it is none, "" where it
// is one.
func notText(text string) string {
	switch {
	case strings.HasPrefix(text, "PK\x03\x04"), strings.HasPrefix(text, "\xd0\xcf\x11\xe0"):
		return "found a spreadsheet program's own file, want it saved as CSV"
	case strings.ContainsRune(text[:min(len(text), MaxCell)], 0):
		return "found bytes of 0, which no text has, want the file saved as UTF-8"
	}
	return ""
}
