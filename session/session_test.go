package session

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/session/quantity"
)

// The next dives read what the log does, the first what its header has: the seconds of a run are a speed.
func TestNotToRead(t *testing.T) {
	log, err := Read(strings.NewReader("dive,thrusters,battery_v,run_m,run_s,note\n"), FileName)
	require.NoError(t, err)
	got := log.NotToRead()
	assert.NotContains(t, got, quantity.BatteryV)
	assert.NotContains(t, got, quantity.Speed)
	assert.Len(t, got, int(quantity.Count)-2)
	log, err = Read(strings.NewReader("dive,thrusters,battery_v,current_a\n1,off,12.6,\n"), FileName)
	require.NoError(t, err)
	assert.Len(t, log.NotToRead(), int(quantity.Count)-1, "an empty column is not read")
}
