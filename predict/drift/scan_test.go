package drift

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/fit"
	"sagline/predict/vehicle"
	"sagline/session"
)

// The border trick of scan gives the same evidence as solving each hypothesis
// whole; only the sign of faults believed already is taken at base.
func TestScanMatchesWholeSolve(t *testing.T) {
	a := exampleAnalysis(t)
	n := len(a.r.Dives) - 1
	loop := hypothesis{0, Ramp, 9}
	for _, active := range [][]hypothesis{nil, {loop}} {
		st := state{active: active}
		base := a.solve(active, n)
		got := a.scanner(st, base, n).scan(st)
		for f := range a.faults {
			if st.has(f) || a.faults[f].param == within {
				continue
			}
			total := math.Inf(-1)
			for d := a.first(f); d <= n; d++ {
				for _, pattern := range []string{Step, Ramp} {
					if pattern == Ramp && d == n {
						continue
					}
					h := hypothesis{f, pattern, d}
					total = logAdd(total, a.solve(append(active[:len(active):len(active)], h), n).log+math.Log(hazard/2))
				}
			}
			assert.InDelta(t, total, got[f].total(), 0.05, "%s beside %v", a.faults[f].name, active)
		}
	}
}

// exampleAnalysis is the shipped season with a corroding joint, before its
// service.
func exampleAnalysis(t *testing.T) *analysis {
	v, err := vehicle.Open("../../examples/joint")
	require.NoError(t, err)
	log, err := session.Open("../../examples/joint")
	require.NoError(t, err)
	log.Dives = log.Dives[:18]
	r, err := fit.Fit(v, log, nil)
	require.NoError(t, err)
	a := newAnalysis(r)
	for n := r.Baseline; n < len(r.Dives); n++ {
		a.learn(n)
	}
	return a
}

// An alarm needs no later dive: the log cut off at the alarm's dive raises it,
// the log cut off before does not.
func TestAlarmsAreCausal(t *testing.T) {
	v, err := vehicle.Open("../../examples/joint")
	require.NoError(t, err)
	whole, err := session.Open("../../examples/joint")
	require.NoError(t, err)
	for n, want := range map[int]int{11: 0, 12: 1} {
		log := *whole
		log.Dives = whole.Dives[:n]
		r, err := fit.Fit(v, &log, nil)
		require.NoError(t, err)
		assert.Len(t, Analyse(r).Alarms, want, "after dive %d", n)
	}
}

// Every number of a report is finite, from the first dive on.
func TestReportsAreFinite(t *testing.T) {
	v, err := vehicle.Open("../../examples/joint")
	require.NoError(t, err)
	whole, err := session.Open("../../examples/joint")
	require.NoError(t, err)
	for n := 1; n <= len(whole.Dives); n += 3 {
		log := *whole
		log.Dives = whole.Dives[:n]
		r, err := fit.Fit(v, &log, nil)
		require.NoError(t, err)
		for _, tr := range Analyse(r).Trends {
			es := append([]Estimate{tr.Level}, tr.Believed...)
			if tr.PerDive != nil {
				es = append(es, *tr.PerDive, *tr.DivesToLimit)
			}
			for _, e := range es {
				assert.False(t, math.IsNaN(e.Value+e.Low+e.High) || math.IsInf(e.Value+e.Low+e.High, 0), "%s after dive %d: %+v", tr.Quantity, n, e)
				assert.True(t, e.Low <= e.Value && e.Value <= e.High, "%s after dive %d: %+v", tr.Quantity, n, e)
			}
			assert.Len(t, tr.Believed, n)
		}
	}
}

func BenchmarkAnalyse(b *testing.B) {
	v, _ := vehicle.Open("../../examples/sound")
	log, err := session.Open("../../examples/sound")
	if err != nil {
		b.Fatal(err)
	}
	r, err := fit.Fit(v, log, nil)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		Analyse(r)
	}
}
