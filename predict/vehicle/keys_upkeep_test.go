package vehicle

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/session"
)

// What may fall due is what a log can say was serviced.
func TestPartsAreThoseOfTheLog(t *testing.T) {
	assert.Equal(t, session.Serviceable, byPath["maintenance.*.part"].words)
}
