package drift_test

import (
	"os"
	"testing"

	"sagline/predict/drift"
	"sagline/predict/fit"
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
		f, err := fit.Fit(v, log, nil)
		if err != nil {
			b.Fatal(err)
		}
		drift.Analyse(f)
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
