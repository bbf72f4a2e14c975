package session

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"
	"testing"
)

// manyLines is a log of dives of 20 lines in the columns of a usual season.
func manyLines(lines int) []byte {
	var b bytes.Buffer
	b.WriteString("dive,date,minute,thrusters,held,battery_v,current_a,vehicle_v,depth_m,tether_out_m,speed_m_s,climb_m_s,trim_g,pull_n,ballast_g,water_c,salinity_psu,serviced,note\n")
	for i := range lines {
		if i%20 == 0 {
			fmt.Fprintf(&b, "%d,2026-05-02,0,off,,12.84,,,0.0,12.0,,,43,,,12.1,0.0,,begin\n", i/20)
			continue
		}
		fmt.Fprintf(&b, "%d,,%d,port + starboard,,12.%02d,9.%d,6.01,3.%d,14.5,0.4%d,,%d,,,,,,\n", i/20, i%20, i%97, i%10, i%10, i%9, i%50)
	}
	return b.Bytes()
}

func BenchmarkRead(b *testing.B) {
	text := manyLines(MaxLines - 1)
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Read(bytes.NewReader(text), "dives.csv"); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkSplitAndParse is the least any reader must do, to hold
// BenchmarkRead against.
func BenchmarkSplitAndParse(b *testing.B) {
	text := manyLines(MaxLines - 1)
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		r := csv.NewReader(bytes.NewReader(text))
		r.ReuseRecord = true
		sum := 0.0
		for {
			row, err := r.Read()
			if err == io.EOF {
				break
			}
			if err != nil {
				b.Fatal(err)
			}
			for _, c := range row {
				if x, err := strconv.ParseFloat(strings.TrimSpace(c), 64); err == nil {
					sum += x
				}
			}
		}
		if sum == 0 {
			b.Fatal("nothing read")
		}
	}
}
