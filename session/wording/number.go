package wording

import (
	"cmp"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"sagline/session/problem"
)

// CutUnit splits a number from the unit written after it; the unit is nil if none is
// known.
func CutUnit(text string) (number string, of *Unit) {
	end := strings.LastIndexAny(text, "0123456789.,") + 1
	if end == 0 || end == len(text) {
		return text, nil
	}
	if u, ok := FindUnit(text[end:]); ok {
		return strings.TrimSpace(text[:end]), &u
	}
	return text, nil
}

// numbers match numbers, by their decimal mark. The other mark, a blank or an apostrophe
// may separate thousands.
var numbers = map[string]*regexp.Regexp{
	".": regexp.MustCompile(`^([+-]?)(\d*|[1-9]\d{0,2}(?:[ '’,]\d{3})+)(?:\.(\d*))?(e[+-]?\d+)?$`),
	",": regexp.MustCompile(`^([+-]?)(\d*|[1-9]\d{0,2}(?:[ '’.]\d{3})+)(?:,(\d*))?(e[+-]?\d+)?$`),
}

// parting removes the separators of thousands.
var parting = strings.NewReplacer(" ", "", "'", "", "’", "", ",", "", ".", "")

// Plain rewrites a number with a decimal point and without separators of thousands. mark
// is its decimal mark; anything but a comma means a point. A text that is no number is an
// error.
func Plain(text, mark string) (string, error) {
	if mark != "," {
		mark = "."
	}
	if m := numbers[mark].FindStringSubmatch(strings.ToLower(strings.TrimSpace(text))); m != nil && m[2]+m[3] != "" {
		out := strings.TrimPrefix(m[1], "+") + cmp.Or(parting.Replace(m[2]), "0") + strings.TrimSuffix("."+m[3], ".") + m[4]
		if x, err := strconv.ParseFloat(out, 64); err == nil && !math.IsInf(x, 0) {
			return out, nil
		}
	}
	return "", fmt.Errorf("found %s, want a number", problem.Quote(text))
}

// IsNumber reports whether a cell is a single number with either decimal mark.
func IsNumber(text string) bool {
	_, point := Plain(text, ".")
	_, comma := Plain(text, ",")
	return point == nil || comma == nil
}

// Converted returns digits·times + plus; digits stay as they are if times is 1, or 0 for
// not set, and plus is 0.
func Converted(digits string, times, plus float64) string {
	if (times == 1 || times == 0) && plus == 0 {
		return digits
	}
	x, _ := strconv.ParseFloat(digits, 64)
	return Short(x*times + plus)
}

// keptDigits is the number of digits kept of a converted number: two more than the
// meters in use show. Common practice, no source.
const keptDigits = 7

// Short writes a number with at most keptDigits digits and without an exponent.
func Short(x float64) string { return strconv.FormatFloat(rounded(x, keptDigits), 'f', -1, 64) }

// rounded rounds to significant digits; remainders of rounding, below 1e-12, become 0.
func rounded(x float64, digits int) float64 {
	y, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', digits, 64), 64)
	if err != nil || math.Abs(y) < 1e-12 {
		return 0
	}
	return y
}

// DecimalMark returns the decimal mark of most of the cells that are numbers with only one of the
// two marks. It returns "" if there is no such cell but some are numbers with either mark.
// commaParted reports that commas separate the file's cells: no program that does so writes decimal
// commas.
func DecimalMark(cells []string, commaParted bool) string {
	points, commas, either := 0, 0, ""
	for _, c := range cells {
		number, _ := CutUnit(c)
		if ps := Pieces(c); ps != nil {
			number = ps[0].Number
		}
		if !strings.ContainsAny(number, ".,") {
			continue
		}
		_, asPoint := Plain(number, ".")
		_, asComma := Plain(number, ",")
		switch {
		case asPoint == nil && asComma == nil:
			either = number
		case asPoint == nil:
			points++
		case asComma == nil:
			commas++
		}
	}
	switch {
	case commas > points:
		return ","
	case points == 0 && either != "" && (!commaParted || strings.Contains(either, ",")):
		return ""
	}
	return "."
}

// A Piece is a number of a cell that has several. Unit is nil if none is written.
type Piece struct {
	Number string
	Unit   *Unit
}

var (
	someNumber = regexp.MustCompile(`\d+(?:[.,]\d+)?`)
	parted     = regexp.MustCompile(`^(.*?)(?:\s*(?:[/;|,–→&+-]|\b(?:to|bis|à|a|y|et|und|and|in|en)\b)\s*|\s+)?$`) // a unit and the separator before the next number
)

// mostPieces bounds the numbers of one cell; people write fewer.
const mostPieces = 6

// Pieces splits a cell with several numbers; nil if it is a single number or has other
// words. Blanks alone separate only numbers that have units.
func Pieces(text string) (out []Piece) {
	at := someNumber.FindAllStringIndex(text, mostPieces+1)
	if len(at) < 2 || len(at) > mostPieces || IsNumber(text) || strings.Trim(text[:at[0][0]], "+-") != "" {
		return nil
	}
	for i, a := range at {
		end := len(text)
		if i+1 < len(at) {
			end = at[i+1][0]
		}
		p, between := Piece{Number: text[a[0]:a[1]]}, text[a[1]:end]
		if i == 0 {
			p.Number = text[:a[1]]
		}
		written := strings.TrimSpace(parted.FindStringSubmatch(between)[1])
		if u, ok := FindUnit(written); ok {
			p.Unit = &u
		} else if written != "" || end < len(text) && strings.TrimSpace(between) == "" {
			return nil
		}
		out = append(out, p)
	}
	return out
}

// unitsOf lists the units of pieces; nil if one has none or two have the same dimension.
func unitsOf(ps []Piece) (out []*Unit) {
	for i, p := range ps {
		if p.Unit == nil || slices.ContainsFunc(ps[:i], func(o Piece) bool { return o.Unit.Dimension == p.Unit.Dimension }) {
			return nil
		}
		out = append(out, p.Unit)
	}
	return out
}

// Alike finds the largest group of cells with several numbers that agree in how many
// numbers they have and in their dimensions. of are the group's units, nil if the numbers
// cannot be told apart by them; all counts the cells with several numbers.
func Alike(cells []string) (like [][]Piece, of []*Unit, all int) {
	by := map[string][][]Piece{}
	for _, c := range cells {
		ps := Pieces(c)
		if ps == nil {
			continue
		}
		var shape []string
		for _, u := range unitsOf(ps) {
			shape = append(shape, u.Dimension)
		}
		slices.Sort(shape)
		key := fmt.Sprint(len(ps), shape)
		if by[key], all = append(by[key], ps), all+1; len(by[key]) > len(like) {
			like = by[key]
		}
	}
	if all > 0 {
		of = unitsOf(like[0])
	}
	return like, of, all
}

// Rise reports whether the second number is greater in most of the pairs.
func Rise(cells [][]Piece) bool {
	n := 0
	for _, ps := range cells {
		a, _ := strconv.ParseFloat(strings.Replace(ps[0].Number, ",", ".", 1), 64)
		b, _ := strconv.ParseFloat(strings.Replace(ps[1].Number, ",", ".", 1), 64)
		n += cmp.Compare(b, a)
	}
	return n > 0
}
