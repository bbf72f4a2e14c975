package session

import (
	"bytes"
	"encoding/csv"
	"errors"
	"sagline/session/quantity"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// What is written reads back as it was, but for rounding.
func TestWriteReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		log := aLog(t)
		for _, columns := range [][]string{metric, imperial} {
			var b bytes.Buffer
			require.NoError(t, Write(&b, columns, log))
			again, err := Read(bytes.NewReader(b.Bytes()), "dives.csv")
			require.NoError(t, err, b.String())
			assert.Empty(t, difference(log, again, rounding), b.String())
		}
	})
}

// A file that holds what carries where it changes is written as it was.
func TestWriteIsAsEntered(t *testing.T) {
	for _, text := range []string{
		"dive,date,minute,battery_v,water_c,salinity_psu,ballast_g\n1,2026-05-02,1,12.7,9,0,0.1\n1,,2,12.65,,,0.2\n1,,3,,8.5,33,-0.3\n2,2026-05-03,1,,,0,\n",
		"dive,date,run_ft,run_s,run_back_s,speed_kn,climb_ft,climb_s\n1,2026-05-02,50,21.3,30.7,,,\n1,,50,21.3,,,-3,12\n1,,,,,0.95,0,4\n",
		"time,dive,thrusters,lights,held,serviced,date\n23:50,1,off,on,,seal+joint,2026-05-02\n00:10:30,1,port + lift astern,,yes,,\n",
		"dive,date,depth_ft,trim_oz,pull_lbf,pull_n\n",
	} {
		text = strings.Replace(text, ",pull_lbf,pull_n", ",pull_lbf", 1)
		log := read(t, text)
		assert.Equal(t, text, written(t, log, log.Columns...))
	}
}

// 10 ft are 3.048 m, and written in feet again they are 10, not
// 10.000000000000002.
func TestWriteHasNoMoreDigitsThanNeeded(t *testing.T) {
	log := read(t, "dive,date,depth_m,water_c,trim_g,pull_n\n1,2026-05-02,3.048,37,453.59237,9.80665\n")
	assert.Equal(t, "dive,date,depth_ft,water_f,trim_oz,pull_kgf\n1,2026-05-02,10,98.6,16,1\n",
		written(t, log, "dive", "date", "depth_ft", "water_f", "trim_oz", "pull_kgf"))
}

// Where the columns of a timed run are missing the speed is what is kept.
func TestTimedRunsInOtherColumns(t *testing.T) {
	log := read(t, "dive,date,run_m,run_s,run_back_s\n1,2026-05-02,10,20,40\n1,,10,20,\n")
	assert.Equal(t, "dive,date,speed_m_s\n1,2026-05-02,0.375\n1,,0.5\n", written(t, log, "dive", "date", "speed_m_s"))
	one := read(t, written(t, log, "dive", "date", "run_m", "run_s"))
	assert.InDelta(t, 0.375, one.Dives[0].Lines[0].Readings[quantity.Speed].X, 1e-15, "one way at the mean speed")
	assert.Equal(t, "dive,date,run_s\n1,2026-05-02,\n1,,\n", written(t, log, "dive", "date", "run_s"), "seconds alone say nothing")
}

// No cell of text starts what a spreadsheet would run, nor a comment.
func TestTextIsHarmless(t *testing.T) {
	line := Line{Electrical: true, Drives: []Drive{{"@port", false}}}
	for _, s := range []string{"=1+1", "+1", "-1", "@sum", "\t=1", "\r=1", "#1", " =1", "'=1", "''-1"} {
		l := line
		l.Note = s
		log := &Log{Dives: []Dive{{Label: s, Lines: []Line{l}}}}
		rows, err := csv.NewReader(strings.NewReader(written(t, log, "dive", "date", "thrusters", "note"))).ReadAll()
		require.NoError(t, err)
		for _, i := range []int{0, 2, 3} {
			assert.Equal(t, "'", rows[1][i][:1], "%q", s)
		}
	}
	log := &Log{Dives: []Dive{{Label: "1", Lines: []Line{{Note: "'twas \xff\r\ncalm"}}}}}
	assert.Equal(t, "dive,date,note\n1,,\"'twas \ufffd\ncalm\"\n", written(t, log, "dive", "date", "note"))
}

func TestWriteLeavesOutWhatNoColumnIsFor(t *testing.T) {
	log := read(t, "dive,date,minute\n1,2026-05-02,2\n")
	assert.Equal(t, "dive,minute\n1,2\n", written(t, log, "dive", "minute"), "no day is needed")
	assert.Equal(t, "dive,date,minute,time\n1,2026-05-02,2,\n", written(t, log, "dive", "date", "minute", "time"))
}

func TestClockAsMinutes(t *testing.T) {
	log := read(t, "dive,date,time\n1,2026-05-02,10:30\n1,,10:45\n")
	assert.Equal(t, "dive,date,minute\n1,2026-05-02,0\n1,,15\n", written(t, log, "dive", "date", "minute"))
}

type fullDisk struct{ left int }

func (d *fullDisk) Write(p []byte) (int, error) {
	if d.left -= len(p); d.left < 0 {
		return 0, errFull
	}
	return len(p), nil
}

var errFull = errors.New("disk full")

func TestWriteTellsOfAFullDisk(t *testing.T) {
	log := read(t, "dive,date,note\n1,2026-05-02,"+strings.Repeat("x", 9000)+"\n1,,"+strings.Repeat("x", 9000)+"\n")
	for _, left := range []int{0, 5000, 10000} {
		assert.ErrorIs(t, Write(&fullDisk{left}, []string{"dive", "date", "note"}, log), errFull)
	}
}
