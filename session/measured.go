package session

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"sagline/session/problem"
	"sagline/session/units"
)

// Measured is one number that was typed with its unit, in the base unit of its quantity. For
// "a to b" it holds both numbers, else the same one twice.
type Measured struct{ From, To float64 }

var (
	measuredItem  = regexp.MustCompile(`^[><]?\s*(-?\d*\.?\d+)(?:\s*to\s*(-?\d*\.?\d+))?\s*(\D*)$`)
	measuredApart = regexp.MustCompile(`\s*(?:[,;]|\bat\b)\s*`)
	decimalComma  = regexp.MustCompile(`(\d),(\d)`)
)

// ParseMeasured parses a reading such as "182 mV, 5.2 A, 14 °C" or "-20 to -17 kPa, 10 min" and
// returns its numbers by base unit. The first number is in unit if it has no unit itself. One
// number must be of unit's quantity; the base units of all others must be in with.
func ParseMeasured(text, unit string, with []string) (map[string]Measured, error) {
	mine, _, _ := units.OfReading(unit)
	out := map[string]Measured{}
	wrong := func(found string) error {
		want := strings.TrimSpace("a number " + unit)
		if len(with) > 0 {
			want += ", then, after commas, " + strings.Join(with, " and ") + " as known"
		}
		return fmt.Errorf("found %s, want %s", problem.Quote(found), want)
	}
	for i, item := range measuredApart.Split(decimalComma.ReplaceAllString(clean(text), "$1.$2"), -1) {
		f := measuredItem.FindStringSubmatch(item)
		if f == nil {
			return nil, wrong(item)
		}
		name := strings.TrimSpace(f[3])
		if name == "" && i == 0 {
			name = unit
		}
		base, in, ok := units.OfReading(name)
		if _, twice := out[base]; !ok || twice || base != mine && !slices.Contains(with, base) {
			return nil, wrong(item)
		}
		number := func(s string) float64 {
			x, _ := strconv.ParseFloat(s, 64) // matches the pattern, so it parses
			return in.ToBase(x)
		}
		out[base] = Measured{number(f[1]), number(cmp.Or(f[2], f[1]))}
	}
	if _, ok := out[mine]; !ok {
		return nil, wrong(text)
	}
	return out, nil
}
