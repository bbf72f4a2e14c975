package fit_test

import (
	"testing"

	"sagline/predict/fit"
	"sagline/predict/simulate"
)

func bench(b *testing.B) *fit.Bench {
	v := simulate.Fleet(3)
	out, err := fit.NewBench(v, simulate.Log(v, simulate.Season{Dives: 6, Start: start, Seed: 2}))
	if err != nil {
		b.Fatal(err)
	}
	return out
}

// BenchmarkCalibrate is the calibration on five dives of twelve lines.
func BenchmarkCalibrate(b *testing.B) {
	t := bench(b)
	b.ReportAllocs()
	for b.Loop() {
		if err := t.Calibrate(5); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkDive is the fit of one dive of twelve lines.
func BenchmarkDive(b *testing.B) {
	t := bench(b)
	b.ReportAllocs()
	for b.Loop() {
		if err := t.Dive(5); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkFitSeason is a log of 28 dives, all of it.
func BenchmarkFitSeason(b *testing.B) {
	v := simulate.Fleet(3)
	log := simulate.Log(v, simulate.Season{Dives: 28, Start: start, Seed: 2})
	b.ReportAllocs()
	for b.Loop() {
		if _, err := fit.Fit(v, log, nil); err != nil {
			b.Fatal(err)
		}
	}
}
