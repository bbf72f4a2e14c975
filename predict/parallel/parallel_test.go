package parallel

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
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
	alone := 0
	assert.NoError(t, Each(make([]struct{}, 1), 2, func(int, struct{}) error { alone++; return nil }))
	assert.Equal(t, 2, alone, "by one worker")
}

// Progress counts one thing after the other, whoever did it; where nobody asks for it there is none.
func TestCounter(t *testing.T) {
	var told [][2]int
	done := Counter(func(done, all int) { told = append(told, [2]int{done, all}) }, 9)
	require.NoError(t, Each(make([]struct{}, 3), 9, func(int, struct{}) error { done(); return nil }))
	require.Len(t, told, 9)
	for i, x := range told {
		assert.Equal(t, [2]int{i + 1, 9}, x)
	}
	assert.NotPanics(t, Counter(nil, 9))
}
