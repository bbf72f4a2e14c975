package session

import (
	"bytes"
	"strings"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/unicode"
)

// marks are the byte-order marks that a file may begin with, and the encoding
// that each tells of.
var marks = []struct {
	bytes    string
	encoding encoding.Encoding
}{
	{"\xef\xbb\xbf", encoding.Nop},
	{"\xff\xfe", unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM)},
	{"\xfe\xff", unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM)},
}

// An encoded is how a file's text stands in bytes.
type encoded struct {
	mark     string
	encoding encoding.Encoding
}

// decode takes a file's bytes apart; ok says whether encode gives the same
// bytes back, which those that are no text of their encoding do not.
func decode(file []byte) (text string, e encoded, ok bool) {
	e.encoding = encoding.Nop
	for _, m := range marks {
		if strings.HasPrefix(string(file[:min(len(file), 3)]), m.bytes) {
			e = encoded{m.bytes, m.encoding}
			break
		}
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
