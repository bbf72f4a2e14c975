package fit

import (
	"bufio"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The Nile's annual flow as a level that wanders has variances 15099 from year
// to year and 1469.1 of the level's own steps (Durbin and Koopman, Time Series
// Analysis by State Space Methods, section 2.2), so successive years differ
// with twice a variance of 15099 + 1469.1/2. Scatter learns from differences:
// it finds that within one standard error, 9 % for 99 of them, and nearer
// still the root mean square of these very differences.
func TestScatterOfTheNile(t *testing.T) {
	f, err := os.Open("../drift/testdata/nile.csv")
	require.NoError(t, err)
	defer f.Close()
	want := math.Sqrt(15099 + 1469.1/2)
	unit := 1.2 * scatter[0] / want // a fifth more than expected
	var flows []float64
	r := &Result{Drift: drifts[:1]}
	for sc := bufio.NewScanner(f); sc.Scan(); {
		_, cell, ok := strings.Cut(sc.Text(), ",")
		if flow, err := strconv.ParseFloat(cell, 64); ok && err == nil {
			flows = append(flows, flow)
			r.Dives = append(r.Dives, DiveFit{raw: []raw{{mean: flow * unit}}})
		}
	}
	require.Len(t, r.Dives, 100)
	learnt := math.Sqrt(r.Scatter(100)[0]) / unit
	assert.InEpsilon(t, want, learnt, 0.09)
	sum := 0.0
	for i := 1; i < len(flows); i++ {
		sum += sq(flows[i] - flows[i-1])
	}
	assert.InEpsilon(t, math.Sqrt(sum/99/2), learnt, 0.03)
}
