package plotting

import (
	"bytes"
	"fmt"
	"html/template"
	"io"
	"math"
	"regexp"
	"strings"
	"sync"
	"time"
	"unicode"
	"unicode/utf8"

	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"golang.org/x/image/font/opentype"
	"gonum.org/v1/plot/font"

	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/session/units"
)

// SafeText makes a text that a person wrote safe to use in a picture or a title. Control
// characters become their symbols (from U+2400) or blanks, characters that change the direction of
// writing become �, and the text is cut to most characters.
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

// Sentence is SafeText for words that a person may have to act on: they are wrapped, not cut.
func Sentence(s string) string { return SafeText(s, mostSentence) }

// mostSentence is more characters than any sentence has. It only bounds the length of a text.
const mostSentence = 4000

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

// sans returns the pictures' font. It is read without the packages that draw into files, so that
// the browser's build, which draws SVG only, does not contain them.
var sans = sync.OnceValue(func() *opentype.Font {
	f, err := opentype.Parse(liberationsansregular.TTF)
	if err != nil {
		panic(err) // the font is built in
	}
	return f
})

// textWidth returns the width of words in the pictures' font, in the unit of size.
func textWidth(text string, size float64) float64 {
	face := font.Face{Font: font.Font{Size: font.Length(size)}, Face: sans()}
	return float64(face.Width(text))
}

// DiveLabel returns a dive's label, without its middle if it has more than most characters, since
// labels differ at their ends.
func DiveLabel(s string, most int) string {
	text := []rune(SafeText(s, math.MaxInt))
	if len(text) <= most {
		return string(text)
	}
	return string(text[:(most+1)/2]) + "…" + string(text[len(text)-most/2:])
}

// Fit cuts out the middle of a text that is wider than width at a font size.
func Fit(s string, size, width float64) string {
	text := []rune(s)
	for keep := len(text); textWidth(s, size) > width && keep > 2; {
		keep -= max(1, keep/20)
		s = string(text[:(keep+1)/2]) + "…" + string(text[len(text)-keep/2:])
	}
	return s
}

// fitEnd cuts off the beginning of a text that is wider than width at a font size, since labels of
// dives differ in how they end.
func fitEnd(s string, size, width float64) string {
	for text := []rune(s); textWidth(s, size) > width && len(text) > 1; {
		text = text[1:]
		s = "…" + strings.TrimSpace(string(text))
	}
	return s
}

// wrap breaks a text into lines no wider than width at a font size. Words that are wider lose their
// middle.
func wrap(text string, size, width float64) (lines []string) {
	line := ""
	for _, word := range strings.Fields(text) {
		word = Fit(word, size, width)
		if longer := line + " " + word; line != "" && textWidth(longer, size) > width {
			lines = append(lines, line)
			line = word
		} else {
			line = strings.TrimSpace(longer)
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// Capital makes the first letter a capital.
func Capital(s string) string {
	_, size := utf8.DecodeRuneInString(s)
	return strings.ToUpper(s[:size]) + s[size:]
}

// ShortName is DiveLabel for places with little room.
func ShortName(s string) string { return DiveLabel(s, 12) }

// DiveName returns a dive's label, with its day if that is known and dated is true.
func DiveName(d *findings.Dive, dated bool) string {
	if !dated || d.Date == "" {
		return "dive " + ShortName(d.Dive)
	}
	return "dive " + ShortName(d.Dive) + ", " + Day(d.Date, "2 Jan 2006")
}

// Day writes an ISO date in another layout. It returns a text that is no date unchanged.
func Day(iso, layout string) string {
	t, err := time.Parse(time.DateOnly, iso)
	if err != nil {
		return iso
	}
	return t.Format(layout)
}

// Number writes a value to three digits, with its unit after a no-break space.
func Number(x float64, unit string) string { return strings.TrimSpace(digits(x, 3) + "\u00a0" + unit) }

// digits writes a number to n significant digits, without an exponent.
func digits(x float64, n int) string {
	return Minus(units.Digits(x, n))
}

var negative = regexp.MustCompile(`(^|[^\pL\d])-(\d)`)

// Minus replaces the hyphens before numbers by minus signs.
func Minus(s string) string { return negative.ReplaceAllString(s, "$1−$2") }

// visibleText matches the visible texts of a page, and scripts, styles and code as wholes, which
// WritePage leaves unchanged.
var visibleText = regexp.MustCompile(`(?s)<(?:script|style|code)\b.*?</(?:script|style|code)>|>[^<]+`)

// WritePage writes a template as a page. Numbers on a page, as in pictures, have minus
// signs; a terminal and JSON have hyphens, which can be searched for and typed.
func WritePage(w io.Writer, page *template.Template, data any) error {
	var out bytes.Buffer
	if err := page.Execute(&out, data); err != nil {
		return err
	}
	_, err := w.Write(visibleText.ReplaceAllFunc(out.Bytes(), func(text []byte) []byte {
		if text[0] == '<' {
			return text
		}
		return negative.ReplaceAll(text, []byte("$1−$2"))
	}))
	return err
}

// Says describes a trend whose values are in unit.
func Says(t *findings.Trend, unit string) string {
	words := map[string]string{findings.Step: "step at", findings.Intermittent: "comes and goes since",
		findings.Turns: "comes and goes from dive to dive since"}[t.Pattern]
	if t.Pattern == findings.Ramp && t.PerDive != nil {
		words = rate(t.Cause, t.PerDive, t.Level.Value, unit) + " since"
	}
	if words == "" {
		return t.State
	}
	return words + " dive " + DiveLabel(t.OnsetDive, 20)
}

// before describes what a quantity did up to its last service, "" if it was sound.
func before(rep *findings.Report, t *findings.Trend, unit string) string {
	if len(t.Eras) == 0 {
		return ""
	}
	last := t.Eras[len(t.Eras)-1]
	out := ""
	if t.Pattern == findings.Steady {
		out = " since dive " + DiveLabel(rep.Dives[last.To].Dive, 20)
	}
	switch {
	case last.Pattern == findings.Steady:
		return out
	case last.PerDive != nil:
		level := 0.0
		if n := len(last.Levels); n > 0 {
			level = last.Levels[n-1].Value
		}
		return out + "; before: " + rate(t.Cause, last.PerDive, level, unit)
	}
	return out + "; before: " + last.Pattern
}

func rate(c *causes.Cause, perDive *findings.Estimate, level float64, unit string) string {
	if x := c.Scale.Times(perDive.Value, level); x != 0 {
		return "× " + digits(x, 2) + " a dive"
	}
	sign := ""
	if perDive.Value > 0 {
		sign = "+"
	}
	return strings.TrimSpace(sign+digits(perDive.Value, 2)+" "+unit) + " a dive"
}

// Amount describes how far a trend, whose values are in unit, is from its sound value or, for a
// contact that comes and goes, by how much it does.
func Amount(t *findings.Trend, unit string) string {
	switch s := t.Cause.Scale; {
	case t.ComesBy != nil:
		return t.ComesBy.ComesBy()
	case s.Absolute:
		return fmt.Sprintf("from %s to %s", digits(t.Baseline, 2), Number(t.Level.Value, unit))
	case s.Factor && t.Baseline != 0:
		return Minus(fmt.Sprintf("%+.0f\u00a0%%", 100*(t.Level.Value/t.Baseline-1)))
	}
	return Number(t.Level.Value-t.Baseline, unit)
}
