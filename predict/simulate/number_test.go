package simulate_test

import (
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

// number is an environment variable's, for tries on demand.
func number(t *testing.T, name string, usual int) int {
	s := os.Getenv(name)
	if s == "" {
		if testing.Short() {
			t.Skip("some seconds")
		}
		return usual
	}
	n, err := strconv.Atoi(s)
	require.NoError(t, err, name)
	return n
}
