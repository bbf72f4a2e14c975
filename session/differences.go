package session

import (
	"fmt"
	"math"

	"sagline/session/problem"
)

// sameShare is the relative difference up to which two numbers count as equal, since they may have
// been written in different units: common practice, no source.
const sameShare = 1e-5

// Differences says in words which cells of line a of a log differ from line b. It does not compare
// what carries forward or adds up (water, salinity, tether, ballast).
func Differences(a, b *Line) (out []string) {
	seen := map[string]bool{}
	for _, c := range columns {
		x, y := "", ""
		switch text, ok := textColumns[c.Quantity]; {
		case seen[c.Quantity] || c.Quantity == "water" || c.Quantity == "tether":
			continue
		case ok:
			x, y = text.write(a), text.write(b)
		default:
			v, w := a.of(c), b.of(c)
			if v.Column != c && w.Column != c {
				continue
			}
			if math.Abs(v.X-w.X) > sameShare*math.Max(math.Abs(v.X), math.Abs(w.X)) || v.Measured() != w.Measured() {
				x, y = c.entered(v), c.entered(w)
			}
		}
		if seen[c.Quantity] = x != y; x != y {
			out = append(out, fmt.Sprintf("%s is %s, %s in the log", c.Name, problem.Quote(y), problem.Quote(x)))
		}
	}
	return out
}
