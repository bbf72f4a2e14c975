package session

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"sagline/session/problem"
)

// Measured is one number of a reading that was typed with its unit; of "a to b"
// both, else the same twice. It is in the first unit of its dimension.
type Measured struct{ From, To float64 }

// dimensions are the units that a reading may be typed in, by what they measure.
// Pressure: NIST SP 811 (2008), appendix B.8.
var dimensions = map[string]struct {
	of             string
	factor, offset float64 // of is (x − offset)·factor
}{
	"mV": {"mV", 1, 0}, "V": {"mV", 1000, 0}, "A": {"A", 1, 0}, "mA": {"A", 0.001, 0},
	"mΩ": {"Ω", 0.001, 0}, "mohm": {"Ω", 0.001, 0}, "Ω": {"Ω", 1, 0}, "ohm": {"Ω", 1, 0}, "ohms": {"Ω", 1, 0}, "kΩ": {"Ω", 1e3, 0}, "kohm": {"Ω", 1e3, 0},
	"MΩ": {"Ω", 1e6, 0}, "Mohm": {"Ω", 1e6, 0}, "megohm": {"Ω", 1e6, 0}, "GΩ": {"Ω", 1e9, 0}, "Gohm": {"Ω", 1e9, 0},
	"°C": {"°C", 1, 0}, "C": {"°C", 1, 0}, "°F": {"°C", 1 / 1.8, 32}, "F": {"°C", 1 / 1.8, 32}, "min": {"min", 1, 0}, "h": {"min", 60, 0},
	"kPa": {"kPa", 1, 0}, "mbar": {"kPa", 0.1, 0}, "bar": {"kPa", 100, 0}, "psi": {"kPa", 6.894757, 0}, "inHg": {"kPa", 3.386389, 0},
	"": {"", 1, 0}, "%": {"", 0.01, 0},
}

var (
	measuredItem  = regexp.MustCompile(`^[><]?\s*(-?\d*\.?\d+)(?:\s*to\s*(-?\d*\.?\d+))?\s*(\D*)$`)
	measuredApart = regexp.MustCompile(`\s*(?:[,;]|\bat\b)\s*`)
	decimalComma  = regexp.MustCompile(`(\d),(\d)`)
)

// ParseMeasured takes a reading such as "182 mV, 5.2 A, 14 °C" or
// "-20 to -17 kPa, 10 min" apart, by dimension. unit is that of its first
// number where it has none, and the reading's own; beside it may stand numbers
// of the dimensions in with.
func ParseMeasured(text, unit string, with []string) (map[string]Measured, error) {
	mine, out := dimensions[unit].of, map[string]Measured{}
	wrong := func(found string) error {
		want := strings.TrimSpace("a number " + unit)
		if len(with) > 0 {
			want += ", then as known " + strings.Join(with, " and ")
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
		d, ok := dimensions[name]
		if _, twice := out[d.of]; !ok || twice || d.of != mine && !slices.Contains(with, d.of) {
			return nil, wrong(item)
		}
		if f[2] == "" {
			f[2] = f[1]
		}
		number := func(s string) float64 {
			x, _ := strconv.ParseFloat(s, 64) // the pattern's digits
			return (x - d.offset) * d.factor
		}
		out[d.of] = Measured{number(f[1]), number(f[2])}
	}
	if _, ok := out[mine]; !ok {
		return nil, wrong(text)
	}
	return out, nil
}
