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

// CutUnit parts a number from the unit written after it; nil where no known one
// is.
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

// numbers are what a number looks like by its decimal mark: the other mark, a
// blank or an apostrophe may part thousands.
var numbers = map[string]*regexp.Regexp{
	".": regexp.MustCompile(`^([+-]?)(\d*|[1-9]\d{0,2}(?:[ '’,]\d{3})+)(?:\.(\d*))?(e[+-]?\d+)?$`),
	",": regexp.MustCompile(`^([+-]?)(\d*|[1-9]\d{0,2}(?:[ '’.]\d{3})+)(?:,(\d*))?(e[+-]?\d+)?$`),
}

// parting are what may part thousands.
var parting = strings.NewReplacer(" ", "", "'", "", "’", "", ",", "", ".", "")

// Plain is a number's digits with a decimal point and nothing else; mark is
// the decimal mark that it is written with, a point where it is neither.
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

// IsNumber says whether a cell is one number by either decimal mark.
func IsNumber(text string) bool {
	_, point := Plain(text, ".")
	_, comma := Plain(text, ",")
	return point == nil || comma == nil
}

// Converted is a number of digits times and plus.
func Converted(digits string, times, plus float64) string {
	if (times == 1 || times == 0) && plus == 0 {
		return digits
	}
	x, _ := strconv.ParseFloat(digits, 64)
	return Short(x*times + plus)
}

// keptDigits are as many as are kept of a number that was converted: two more
// than a meter of people who dive shows. Common practice, no source.
const keptDigits = 7

// Short is a number of at most keptDigits digits, without exponent.
func Short(x float64) string { return strconv.FormatFloat(rounded(x, keptDigits), 'f', -1, 64) }

// rounded is a number to some digits, what is as good as nothing being 0.
func rounded(x float64, digits int) float64 {
	y, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', digits, 64), 64)
	if err != nil || math.Abs(y) < 1e-12 {
		return 0
	}
	return y
}

// DecimalMark is the mark that most cells must have which can have one only; ""
// where none must and some could have either. Programs that write decimal commas
// part cells by something else.
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

// A Piece is one number of a cell with several, with its unit; nil: none.
type Piece struct {
	Number string
	Unit   *Unit
}

var (
	someNumber = regexp.MustCompile(`\d+(?:[.,]\d+)?`)
	parted     = regexp.MustCompile(`^(.*?)(?:\s*(?:[/;|,–→&+-]|\b(?:to|bis|à|a|y|et|und|and|in|en)\b)\s*|\s+)?$`) // a unit, and what parts it from the next number
)

// mostPieces is more than a person reads into one cell.
const mostPieces = 6

// Pieces takes a cell with several numbers apart; nil where it is one number or
// says something else. Blanks alone part numbers that have units.
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

// unitsOf are the units of pieces that measure each something else, in their
// order; nil where one has none or two measure the same.
func unitsOf(ps []Piece) (out []*Unit) {
	for i, p := range ps {
		if p.Unit == nil || slices.ContainsFunc(ps[:i], func(o Piece) bool { return o.Unit.Dimension == p.Unit.Dimension }) {
			return nil
		}
		out = append(out, p.Unit)
	}
	return out
}

// Alike are the cells with several numbers that are most alike by how many they
// have, of what; of are their units, nil where these do not tell them apart, and all
// is how many cells have several numbers.
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

// Rise says whether the second number of most pairs is the greater.
func Rise(cells [][]Piece) bool {
	n := 0
	for _, ps := range cells {
		a, _ := strconv.ParseFloat(strings.Replace(ps[0].Number, ",", ".", 1), 64)
		b, _ := strconv.ParseFloat(strings.Replace(ps[1].Number, ",", ".", 1), 64)
		n += cmp.Compare(b, a)
	}
	return n > 0
}
