package fit_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// repeated has every dive's lines again and again, a little later each time, until it has so many.
func (s *simulated) repeated(lines int) {
	for d := range s.log.Dives {
		dive := &s.log.Dives[d]
		for n := len(dive.Lines); len(dive.Lines) < lines; {
			l := dive.Lines[len(dive.Lines)-n]
			l.Minute.X += 0.01
			dive.Lines = append(dive.Lines, l)
		}
	}
}

// contradicting has every other current of a log doubled.
func (s *simulated) contradicting() {
	for d := range s.log.Dives {
		double := false
		for i := range s.log.Dives[d].Lines {
			if x := &s.log.Dives[d].Lines[i].Readings[quantity.CurrentA]; x.Measured() {
				if double {
					x.X *= 2
				}
				double = !double
			}
		}
	}
}

// Dives of very many lines whose readings contradict each other are told, and those whose readings do not are not.
func TestManyLinesContradict(t *testing.T) {
	for _, bad := range []bool{false, true} {
		s := simulatedLog(8, simulate.Season{Dives: 3})
		s.repeated(400)
		if bad {
			s.contradicting()
		}
		r := s.fit(t, nil)
		for d := range r.Dives {
			assert.Equal(t, bad, r.Dives[d].Summary.Contradicts, "dive %d", d+1)
		}
	}
}

// BenchmarkLines are logs of dives of so many lines: 28 dives as people write them down at most, and three of many more.
func BenchmarkLines(b *testing.B) {
	for name, c := range map[string]struct {
		dives, lines int
		bad          bool
	}{
		"28 dives of 30": {28, 30, false}, "3 dives of 1000": {3, 1000, false},
		"3 contradictory dives of 1000": {3, 1000, true}, "3 contradictory dives of 5000": {3, 5000, true},
	} {
		s := simulatedLog(8, simulate.Season{Dives: c.dives})
		s.repeated(c.lines)
		if c.bad {
			s.contradicting()
		}
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := fit.Fit(s.vehicle, s.log); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N*c.dives*c.lines), "µs/line")
		})
	}
}

// BenchmarkAbsurd is a vehicle that nobody has, of the ends of all ranges, with readings that it cannot have made: none of its
// calibrations converges soon.
func BenchmarkAbsurd(b *testing.B) {
	toml, err := os.Open("testdata/absurd-steps/vehicle.toml")
	require.NoError(b, err)
	defer toml.Close()
	v, err := vehicle.Read(toml, vehicle.FileName)
	require.NoError(b, err)
	csv, err := os.Open("testdata/absurd-steps/dives.csv")
	require.NoError(b, err)
	defer csv.Close()
	log, err := session.Read(csv, session.FileName)
	require.NoError(b, err)
	for b.Loop() {
		if _, err := fit.Fit(v, log); err != nil {
			b.Fatal(err)
		}
	}
}
