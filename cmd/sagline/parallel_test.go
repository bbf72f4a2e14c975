package main

import (
	"errors"
	"runtime"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

// Results come in order whatever the tasks take, and no more tasks than cores
// and one are under way.
func TestParallelKeepsOrder(t *testing.T) {
	var got []int
	var now, most atomic.Int32
	err := parallel(50, func(i int) int {
		most.Store(max(most.Load(), now.Add(1)))
		time.Sleep(time.Duration(i%3) * time.Millisecond)
		now.Add(-1)
		return i
	}, func(i int) error {
		got = append(got, i)
		return nil
	})
	assert.NoError(t, err)
	for i, x := range got {
		assert.Equal(t, i, x)
	}
	assert.Len(t, got, 50)
	assert.LessOrEqual(t, most.Load(), int32(runtime.GOMAXPROCS(0)+1))
	assert.NoError(t, parallel(0, func(i int) int { return i }, func(int) error { return nil }))
}

func TestParallelEndsAtAnError(t *testing.T) {
	full, begun := errors.New("full"), atomic.Int32{}
	err := parallel(1000, func(i int) int { begun.Add(1); return i }, func(i int) error {
		if i == 3 {
			return full
		}
		return nil
	})
	assert.Equal(t, full, err)
	assert.Less(t, begun.Load(), int32(1000))
}
