package simulate

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sagline/predict"
	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/disk"
)

// A club's archive: 200 vehicles of one design, 83,400 dives, 1,000,800 lines.
const (
	archiveVehicles = 200
	archiveDives    = 417
)

// career is a vehicle's years: every fifth stays sound; the others have a
// joint or a tether that corrodes and is re-made, a propeller that fouls and is
// cleaned, or a seal that weeps to the end; slips of the pen in all of them.
func career(number, dives int) Season {
	s := Season{Dives: dives, Start: time.Date(2018, 3, 1, 0, 0, 0, 0, time.UTC), Seed: uint64(number), Slips: 0.002, Service: map[int][]string{}}
	const every = 60
	age := func(d int) float64 { return float64(max(0, d%every-20)) }
	part := ""
	switch number % 5 {
	case 1:
		part, s.Drift = "joint", func(d int, p predict.Params) { p[predict.LoopOhm] += 0.01 * age(d) }
	case 2:
		part, s.Drift = "tether", func(d int, p predict.Params) { p[predict.LoopOhm] += 0.003 * age(d) }
	case 3:
		part, s.Drift = "propeller", func(d int, p predict.Params) { p[predict.LogThrust] -= 0.01 * age(d) }
	case 4:
		s.Drift = func(d int, p predict.Params) { p[predict.TrimG] -= 0.5 * max(0, float64(d-dives/2)) }
	}
	for d := every; part != "" && d <= dives; d += every {
		s.Service[d] = []string{part}
	}
	return s
}

// writeCareer makes a vehicle's logbook.
func writeCareer(dir string, number, dives int) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	text := strings.Replace(VehicleText, "Puddle Otter", fmt.Sprintf("Puddle Otter %d", number), 1)
	v, err := vehicle.Read(strings.NewReader(text), vehicle.FileName)
	if err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(dir, vehicle.FileName), []byte(text), 0o644); err != nil {
		return err
	}
	log := Log(v, career(number, dives))
	return disk.Save(filepath.Join(dir, session.FileName), func(w io.Writer) error {
		if _, err := io.WriteString(w, "# simulated: an invented vehicle in invented water\n"); err != nil {
			return err
		}
		return session.Write(w, Columns, log)
	})
}

// TestWriteArchive makes the whole archive, for timing whole commands on it,
// where ARCHIVE names a folder.
func TestWriteArchive(t *testing.T) {
	folder := os.Getenv("ARCHIVE")
	if folder == "" {
		t.Skip("ARCHIVE names no folder")
	}
	for i := range archiveVehicles {
		if err := writeCareer(filepath.Join(folder, fmt.Sprintf("v%03d", i)), i, archiveDives); err != nil {
			t.Fatal(err)
		}
	}
}

// BenchmarkArchive is one vehicle of each kind of the archive, from its files
// to its report.
func BenchmarkArchive(b *testing.B) {
	for kind := range 5 {
		dir := b.TempDir()
		if err := writeCareer(dir, kind, archiveDives); err != nil {
			b.Fatal(err)
		}
		v, err := vehicle.Open(dir)
		if err != nil {
			b.Fatal(err)
		}
		log, err := session.Open(dir)
		if err != nil {
			b.Fatal(err)
		}
		r, err := fit.Fit(v, log)
		if err != nil {
			b.Fatal(err)
		}
		parts := []struct {
			name string
			do   func() error
		}{
			{"read", func() error { _, err := session.Open(dir); return err }},
			{"fit", func() error { _, err := fit.Fit(v, log); return err }},
			{"analyse", func() error { drift.Analyse(r); return nil }},
		}
		for _, p := range parts {
			b.Run(fmt.Sprintf("kind=%d/%s", kind, p.name), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					if err := p.do(); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N)/archiveDives, "µs/dive")
			})
		}
	}
}
