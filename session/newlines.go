package session

import (
	"bytes"
	"io"
)

// newlines reads src with every end of line as one LF, whether it was CR LF,
// LF, or CR alone as some spreadsheets still write.
type newlines struct {
	src io.Reader
	cr  bool // the last byte read was a CR
}

// Read returns the error of src beside what was read before it.
func (l *newlines) Read(p []byte) (int, error) {
	for {
		n, err := l.src.Read(p)
		if n = l.mend(p[:n]); n > 0 || err != nil || len(p) == 0 {
			return n, err
		}
	}
}

// mend works in place and returns how many bytes are left.
func (l *newlines) mend(p []byte) int {
	if !l.cr && bytes.IndexByte(p, '\r') < 0 {
		return len(p)
	}
	kept := 0
	for _, b := range p {
		after := l.cr
		l.cr = b == '\r'
		switch {
		case b == '\n' && after:
			continue
		case b == '\r':
			b = '\n'
		}
		p[kept] = b
		kept++
	}
	return kept
}
