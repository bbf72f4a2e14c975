package prompt

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/session"
)

// Lines stand under their columns, the unit below the name; what is too wide for
// the screen goes into a table below.
func TestTableOfLines(t *testing.T) {
	lines := []session.Row{{"dive": "1", "thrusters": "port + starboard", "tether_out_m": "12"}, {"note": "weed on the tether and on both propellers"}}
	assert.Equal(t, "  thrusters      tether_out\n                 m\n1 port+starboard 12\n2\n\n  note\n\n1\n2 weed on the tether …\n", table(lines, 30))
	assert.Empty(t, table(nil, 80))
	assert.Equal(t, "long name\n  1\n\nlong name\n  2\n", Columns([][]string{{"long name", "1", "2"}}, 1, 2, 4))
}
