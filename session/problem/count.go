package problem

import "fmt"

// Count words how many of something there are: "1 line", "3 lines".
func Count(n int, one string) string {
	if n != 1 {
		one += "s"
	}
	return fmt.Sprintf("%d %s", n, one)
}
