//go:build !mutation

package session

import (
	"bytes"
	"fmt"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestTooManyBytes(t *testing.T) {
	if testing.Short() {
		t.Skip("reads 256 MiB")
	}
	_, err := Read(strings.NewReader(strings.Repeat("#", MaxBytes+1)), "dives.csv")
	assert.EqualError(t, err, "dives.csv: found more than 268435456 bytes, want at most that many")
}

// A log takes no more memory than eight times its file and 64 MiB, whatever
// stands on its lines: much, next to nothing, all numbers, a dive each, or one
// dive alone.
func TestMemoryOfALongLog(t *testing.T) {
	if testing.Short() {
		t.Skip("reads a hundred thousand lines, five times")
	}
	one := func(header, first, line string, n int) []byte {
		return []byte(header + first + strings.Repeat(line, n-2))
	}
	var each bytes.Buffer
	each.WriteString("dive,date\n")
	for d := range MaxLines - 1 {
		fmt.Fprintf(&each, "%d,2026-05-02\n", d)
	}
	numbers := "dive,date,minute,battery_v,current_a,vehicle_v,depth_m,tether_out_m,run_m,run_s,run_back_s,climb_m,climb_s,trim_g,pull_n,loop_ohm,insulation_megohm,water_c,salinity_psu,ballast_g\n"
	for name, text := range map[string][]byte{
		"as people keep it": manyLines(MaxLines - 1),
		"next to nothing":   one("dive,date\n", "1,2026-05-02\n", "1\n", MaxLines),
		"all numbers":       one(numbers, "1,2026-05-02\n", "1,,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1\n", MaxLines),
		"carried":           one("dive,date,tether_out_m,water_c\n", "1,2026-05-02,1,1\n", "1\n", MaxLines),
		"a dive each":       each.Bytes(),
	} {
		var before, after runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&before)
		log, err := Read(bytes.NewReader(text), "dives.csv")
		require.NoError(t, err, name)
		runtime.GC()
		runtime.ReadMemStats(&after)
		got, most := after.HeapAlloc-before.HeapAlloc, uint64(8*len(text)+64<<20)
		t.Logf("%s: %d MiB for %d", name, got>>20, len(text)>>20)
		assert.Less(t, got, most, name)
		runtime.KeepAlive(log)
	}
}
