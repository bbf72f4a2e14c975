package drift

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict/findings"
)

// A value is told to the digits that its range leaves known, both ends to the same.
func TestRanged(t *testing.T) {
	assert.Equal(t, "0.34 (95 %: -0.02 to 0.52)", ranged(findings.Estimate{Value: 0.3412, Low: -0.02031, High: 0.5243}))
	assert.Equal(t, "53 (95 %: 40 to 65)", ranged(findings.Estimate{Value: 52.7, Low: 40.2, High: 65.3}))
	assert.Equal(t, "0.245 (95 %: 0.204 to 0.272)", ranged(findings.Estimate{Value: 0.2449, Low: 0.2041, High: 0.2719}))
}
