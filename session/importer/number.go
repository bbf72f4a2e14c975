package importer

import (
	"cmp"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"sagline/session/problem"
)

// cutUnit parts a number from the unit written after it; nil where no known one
// is.
func cutUnit(text string) (number string, of *unit) {
	end := strings.LastIndexAny(text, "0123456789.,") + 1
	if end == 0 || end == len(text) {
		return text, nil
	}
	if u, ok := findUnit(text[end:]); ok {
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

// plain is a number's digits with a decimal point and nothing else; mark is
// the decimal mark of the file; while it is asked about it is a point.
func plain(text, mark string) (string, error) {
	if mark == Asked {
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

// isNumber says whether a cell is one number by either decimal mark.
func isNumber(text string) bool {
	_, point := plain(text, ".")
	_, comma := plain(text, ",")
	return point == nil || comma == nil
}

// converted is a number of digits times and plus.
func converted(digits string, times, plus float64) string {
	if (times == 1 || times == 0) && plus == 0 {
		return digits
	}
	x, _ := strconv.ParseFloat(digits, 64)
	return short(x*times + plus)
}

// keptDigits are as many as are kept of a number that was converted: two more
// than a meter of people who dive shows. Common practice, no source.
const keptDigits = 7

// short is a number of at most keptDigits digits, without exponent.
func short(x float64) string { return strconv.FormatFloat(rounded(x, keptDigits), 'f', -1, 64) }

// rounded is a number to some digits, what is as good as nothing being 0.
func rounded(x float64, digits int) float64 {
	y, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', digits, 64), 64)
	if err != nil || math.Abs(y) < 1e-12 {
		return 0
	}
	return y
}

// decimal is the file's decimal mark, Asked where its cells do not say.
func (s *Source) decimal(m *Mapping) string {
	var all []string
	for _, c := range m.Columns {
		if t := c.targets()[0]; t.name != Asked && (t.column == nil || t.column.Unit == "") {
			continue
		}
		all = append(all, s.column(c.Heading, nil)...)
	}
	return decimalMark(all, s.separator == ',')
}

// decimalMark is the mark that most cells must have which can have one only;
// Asked where none must and some could have either. Programs that write decimal
// commas part cells by something else.
func decimalMark(cells []string, commaParted bool) string {
	points, commas, either := 0, 0, ""
	for _, c := range cells {
		number, _ := cutUnit(c)
		if ps := pieces(c); ps != nil && !isNumber(c) {
			number = ps[0].number
		}
		if !strings.ContainsAny(number, ".,") {
			continue
		}
		_, asPoint := plain(number, ".")
		_, asComma := plain(number, ",")
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
		return Asked
	}
	return "."
}
