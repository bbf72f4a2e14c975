package wording

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func TestNumbers(t *testing.T) {
	for _, c := range []struct{ text, mark, want string }{
		{"12.5", ".", "12.5"}, {"12,5", ",", "12.5"}, {"-0.30", ".", "-0.30"}, {"+3", ".", "3"}, {".5", ".", "0.5"}, {"5.", ".", "5"},
		{"1,234.5", ".", "1234.5"}, {"1.234,5", ",", "1234.5"}, {"1 234,5", ",", "1234.5"}, {"1'234", ".", "1234"}, {"1e-3", ".", "1e-3"},
		{"12,5", ".", ""}, {"1,23,456", ".", ""}, {"0,345", ".", ""}, {"12.3.4", ".", ""}, {"1e999", ".", ""}, {"x", ".", ""}, {"", ".", ""}, {"-", ".", ""}, {".", ".", ""},
		{"0x10", ".", ""}, {"1_000", ".", ""}, {"NaN", ".", ""}, {"inf", ".", ""}, {"'12", ".", ""}, {"1e", ".", ""},
	} {
		got, err := Plain(c.text, c.mark)
		assert.Equal(t, c.want, got, "%q with %q", c.text, c.mark)
		assert.Equal(t, c.want == "", err != nil, "%q with %q", c.text, c.mark)
	}
}

// A number as anyone may write it, in either way, is read as what it is.
func TestNumbersReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := float64(rapid.IntRange(-99_999_999, 99_999_999).Draw(t, "x")) / 1000
		text := fmt.Sprintf("%.3f", x)
		point, err := Plain(text, ".")
		if err != nil || point != text {
			t.Fatalf("%q: %q, %v", text, point, err)
		}
		comma, err := Plain(strings.Replace(text, ".", ",", 1), ",")
		if err != nil || comma != text {
			t.Fatalf("%q: %q, %v", text, comma, err)
		}
	})
}

func TestConvertedKeepsWhatIsKnown(t *testing.T) {
	for _, c := range []struct {
		digits      string
		times, plus float64
		want        string
	}{
		{"12.70", 1, 0, "12.70"}, {"9600", 0.001, 0, "9.6"}, {"10", 0.3048, 0, "3.048"}, {"11.8", 0.3048, 0, "3.59664"}, {"50", 5.0 / 9, -32 * 5.0 / 9, "10"},
		{"1e3", 0.001, 0, "1"}, {"0", 0.3048, 0, "0"}, {"-3", 28.349523125, 0, "-85.04857"},
	} {
		assert.Equal(t, c.want, Converted(c.digits, c.times, c.plus), c.digits)
	}
}

func TestDecimalMark(t *testing.T) {
	for _, c := range []struct {
		cells       string
		commaParted bool
		want        string
	}{
		{"12.5 3", true, "."}, {"12,5 3", false, ","}, {"12.345 8", true, "."}, {"12.345 8", false, ""}, {"1,234", true, ""},
		{"0.345", false, "."}, {"12 13", false, "."}, {"1.234,5", false, ","}, {"12.5 13.5 1,5", false, "."},
	} {
		assert.Equal(t, c.want, DecimalMark(strings.Fields(c.cells), c.commaParted), c.cells)
	}
}

func TestPieces(t *testing.T) {
	for text, want := range map[string]string{
		"12.1V / 6A": "12.1 V|6 A", "12.1-11.8": "12.1 |11.8 ", "3.5m 12°C": "3.5 m|12 °C", "12,1 V – 11,8 V": "12,1 V|11,8 V", "0.4 m/s / 3 m": "0.4 m/s|3 m",
		"12.1/8.7/8.6": "12.1 |8.7 |8.6 ", "12 V and 6 A": "12 V|6 A",
		"12.1": "", "12.1 8.7": "", "12.1V (rest) / 6A": "", "10:05": "", "T 12 V / 6 A": "", "about 12": "", "31.5.2026": "", "1/2/3/4/5/6/7": "",
	} {
		got := ""
		for i, p := range Pieces(text) {
			if i > 0 {
				got += "|"
			}
			got += p.Number + " "
			if p.Unit != nil {
				got += p.Unit.Name
			}
		}
		assert.Equal(t, want, got, text)
	}
}
