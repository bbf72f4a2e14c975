package drift

import (
	"bufio"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"sagline/predict/fit"
)

// nile is the annual flow of the Nile at Aswan, 1871–1970, 10⁸ m³ (Cobb,
// Biometrika 65, 1978; R datasets::Nile).
func nile(t *testing.T) (flow []float64) {
	f, err := os.Open("testdata/nile.csv")
	require.NoError(t, err)
	defer f.Close()
	for sc := bufio.NewScanner(f); sc.Scan(); {
		_, cell, ok := strings.Cut(sc.Text(), ",")
		if x, err := strconv.ParseFloat(cell, 64); ok && err == nil {
			flow = append(flow, x)
		}
	}
	require.Len(t, flow, 100)
	return flow
}

// series is an analysis of plain numbers with one standard deviation: a level
// that is hardly known and may step or ramp down.
func series(x []float64, sd, step, ramp float64) *analysis {
	a := &analysis{r: &fit.Result{Shared: []int{0}, Dives: make([]fit.DiveFit, len(x))},
		faults: []fault{{name: "level", param: 0, worse: -1, step: step, ramp: ramp}}, place: []int{0}, epoch: []int{0},
		prec: mat.NewSymDense(1, []float64{1e-10}), start: []float64{0}}
	for d, v := range x {
		one := a.firm.change(d, 1)
		one.info[0][0], one.lin[0][0] = 1/(sd*sd), v/(sd*sd)
	}
	a.firm.settle()
	return a
}

// The flow steps down once, after 1898: R's strucchange 1.5-3 finds the break
// after observation 28, with means 1097.75 and 849.9722 and a residual sum of
// squares of 1597457.19.
func TestChangePointOfTheNile(t *testing.T) {
	a := series(nile(t), 127.67, 5000, 50) // √(1597457/98); a step of any size
	n := len(a.firm.dives) - 1
	found := a.scanner(state{}, a.solve(nil, n), n).scan(state{})[0]
	assert.Equal(t, hypothesis{0, Step, 28}, found.best, "the first of the new level is 1899")
	p := a.solve([]hypothesis{found.best}, n)
	assert.InDelta(t, 1097.75, p.mean[0], 0.1)
	assert.InDelta(t, 849.9722, p.mean[0]-p.mean[1], 0.1)
	st := a.believe(n)
	require.Len(t, st.active, 1)
	assert.Greater(t, st.odds[0], certain)
	// with a step of a plausible size in mind it is told in 1904, before which
	// nothing is
	a = series(nile(t), 127.67, 250, 25)
	for k := 5; k <= 35; k++ {
		st := a.believe(k)
		assert.Equal(t, k >= 33, len(st.active) > 0 && st.odds[0] > certain, "in %d", 1871+k)
	}
}
