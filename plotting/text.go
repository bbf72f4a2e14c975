package plotting

import (
	"strings"
	"unicode"
)

// SafeText is text that a person wrote, safe to put into a picture or a title:
// control characters as their pictures (U+2400 and on) or blanks, marks that
// would turn the direction of what follows as �, and no more than most
// characters.
func SafeText(s string, most int) string {
	var b strings.Builder
	n := 0
	for _, c := range strings.ToValidUTF8(s, "�") {
		if n++; n > most {
			return b.String() + "…"
		}
		b.WriteRune(safeRune(c))
	}
	return b.String()
}

func safeRune(c rune) rune {
	switch {
	case c == '\n' || c == '\t' || c == '\r' || c == 0x2028 || c == 0x2029:
		return ' '
	case c < 0x20:
		return 0x2400 + c
	case c == 0x7f:
		return 0x2421
	case unicode.Is(unicode.Bidi_Control, c) || unicode.IsControl(c) || c == 0xfffe || c == 0xffff:
		return '�'
	}
	return c
}
