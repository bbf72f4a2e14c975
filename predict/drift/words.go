package drift

import (
	"fmt"
	"math"
	"strings"

	"sagline/session/units"
)

// Rounded shows x to the digits that a half-width of half leaves known.
func Rounded(x, half float64) string {
	if half <= 0 || math.IsInf(half, 0) {
		return units.Digits(x, 3)
	}
	digits := max(0, 1-int(math.Floor(math.Log10(half))))
	s := fmt.Sprintf("%.*f", digits, x)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return s
}

// String shows a value with its 95 % interval.
func (e Estimate) String() string {
	half := (e.High - e.Low) / 2
	if half <= 0 {
		return Rounded(e.Value, half)
	}
	return fmt.Sprintf("%s ± %s", Rounded(e.Value, half), Rounded(half, half))
}

// Sure shows a probability without claiming certainty.
func Sure(p float64) string {
	if p > 0.99 {
		return "over 99 %"
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}

// Likely is the probability from which a finding is worded as a fact: common
// practice, no source.
const Likely = 0.8

// leastSaid is the probability from which an alternative is said to a person.
const leastSaid = 0.02

// OrElse words what else a finding could be, "" where nothing likely is left.
func (f *Finding) OrElse() string {
	var which, out []string
	for _, a := range f.Which {
		if a.Probability >= leastSaid {
			which = append(which, fmt.Sprintf("%s %s", a.Words, Sure(a.Probability)))
		}
	}
	for _, a := range f.Alternatives {
		if a.Probability >= leastSaid {
			out = append(out, fmt.Sprintf("%s %s", a.Words, Sure(a.Probability)))
		}
	}
	text := ""
	if len(which) > 0 {
		text = "; of these " + strings.Join(which, ", ")
	}
	if len(out) > 0 {
		text += "; or else " + strings.Join(out, ", ")
	}
	return text
}
