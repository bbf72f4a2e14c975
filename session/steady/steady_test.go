package steady

import (
	"bufio"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The annual flow of the Nile at Aswan, 1871–1970 (Cobb, Biometrika 65, 1978;
// R datasets::Nile), changes its level once, after 1898: R's strucchange 1.5-3
// finds the break after observation 28, with means 1097.75 and 849.9722.
func TestBreakOfTheNile(t *testing.T) {
	r := &Record{Channels: []Channel{{}}}
	f, err := os.Open("testdata/nile.csv")
	require.NoError(t, err)
	defer f.Close()
	for sc := bufio.NewScanner(f); sc.Scan(); {
		year, flow, _ := strings.Cut(sc.Text(), ",")
		if x, err := strconv.ParseFloat(flow, 64); err == nil {
			y, _ := strconv.ParseFloat(year, 64)
			r.Time, r.Channels[0].X = append(r.Time, y), append(r.Channels[0].X, x)
		}
	}
	require.Len(t, r.Time, 100)
	for _, window := range []float64{16, 20, 25, 28} {
		cuts := newBlock(r, 0, 100, 1, Settings{WindowS: window}).cuts(0.05)
		assert.Equal(t, []int{28}, cuts, "windows of %g years", window)
	}
	st := Cut(r, Settings{WindowS: 20, SettleS: 1e-9, LeastS: 10, Risk: 0.05})
	require.Len(t, st, 2)
	assert.InDelta(t, 1097.75, st[0].Means[0].Value, 20, "five years before the change are left out")
	assert.InDelta(t, 849.97, st[1].Means[0].Value, 15, "as are as many after it")
}

// The limit holds the largest of the moving differences of independent noise
// about as often as it says; for windows that are a small part of the record
// it is known to be cautious.
func TestCriticalAgainstSimulation(t *testing.T) {
	const n, window, records = 4000, 40, 400
	rng := rand.New(rand.NewPCG(3, 1))
	limit, above := Critical(n/window, 0.1), 0
	for range records {
		c := binned{sum: make([]float64, n+1)}
		for i := range n {
			c.sum[i+1] = c.sum[i] + rng.NormFloat64()
		}
		most := 0.0
		for k := window; k <= n-window; k++ {
			most = max(most, math.Abs(c.mean(k, k+window)-c.mean(k-window, k))*math.Sqrt(window/2))
		}
		if most > limit {
			above++
		}
	}
	assert.InDelta(t, 0.1, float64(above)/records, 0.06)
}

// A dive as a logger sees it: at rest, both on, one on, at rest; the amps lag
// behind by most of a second, the battery sags.
var aDive = []phase{{20, 12.7, 0.1}, {30, 11.9, 9.6}, {25, 12.3, 5.2}, {20, 12.65, 0.1}}

func TestSwitchesAreFoundAndSettlingIsLeftOut(t *testing.T) {
	for _, hz := range []float64{1, 10, 100, 1000} {
		rng := rand.New(rand.NewPCG(5, uint64(hz)))
		r := noisy(rng, hz, aDive, 0.02, 0.15, 0, 0.7, 0.05)
		found := Cut(r, Settings{})
		require.Len(t, found, len(aDive), "at %g Hz", hz)
		begins := 0.0
		for i, st := range found {
			p := aDive[i]
			assert.GreaterOrEqual(t, r.Time[st.From], begins, "at %g Hz", hz)
			assert.LessOrEqual(t, r.Time[st.To-1], begins+p.seconds, "at %g Hz", hz)
			assert.Greater(t, r.Time[st.To-1]-r.Time[st.From], 0.5*p.seconds, "at %g Hz", hz)
			assert.InDelta(t, p.amps, st.Means[1].Value, 0.15, "at %g Hz", hz)
			assert.InDelta(t, p.volts-0.05*(begins+p.seconds/2)/60, st.Means[0].Value, 0.03, "at %g Hz", hz)
			begins += p.seconds
		}
	}
}

// A slow sag, however surely it is there, is no switch.
func TestSagIsNotCut(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	r := noisy(rng, 50, []phase{{600, 12.5, 9}}, 0.01, 0.1, 0.5, 0, 0.05)
	found := Cut(r, Settings{})
	require.Len(t, found, 1)
	assert.InDelta(t, -0.5, found[0].Means[0].Drift, 0.01)
	assert.Equal(t, len(r.Time), found[0].To-found[0].From)
}

func TestDropoutsNeitherCutNorBias(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for _, hz := range []float64{5, 200} {
		r := noisy(rng, hz, []phase{{120, 12, 8}}, 0.02, 0.15, 0, 0, 0)
		for range 6 {
			r.Channels[0].X[rng.IntN(len(r.Time))] = 0
			r.Channels[1].X[rng.IntN(len(r.Time))] = math.NaN()
		}
		found := Cut(r, Settings{})
		require.Len(t, found, 1, "at %g Hz", hz)
		assert.Equal(t, 6, found[0].Means[0].SetAside)
		assert.InDelta(t, 12, found[0].Means[0].Value, 0.004)
		assert.Equal(t, len(r.Time)-6, found[0].Means[1].N)
	}
}

func TestInterruptionsEndStretches(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 7))
	r := noisy(rng, 10, []phase{{60, 12, 8}}, 0.02, 0.15, 0, 0, 0)
	r.Breaks = []int{200}
	found := Cut(r, Settings{})
	require.Len(t, found, 2)
	assert.Equal(t, []int{0, 200, 200, 600}, []int{found[0].From, found[0].To, found[1].From, found[1].To})
}

// A sequence in which each value is phi of the last plus noise is worth
// n(1−phi)/(1+phi) independent ones (textbook result for AR(1)), and an
// interval of 1.96 standard errors holds its mean about 95 times in 100.
func TestEffectiveSamples(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 9))
	for _, phi := range []float64{0, 0.5, 0.9, 0.98} {
		const n, records = 4000, 300
		held, worth := 0, 0.0
		for range records {
			x := noisy(rng, 100, []phase{{n / 100, 0, 0}}, 1, 1, phi, 0, 0).Channels[0].X
			m := meanOf(make([]float64, n), x, 0)
			worth += m.Effective / records
			if math.Abs(m.Value) < 1.96*m.SE {
				held++
			}
		}
		assert.InEpsilon(t, n*(1-phi)/(1+phi), worth, 0.12, "phi %g", phi)
		assert.InDelta(t, 0.95, float64(held)/records, 0.04, "phi %g", phi)
	}
}

// Whatever the record: stretches lie in order, apart, within it and between
// its interruptions, are long enough, and their means lie among their samples.
func TestStretchesOfAnyRecord(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 400).Draw(t, "n")
		r := &Record{Channels: []Channel{{Least: rapid.SampledFrom([]float64{0, 0.1}).Draw(t, "least")}}}
		at := 0.0
		values := rapid.SampledFrom([]float64{0, 1, 1, 1, 12, math.NaN(), -5e3})
		for i := range n {
			at += rapid.SampledFrom([]float64{0, 0.1, 0.1, 0.1, 2}).Draw(t, "dt")
			r.Time, r.Channels[0].X = append(r.Time, at), append(r.Channels[0].X, values.Draw(t, "x"))
			if i > 0 && rapid.IntRange(0, 40).Draw(t, "break") == 0 {
				r.Breaks = append(r.Breaks, i)
			}
		}
		last := 0
		for _, st := range Cut(r, Settings{}) {
			if st.From < last || st.To > n || st.To <= st.From {
				t.Fatalf("%+v after %d of %d", st, last, n)
			}
			last = st.To
			for _, b := range r.Breaks {
				if st.From < b && b < st.To {
					t.Fatalf("%+v across %d", st, b)
				}
			}
			if m := st.Means[0]; m.N > 0 && (m.Value < -5e3 || m.Value > 12 || m.Effective < 1 || m.Effective > float64(m.N)) {
				t.Fatalf("%+v", m)
			}
		}
	})
}

// Noise alone is seldom cut: within ten minutes, at most a few in a hundred.
func TestSteadyNoiseIsSeldomCut(t *testing.T) {
	for _, c := range []struct{ hz, phi float64 }{{1, 0.5}, {10, 0.5}, {100, 0.9}} {
		rng := rand.New(rand.NewPCG(11, uint64(c.hz)))
		assert.LessOrEqual(t, falseCuts(rng, c.hz, c.phi, 600, 40), 0.1, "%+v", c)
	}
}

func BenchmarkCut(b *testing.B) {
	r := noisy(rand.New(rand.NewPCG(1, 1)), 1000, []phase{{300, 12, 8}, {300, 12.5, 0.1}, {400, 11.8, 9}}, 0.02, 0.15, 0.9, 0.7, 0.01)
	b.ReportAllocs()
	for b.Loop() {
		Cut(r, Settings{})
	}
	b.ReportMetric(float64(len(r.Time)), "samples")
}
