package session

// separators are what may stand between cells. The comma comes last, since it
// may be a decimal comma.
var separators = []byte{'\t', ';', ','}

// sampledRows is how many rows the separator is judged by: common practice, no
// source.
const sampledRows = 50

// separatorOf is what stands between a text's cells: what makes most columns
// of dives.csv of the first row, else what cuts most rows into the same number
// of cells, else most cells; a comma where nothing does.
func separatorOf(text string) byte {
	best, most := byte(','), [3]int{}
	for _, sep := range separators {
		if n := fit(text, sep); n[0] > most[0] || n[0] == most[0] && (n[1] > most[1] || n[1] == most[1] && n[2] > most[2]) {
			best, most = sep, n
		}
	}
	return best
}

// fit is how many columns of dives.csv a separator makes of the first row, how
// many rows have the commonest number of cells, and that number; nothing where
// it is one.
func fit(text string, separator byte) [3]int {
	s := splitter{rest: text, line: 1, separator: separator}
	known, count := 0, map[int]int{}
	var cells []string
	for rows := 0; rows < sampledRows; {
		r, ok := s.next()
		if !ok {
			break
		}
		if len(r.text) > maxLine || r.comment() || r.blank(separator) {
			continue
		}
		if cells = r.cells(separator, cells[:0]); rows == 0 && len(cells) > 1 {
			known = knownIn(cells)
		}
		count[len(cells)]++
		rows++
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

// knownIn is how many of a header's cells are columns of dives.csv.
func knownIn(cells []string) (n int) {
	for _, c := range cells {
		if _, ok := Find(clean(c)); ok {
			n++
		}
	}
	return n
}
