package problem

import (
	"fmt"
	"strings"
)

// Count words how many of something there are: "1 line", "3 stretches".
func Count(n int, one string) string {
	switch {
	case n == 1:
	case strings.HasSuffix(one, "ch"):
		one += "es"
	default:
		one += "s"
	}
	return fmt.Sprintf("%d %s", n, one)
}
