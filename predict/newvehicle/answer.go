package newvehicle

import (
	"regexp"
	"slices"
	"strconv"
	"strings"

	"sagline/session/units"
)

// meant is the only one of the words that begins with an answer, else the only
// one that has it in it, else the answer.
func meant(answer string, words []string) string {
	for _, fits := range []func(string, string) bool{strings.HasPrefix, strings.Contains} {
		var found []string
		for _, w := range words {
			if fits(w, strings.ToLower(answer)) {
				found = append(found, w)
			}
		}
		if len(found) == 1 {
			return found[0]
		}
	}
	return answer
}

// rangeWords find two numbers with to, - or … between them.
var rangeWords = regexp.MustCompile(`^(-?[\d.]+) *(?:to|-|–|…|\.\.+) *(-?[\d.]+)$`)

// numberOrRange is an answer as Set takes it: a decimal comma as a point, a
// unit that people use turned into the key's, two numbers as a range.
func numberOrRange(answer, unit string) string {
	s := regexp.MustCompile(`(\d),(\d)`).ReplaceAllString(answer, "$1.$2")
	names := []string{unit, units.Imperial.In(unit).Name}
	if unit == "N" {
		names = append(names, "kgf")
	}
	slices.SortFunc(names, func(a, b string) int { return len(b) - len(a) }) // kg before g
	in := units.Find(unit)
	for _, name := range names {
		if rest, ok := strings.CutSuffix(s, name); ok && name != "" && strings.ContainsAny(rest, "0123456789") {
			s, in = strings.TrimSpace(rest), units.Find(name)
			break
		}
	}
	convert := func(x string) string {
		if y, err := strconv.ParseFloat(x, 64); err == nil && in.Name != unit {
			return strconv.FormatFloat(in.ToBase(y), 'g', 4, 64)
		}
		return x
	}
	if m := rangeWords.FindStringSubmatch(s); m != nil {
		return "[" + convert(m[1]) + ", " + convert(m[2]) + "]"
	}
	return convert(s)
}
