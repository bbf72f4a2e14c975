package importer

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"sagline/session/problem"
)

// cutUnit parts a number from the unit written after it; unit is "" where no
// known one is.
func cutUnit(text string) (number, spelt string) {
	end := strings.LastIndexAny(text, "0123456789.,") + 1
	if end == 0 || end == len(text) {
		return text, ""
	}
	if _, ok := findUnit(text[end:]); !ok {
		return text, ""
	}
	return strings.TrimSpace(text[:end]), text[end:]
}

// plain is a number's digits with a decimal point and nothing else. mark is
// the decimal mark of the file, "." or ","; the other one may part thousands,
// as may a blank or an apostrophe.
func plain(text, mark string) (string, error) {
	out, ok := digitsOf(strings.TrimSpace(text), orElse(mark, "."))
	if ok {
		x, err := strconv.ParseFloat(out, 64)
		ok = err == nil && !math.IsInf(x, 0)
	}
	if !ok {
		return "", fmt.Errorf("found %s, want a number", problem.Quote(text))
	}
	return out, nil
}

// digitsOf puts a number's digits together.
func digitsOf(t, mark string) (out string, ok bool) {
	sign := ""
	if t != "" && (t[0] == '+' || t[0] == '-') {
		sign, t = strings.TrimPrefix(t[:1], "+"), t[1:]
	}
	mantissa, exponent := t, ""
	if i := strings.IndexAny(t, "eE"); i > 0 {
		mantissa, exponent = t[:i], t[i:]
	}
	whole, part, marked := strings.Cut(mantissa, mark)
	groups := strings.FieldsFunc(whole, func(r rune) bool { return strings.ContainsRune(" '’.,", r) })
	for i, g := range groups {
		if !digitsOnly(g) || len(groups) > 1 && (i > 0 && len(g) != 3 || i == 0 && (len(g) > 3 || g[0] == '0')) {
			return "", false
		}
	}
	bare := len(groups) == 0 // nothing before the mark, or what is no digit
	if bare && (!marked || whole != "") || bare && part == "" || part != "" && !digitsOnly(part) {
		return "", false
	}
	if !bare && (whole[0] < '0' || whole[0] > '9') {
		return "", false
	}
	out = sign + orElse(strings.Join(groups, ""), "0")
	if part != "" {
		out += "." + part
	}
	return out + exponent, true
}

// quick reads a number of the plainest kind, with a decimal point.
func quick(text string) (float64, bool) {
	for i := range len(text) {
		if b := text[i]; (b < '0' || b > '9') && b != '.' && b != '-' {
			return 0, false
		}
	}
	x, err := strconv.ParseFloat(text, 64)
	return x, err == nil
}

// converted is a number of digits times and plus. It is rounded to a hundredth
// of what the last digit is worth, so that reading it back gives the digits.
func converted(digitsIn string, times, plus float64) string {
	if (times == 1 || times == 0) && plus == 0 {
		return digitsIn
	}
	x, _ := strconv.ParseFloat(digitsIn, 64)
	mantissa, exponent, _ := strings.Cut(strings.ToLower(digitsIn), "e")
	_, part, _ := strings.Cut(mantissa, ".")
	power, _ := strconv.Atoi(exponent)
	decimals := 2 + len(part) - power + int(math.Ceil(-math.Log10(math.Abs(times))))
	if decimals < 0 || decimals > digits {
		return short(x*times + plus)
	}
	return fixed(x*times+plus, decimals)
}

// short is a number of at most digits digits, without exponent.
func short(x float64) string {
	if math.Abs(x) < 1e-12 {
		return "0"
	}
	y, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'g', digits, 64), 64)
	return strconv.FormatFloat(y, 'f', -1, 64)
}

// marks gathers what the cells of a file say of its decimal mark.
type marks struct {
	point, comma int
	either       string // a cell that would be a number with either
	commaParted  bool   // the file's cells are parted by commas
}

// see looks at one cell of numbers.
func (m *marks) see(text string) {
	number, _ := cutUnit(text)
	if !strings.ContainsAny(number, ".,") {
		return
	}
	_, asPoint := plain(number, ".")
	_, asComma := plain(number, ",")
	switch {
	case asPoint == nil && asComma == nil:
		m.either = text
	case asPoint == nil:
		m.point++
	case asComma == nil:
		m.comma++
	}
}

// mark is the file's decimal mark; ask says that no cell tells.
func (m *marks) mark() (mark string, ask bool) {
	switch {
	case m.comma > m.point:
		return ",", false
	case m.point > 0:
		return ".", false
	}
	// Programs that write decimal commas part cells by something else.
	return ".", m.either != "" && !(m.commaParted && !strings.Contains(m.either, ","))
}
