package drift

import (
	"fmt"
	"math"
	"strings"
)

// Rounded shows x to the digits that a half-width of half leaves known.
func Rounded(x, half float64) string {
	if half <= 0 || math.IsInf(half, 0) {
		return fmt.Sprintf("%.3g", x)
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
