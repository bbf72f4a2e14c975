package drift

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/lapack/lapack64"

	"sagline/predict/findings"
	"sagline/predict/normal"
)

const places = 4

// dives are blocks of one dive each, of random information.
func dives(rng *rand.Rand, n int) []block {
	out := make([]block, n)
	for d := range out {
		l := normal.Likelihood{Info: make([]float64, places*places), Lin: make([]float64, places), Log: rng.NormFloat64()}
		for range places + 1 {
			var row [places]float64
			for i := range row {
				row[i] = rng.NormFloat64()
				l.Lin[i] += rng.NormFloat64() * row[i]
			}
			for i, x := range row {
				for j, y := range row {
					l.Info[i*places+j] += x * y
				}
			}
		}
		out[d] = ofDive(d, "", l)
	}
	return out
}

// joined are the blocks joined by twos.
func joined(blocks []block) []block {
	var out []block
	for i := 0; i < len(blocks); i += 2 {
		out = append(out, join(&blocks[i], &blocks[i+1]))
	}
	return out
}

func columns(offset float64) []column {
	return []column{
		{terms: []placed{{1, 1}}, sd: 0.5, onset: 0, pattern: findings.Step, cause: -1},
		{terms: []placed{{2, 1}, {3, -2}}, sd: 0.3, onset: -3, pattern: findings.Ramp, cause: -1},
		{terms: []placed{{0, 1}}, sd: 0.2, onset: 4, pattern: findings.Ramp, cause: -1},
		{terms: []placed{{2, 1}}, sd: offset, onset: 0, pattern: findings.Step, cause: -1},
	}
}

// solved is the state of two static places and columns after some blocks, with the covariance.
func solved(t *testing.T, blocks []block, cols []column) *state {
	static := []int{0, 3}
	s := (&state{n: 2, info: []float64{1, 0, 0, 1}, lin: make([]float64, 2)}).grown(len(cols))
	for c := range cols {
		s.info[(2+c)*s.n+2+c] = 1 / sq(cols[c].sd)
	}
	for i := range blocks {
		s.addBlock(static, &blocks[i], 1)
		s.addColumns(static, cols, &blocks[i], 1, newProduct(places))
	}
	require.True(t, s.solve())
	lapack64.Potri(s.triangle())
	return s
}

func TestBlocksSayWhatTheirDivesSay(t *testing.T) {
	single := dives(rand.New(rand.NewPCG(1, 2)), 8)
	want := solved(t, single, columns(1))
	for _, blocks := range [][]block{joined(single), joined(joined(single)), append(joined(joined(single[:4])), joined(single[4:])...)} {
		got := solved(t, blocks, columns(1))
		assert.InDeltaSlice(t, want.lin, got.lin, 1e-9)
		assert.InDeltaSlice(t, want.info, got.info, 1e-9)
		assert.InDelta(t, want.log, got.log, 1e-9)
	}
}

// A block that is free of a place says what its dives say with one more value
// there, of which nothing more is asked.
func TestFreedBlocks(t *testing.T) {
	const sd = 0.7
	single := dives(rand.New(rand.NewPCG(3, 4)), 4)
	offset := solved(t, single, columns(sd))
	all := joined(joined(single))
	all[0].free(2, sd)
	freed := solved(t, all, columns(sd)[:3])
	n := freed.n
	assert.InDeltaSlice(t, offset.lin[:n], freed.lin, 1e-9)
	for i := range n {
		assert.InDeltaSlice(t, offset.info[i*offset.n:i*offset.n+n], freed.info[i*n:(i+1)*n], 1e-9)
	}
	single[1].free(2, sd)
	assert.NotEqual(t, all[0].info[0], single[1].info[0])
}

// A dive that reads x ± sd of a place and is free of it there says how likely x is of any level within the wider deviation.
func TestFreedDivesSayHowLikelyTheyAre(t *testing.T) {
	const x, sd, wide = 0.3, 0.1, 0.2
	b := ofDive(0, "", normal.Likelihood{Info: []float64{1 / (sd * sd)}, Lin: []float64{x / (sd * sd)}, Log: -0.5 * x * x / (sd * sd)})
	b.free(0, wide)
	assert.InDelta(t, -0.5*x*x/(sd*sd+wide*wide)-0.5*math.Log(1+wide*wide/(sd*sd)), b.log, 1e-12)
}

// What a block tells of an amplitude at one place is its row there, as often as a unit of the amplitude counts.
func TestProductOfOnePlace(t *testing.T) {
	single := dives(rand.New(rand.NewPCG(7, 8)), 2)
	all := join(&single[0], &single[1])
	for _, per := range []float64{1, -0.5} {
		for _, b := range []*block{&single[0], &all} {
			o := newProduct(places)
			o.of(b, &column{terms: []placed{{2, per}}})
			for i, x := range b.info[0][2*places : 3*places] {
				assert.InDelta(t, per*x, o.by[0][i], 1e-12, "%g of %d dives", per, b.dives)
			}
		}
	}
}

func TestSpacing(t *testing.T) {
	for age, want := range map[int]int{0: 1, 1: 1, 48: 1, 49: 4, 63: 4, 64: 8, 127: 8, 128: 16, 10000: 1024} {
		assert.Equal(t, want, spacing(age), age)
	}
}

// Blocks of two batteries are of several, and stay so.
func TestMixedBatteries(t *testing.T) {
	of := func(battery string) block {
		b := dives(rand.New(rand.NewPCG(5, 6)), 1)[0]
		b.battery = battery
		return b
	}
	a, b := of("A"), of("B")
	same, mixed := join(&a, &a), join(&a, &b)
	assert.False(t, same.mixed)
	assert.True(t, mixed.mixed)
	for _, other := range []block{join(&mixed, &same), join(&same, &mixed)} {
		assert.True(t, other.mixed)
	}
}
