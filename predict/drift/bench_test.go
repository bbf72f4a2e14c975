package drift_test

import (
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"sagline/predict"
	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
)

func BenchmarkLog(b *testing.B) {
	dir := os.Getenv("LOGBOOK")
	if dir == "" {
		dir = "../../examples/joint"
	}
	v, log := folder(b, dir)
	for b.Loop() {
		f, err := fit.Fit(v, log)
		if err != nil {
			b.Fatal(err)
		}
		drift.Analyse(f)
	}
}

// BenchmarkDives is a log of many dives in which a joint corrodes over and over,
// and is re-made each time after thirty dives.
func BenchmarkDives(b *testing.B) {
	v, err := vehicle.Read(strings.NewReader(simulate.VehicleText), vehicle.FileName)
	if err != nil {
		b.Fatal(err)
	}
	for _, dives := range []int{30, 100, 400, 2000, 20000} {
		season := simulate.Season{Dives: dives, Start: time.Date(1900, 3, 8, 0, 0, 0, 0, time.UTC), Seed: 4, Service: map[int][]string{},
			Drift: func(d int, p predict.Params) { p[predict.LoopOhm] += 0.015 * max(float64(d%60)-30, 0) }}
		for d := 60; d <= dives; d += 60 {
			season.Service[d] = []string{"joint"}
		}
		log := simulate.Log(v, season)
		b.Run(strconv.Itoa(dives), func(b *testing.B) {
			for b.Loop() {
				f, err := fit.Fit(v, log)
				if err != nil {
					b.Fatal(err)
				}
				drift.Analyse(f)
			}
			b.ReportMetric(float64(b.Elapsed().Milliseconds())/float64(b.N*dives), "ms/dive")
		})
	}
}

func folder(tb testing.TB, dir string) (*vehicle.Vehicle, *session.Log) {
	f, err := os.Open(dir + "/" + vehicle.FileName)
	if err != nil {
		tb.Fatal(err)
	}
	defer f.Close()
	v, err := vehicle.Read(f, vehicle.FileName)
	if err != nil {
		tb.Fatal(err)
	}
	d, err := os.Open(dir + "/dives.csv")
	if err != nil {
		tb.Fatal(err)
	}
	defer d.Close()
	log, err := session.Read(d, "dives.csv")
	if err != nil {
		tb.Fatal(err)
	}
	return v, log
}
