package session

import (
	"strings"
	"unicode/utf8"
)

// odd are characters that spreadsheets and typesetters put for plain ones.
var odd = strings.NewReplacer("\u00a0", " ", "\u2007", " ", "\u2009", " ", "\u202f", " ", "\u2212", "-")

// clean is a cell without blanks around it, with plain blanks and minus signs.
func clean(s string) string {
	if !ascii(s) {
		s = odd.Replace(s)
	}
	return strings.TrimSpace(s)
}

func ascii(s string) bool {
	for i := range len(s) {
		if s[i] >= utf8.RuneSelf {
			return false
		}
	}
	return true
}

// formula starts what a spreadsheet runs as a formula, and # what would be a
// comment line.
const formula = "=+-@\t\r\n#"

// harmless puts an apostrophe before text that a spreadsheet would run or
// that would be read as a comment, and before text that bare would change.
func harmless(s string) string {
	if risky(strings.TrimLeft(s, "'")) {
		return "'" + s
	}
	return s
}

// bare takes back the apostrophe of harmless.
func bare(s string) string {
	if rest, ok := strings.CutPrefix(s, "'"); ok && risky(strings.TrimLeft(rest, "'")) {
		return rest
	}
	return s
}

func risky(s string) bool {
	s = strings.TrimLeft(s, " ")
	return s != "" && strings.IndexByte(formula, s[0]) >= 0
}
