package session

import (
	"fmt"
	"math"
	"strconv"
)

// cellOf is a value as it is written in column c: as it was entered where it
// came from there, so that nothing is lost.
func (c *Column) cellOf(v Value) string {
	switch {
	case !v.Measured():
		return ""
	case v.Column == c:
		return decimals(v.Entered)
	default:
		return c.shortest(v.X)
	}
}

// shortest is the cell in column c that reads as base.
func (c *Column) shortest(base float64) string {
	s, _ := shortest(c.FromBase(base), func(x float64) bool { return c.ToBase(x) == base })
	return s
}

// shortest is the decimal with the fewest digits near x that is exact, and
// its value; x itself, all digits of it, where none is. A value that came
// from 10 ft is written as 10, not 10.000000000000002.
func shortest(x float64, exact func(float64) bool) (string, float64) {
	for digits := range 17 {
		y, err := strconv.ParseFloat(strconv.FormatFloat(x, 'e', digits, 64), 64)
		if err == nil && exact(y) {
			return decimals(y), y
		}
	}
	for _, y := range []float64{math.Nextafter(x, math.Inf(1)), math.Nextafter(x, math.Inf(-1))} {
		if exact(y) {
			return decimals(y), y
		}
	}
	return decimals(x), x
}

// decimals is a number without exponent, exact.
func decimals(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// clockCell is the clock that a minute was told by. beside says whether the
// file has a column of minutes for those that were not.
func clockCell(v Value, beside bool) (string, error) {
	switch {
	case !v.Measured(), v.Column.Quantity != "clock" && beside:
		return "", nil
	case v.Column.Quantity != "clock":
		return "", fmt.Errorf("minute %g was not told by a clock, want a column %q", v.X, "minute")
	}
	return clockText(v.Entered), nil
}

// clockText is minutes after midnight as hh:mm, with seconds where there are.
func clockText(minutes float64) string {
	s := int(math.Round(minutes * 60))
	if s%60 != 0 {
		return fmt.Sprintf("%02d:%02d:%02d", s/3600, s/60%60, s%60)
	}
	return fmt.Sprintf("%02d:%02d", s/3600, s/60%60)
}
