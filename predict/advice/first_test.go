package advice

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

func normals() func() float64 { return rand.New(rand.NewPCG(1, 2)).NormFloat64 }

func reading(t *testing.T, all []FirstReading, q quantity.Quantity, held bool) FirstReading {
	t.Helper()
	for _, r := range all {
		if r.Quantity == q && r.Held == held && r.Thrusters == "port + starboard" {
			return r
		}
	}
	t.Fatalf("no reading of %v", q)
	return FirstReading{}
}

// What is measured narrows the first readings, and the key that is named would
// narrow them most: a test current first, then the pull.
func TestFirstNarrows(t *testing.T) {
	v := vehicle.Example()
	before, keys := First(v, normals())
	assert.Regexp(t, `^thruster\..*\.test_a$`, keys[0].Path)
	assert.Greater(t, keys[0].Share, 0.3)
	for _, name := range []string{"port", "starboard", "vertical"} {
		require.NoError(t, v.Set("thruster."+name+".test_a=5"))
		require.NoError(t, v.Set("thruster."+name+".test_v=12"))
	}
	after, keys := First(v, normals())
	assert.Regexp(t, `^thruster\..*\.test_n$`, keys[0].Path)
	a, b := reading(t, before, quantity.CurrentA, true), reading(t, after, quantity.CurrentA, true)
	assert.Less(t, b.High-b.Low, (a.High-a.Low)/2)
	for _, r := range after {
		assert.Less(t, r.Low, r.Median, "%v", r)
		assert.Less(t, r.Median, r.High, "%v", r)
	}
}

// A vehicle that the file allows reads on its first dive what was foreseen, 95
// times in 100.
func TestFirstHolds(t *testing.T) {
	v := vehicle.Example()
	foreseen, _ := First(v, normals())
	other := rand.New(rand.NewPCG(7, 8)).NormFloat64
	inside, all := 0, 0
	for range 300 {
		w, rest := v.Draw(other), restVoltage(v, other)
		at := 0
		for _, run := range firstRuns(v) {
			for _, r := range run.solve(w, rest) {
				if x := r.Median + scatter(w, r)*other(); foreseen[at].Low <= x && x <= foreseen[at].High {
					inside++
				}
				all, at = all+1, at+1
			}
		}
	}
	assert.InDelta(t, 0.95, float64(inside)/float64(all), 0.025)
}
