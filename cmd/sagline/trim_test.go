package main

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/session"
	"sagline/session/units"
)

// The newest hover weight that was read is said, also one of 0 and of an earlier dive; nothing where none was.
func TestWeighed(t *testing.T) {
	log, err := session.Read(strings.NewReader("dive,thrusters,trim_g\n1,off,60\n2,off,\n2,off,-20\n2,off,\n3,off,\n"), "dives.csv")
	require.NoError(t, err)
	assert.Equal(t, "dive 2 floated by -20 g", weighed(log, units.Metric))
	log.Dives = log.Dives[:1]
	assert.Equal(t, "dive 1 floated by 2.1 oz", weighed(log, units.Imperial))
	assert.Empty(t, weighed(&session.Log{}, units.Metric))
}
