package parallel

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
)

// All dives are worked on; the error is the first dive's that has one.
func TestEachInParallel(t *testing.T) {
	done := make([]bool, 7)
	first := errors.New("dive 3")
	err := Each(make([]struct{}, 2), len(done), func(i int, _ struct{}) error {
		done[i] = true
		return map[int]error{3: first, 5: errors.New("dive 5")}[i]
	})
	assert.Equal(t, first, err)
	assert.NotContains(t, done, false)
	assert.NoError(t, Each(make([]struct{}, 1), 2, func(int, struct{}) error { return nil }))
}
