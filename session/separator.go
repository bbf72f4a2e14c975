package session

import (
	"bufio"
	"bytes"
	"encoding/csv"
)

// separators are what may stand between cells, the likeliest first.
var separators = []byte{',', ';', '\t'}

// skipToHeader leaves text at its first line that is neither blank nor a
// comment and returns how many lines came before. An error of reading is left
// for the next who reads.
func skipToHeader(text *bufio.Reader) (lines int) {
	for {
		next, err := text.Peek(1)
		if err != nil {
			return lines
		}
		if next[0] != '#' {
			next, _ = text.Peek(text.Size())
			line, _, _ := bytes.Cut(next, []byte("\n"))
			if len(bytes.TrimSpace(line)) > 0 {
				return lines
			}
		}
		skipLine(text)
		lines++
	}
}

func skipLine(text *bufio.Reader) {
	for {
		if _, err := text.ReadSlice('\n'); err != bufio.ErrBufferFull {
			return
		}
	}
}

// separator is the one that makes most known columns of a header line, else
// most cells.
func separator(header []byte) byte {
	best, mostKnown, mostCells := separators[0], 0, 0
	for _, s := range separators {
		r := csv.NewReader(bytes.NewReader(header))
		r.Comma, r.LazyQuotes = rune(s), true
		cells, _ := r.Read()
		known := 0
		for _, c := range cells {
			if _, ok := Find(clean(c)); ok {
				known++
			}
		}
		if known > mostKnown || known == mostKnown && len(cells) > mostCells {
			best, mostKnown, mostCells = s, known, len(cells)
		}
	}
	return best
}
