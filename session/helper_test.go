package session

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"sagline/session/quantity"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

const header = "dive,date,minute,thrusters,held,battery_v,run_m,run_s,run_back_s,depth_ft,water_c,ballast_g,serviced,note\n"

func read(t *testing.T, text string) *Log {
	t.Helper()
	log, err := Read(strings.NewReader(text), "dives.csv")
	require.NoError(t, err)
	return log
}

func written(t *testing.T, log *Log, columns ...string) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, Write(&b, columns, log))
	return b.String()
}

// rounding is what a value may change by, relative, when it is written in
// another unit and read back: a handful of operations in float64.
const rounding = 1e-12

// difference says where two logs differ, "" where they do not: in anything
// but line numbers and the columns that values are from. Where within is 0
// values and columns must be identical.
func difference(a, b *Log, within float64) string {
	if len(a.Dives) != len(b.Dives) {
		return fmt.Sprintf("%d dives, %d", len(a.Dives), len(b.Dives))
	}
	most := 1.0 // of the ballast, which is a sum of changes
	for i := range a.Dives {
		x, y := &a.Dives[i], &b.Dives[i]
		if x.Label != y.Label || !x.Date.Equal(y.Date) || x.Battery != y.Battery || len(x.Lines) != len(y.Lines) {
			return fmt.Sprintf("dive %v of %d lines, %v of %d", x, len(x.Lines), y, len(y.Lines))
		}
		for k := range x.Lines {
			most = max(most, math.Abs(x.Lines[k].BallastG))
			if d := lineDifference(&x.Lines[k], &y.Lines[k], within, most); d != "" {
				return fmt.Sprintf("dive %v line %d: %s", x, k, d)
			}
		}
	}
	return ""
}

func lineDifference(a, b *Line, within, ballast float64) string {
	switch {
	case a.Electrical != b.Electrical || a.Lights != b.Lights || a.Held != b.Held:
		return "switches"
	case !slices.Equal(a.Drives, b.Drives):
		return fmt.Sprintf("drives %v, %v", a.Drives, b.Drives)
	case !slices.Equal(a.Serviced, b.Serviced):
		return fmt.Sprintf("serviced %q, %q", a.Serviced, b.Serviced)
	case a.Note != b.Note:
		return fmt.Sprintf("note %q, %q", a.Note, b.Note)
	case a.Salinity != b.Salinity:
		return fmt.Sprintf("salinity %g, %g", a.Salinity, b.Salinity)
	case math.Abs(a.BallastG-b.BallastG) > rounding*ballast:
		return fmt.Sprintf("ballast %g, %g", a.BallastG, b.BallastG)
	}
	values := func(l *Line) []Value {
		return append([]Value{l.Minute, l.Depth, l.TetherOut, l.WaterC, l.Back}, readingsOf(l)...)
	}
	x, y := values(a), values(b)
	for i := range x {
		if !sameValue(x[i], y[i], within) {
			return fmt.Sprintf("value %d: %+v, %+v", i, x[i], y[i])
		}
	}
	return ""
}

func readingsOf(l *Line) (out []Value) {
	for q := range quantity.Count {
		out = append(out, l.Readings[q])
	}
	return out
}

func sameValue(a, b Value, within float64) bool {
	if within == 0 {
		return a == b
	}
	if a.Measured() != b.Measured() {
		return false
	}
	least := 0.0
	if a.Measured() && a.Column.Quantity == "water" {
		least = 32 * 5.0 / 9 // near 0 °C it is the offset of °F that rounds
	}
	near := func(x, y float64) bool { return math.Abs(x-y) <= within*max(math.Abs(x), math.Abs(y), least) }
	return near(a.X, b.X) && near(a.Run, b.Run)
}

// finite fails on a number of a log that is not, and returns the log's columns
// that are in the table.
func finite(t *testing.T, log *Log) (known []string) {
	t.Helper()
	for _, d := range log.Dives {
		for _, l := range d.Lines {
			for _, v := range append([]Value{l.Minute, l.Depth, l.TetherOut, l.WaterC, {X: l.Salinity}, {X: l.BallastG}}, readingsOf(&l)...) {
				if sum := v.X + v.Entered + v.Run; math.IsNaN(sum) || math.IsInf(sum, 0) {
					t.Fatalf("line %d: %+v", l.Number, v)
				}
			}
		}
	}
	for _, c := range log.Columns {
		if _, ok := Find(c); ok {
			known = append(known, c)
		}
	}
	return known
}

// leftIn names the files of a folder, but for the lock that stays on Windows.
func leftIn(t *testing.T, dir string) (names []string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range entries {
		if e.Name() != ".dives.lock" {
			names = append(names, e.Name())
		}
	}
	return names
}
