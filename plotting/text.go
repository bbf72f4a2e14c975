package plotting

import (
	"math"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"golang.org/x/image/font/opentype"
	"gonum.org/v1/plot/font"
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

// sans is the pictures' font. It is read by itself, so that a browser, which
// draws pictures as SVG, needs none of what draws them into files.
var sans = sync.OnceValue(func() *opentype.Font {
	f, err := opentype.Parse(liberationsansregular.TTF)
	if err != nil {
		panic(err) // it is built in
	}
	return f
})

// textWidth is how wide words are in the pictures' font, in the unit of size.
func textWidth(text string, size float64) float64 {
	face := font.Face{Font: font.Font{Size: font.Length(size)}, Face: sans()}
	return float64(face.Width(text))
}

// DiveLabel is a dive's label, its middle cut out where it is more than most
// characters: what tells dives apart stands at either end.
func DiveLabel(s string, most int) string {
	text := []rune(SafeText(s, math.MaxInt))
	if len(text) <= most {
		return string(text)
	}
	return string(text[:(most+1)/2]) + "…" + string(text[len(text)-most/2:])
}

// Fit cuts the middle out of a text that is wider than wide in words of a size.
func Fit(s string, size, width float64) string {
	text := []rune(s)
	for keep := len(text); textWidth(s, size) > width && keep > 2; {
		keep -= max(1, keep/20)
		s = string(text[:(keep+1)/2]) + "…" + string(text[len(text)-keep/2:])
	}
	return s
}

// Capital is a sentence's beginning.
func Capital(s string) string {
	_, size := utf8.DecodeRuneInString(s)
	return strings.ToUpper(s[:size]) + s[size:]
}
