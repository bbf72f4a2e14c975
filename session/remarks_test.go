package session

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Each oddity by itself in a log that has no other; line 2 and 3 are a rested
// battery and a run, so that nothing else is missing.
func TestRemarks(t *testing.T) {
	const (
		head = "dive,date,thrusters,battery_v,current_a,vehicle_v,depth_m,tether_out_ft,water_c,salinity_psu,ballast_g,trim_g\n"
		dive = "1,2026-05-02,off,12.8,0,12.7,0,20,10,0,,40\n1,,port,12.1,5.2,10.1,3,20,,,,\n"
	)
	for _, c := range []struct{ what, rows, want string }{
		{"nothing", "", ""},
		{"deeper than the tether", "1,,port,12.0,5.1,10.0,9,20,,,,\n", `:4: column "depth_m": found 9 m with 20 ft of tether paid out: one of them is a slip`},
		{"as deep as it is paid out", "1,,port,12.0,5.1,10.0,0,0,,,,\n", ""},
		{"swapped", "1,,port,10.0,5.1,12.0,3,20,,,,\n", `:4: column "vehicle_v": found 12 V, above the battery's 10 V: swapped?`},
		{"a decimal point is another's", "1,,port,1.21,5.1,10.0,3,20,,,,\n", ""},
		{"unsaid", "1,,,12.0,5.1,,3,20,,,,\n", `:4: column "thrusters": empty beside battery_v, so that is not compared: write off, or which ran`},
		{"a bath", "1,,off,12.7,,,3,20,11,,,\n1,,off,12.7,,,3,20,16,,,\n2,2026-06-01,off,12.8,,,3,20,39,,,\n",
			`:6: column "water_c": found 39 °C, warmer than open water is: the right unit?`},
		{"a layer", "1,,off,12.7,,,3,20,19,,,\n", `:4: column "water_c": found 19 °C after 10 °C in the same dive: a layer of other water, or a slip?`},
		{"another water", "2,2026-05-03,off,12.7,,,3,20,21,,,\n",
			`:4: column "water_c": found 21 °C, 10 °C at the end of the dive of 2026-05-02: another water, or a slip?`},
		{"salt", "1,,off,12.7,,,3,20,,33,,\n",
			`:4: column "salinity_psu": found 33 after 0 in the same dive: the vehicle floats by as much more or less as its water weighs`},
		{"a year", "2,2028-05-03,off,12.7,,,3,20,,,,\n", `:4: column "date": found 2028-05-03, 732 days after the dive before: is the year right?`},
		{"no rest", "2,2026-05-03,port,12.0,5.1,10.0,3,20,,,,\n",
			`:4: column "battery_v": no reading at rest in dive "2": with thrusters off it is what the others fall from`},
		{"copied", "1,,port,12.1,5.2,10.1,4,20,,,,\n", `:4: all 3 readings are those of line 3: taken anew, or copied down?`},
		{"a dive twice", strings.ReplaceAll("D,2026-05-0D,off,12.7,,,0,20,,,,\nD,,port,12.1,5.1,10.1,3,20,,,,\nD,,port,12.0,5.3,10.3,3,20,,,,\nD,,port,12.2,5.2,10.2,3,20,,,,\n", "D", "2") +
			strings.ReplaceAll("D,2026-05-0D,off,12.7,,,0,20,,,,\nD,,port,12.1,5.1,10.1,3,20,,,,\nD,,port,12.0,5.3,10.3,3,20,,,,\nD,,port,12.2,5.2,10.2,3,20,,,,\n", "D", "3"),
			`:8: column "dive": all 10 readings of dive "3" are those of dive "2": written down twice?`},
		{"ballast unweighed after", "1,,off,12.7,,,0,20,,,200,\n",
			`:4: column "ballast_g": moved with no trim weight or free climb read after it: the next leak is judged from a guess`},
		{"ballast unweighed between", "1,,off,12.7,,,0,20,,,200,\n1,,off,12.69,,,0,20,,,-50,31\n",
			`:4: column "ballast_g": moved with no trim weight or free climb read after it: the next leak is judged from a guess` + "\n" +
				`:5: column "ballast_g": moved with no trim weight or free climb read before it: the next leak is judged from a guess`},
		{"ballast weighed", "1,,off,12.7,,,0,20,,,200,32\n", ""},
		{"stuck", strings.Repeat("1,,port,12.3,5.2,,3,20,,,,\n1,,off,12.3,0,,3,20,,,,\n", 3),
			`:9: column "battery_v": found 12.3 6 times from line 4 on, whatever ran: does the instrument still work?`},
	} {
		t.Run(c.what, func(t *testing.T) {
			log, err := Read(strings.NewReader(head+dive+c.rows), FileName)
			require.NoError(t, err)
			got := ""
			if err := log.Remarks().Err(); err != nil {
				got = strings.ReplaceAll(err.Error(), FileName, "")
			}
			assert.Equal(t, c.want, got)
		})
	}
}

// A column of readings that none filled is told with its header line; one for
// words is not, and a log without dives has nothing to fill it.
func TestRemarksOfColumns(t *testing.T) {
	const head = "# first\ndive,date,thrusters,battery_v,pull_n,speed_m_s,run_m,run_s,note\n1,2026-05-02,off,12.8,,,,,\n1,,port,12.1,,,10,20,\n"
	assert.Empty(t, read(t, head).Remarks())
	log := read(t, head+"2,2026-05-03,off,12.8,,,,,\n3,2026-05-04,off,12.9,,,,,\n")
	assert.EqualError(t, log.Remarks().Err(), `dives.csv:2: column "pull_n": never filled: leave it out, or read it (static pull of a held vehicle)`)
	assert.Empty(t, read(t, "dive,date,pull_n\n").Remarks())
}

// A slip that runs through a season is told three times, then counted.
func TestRemarksAreCounted(t *testing.T) {
	log := read(t, "dive,date,battery_v\n1,2026-05-02,12.8\n"+strings.Repeat("1,,12.7\n", 9))
	list := log.Remarks()
	require.Len(t, list, 4)
	assert.EqualError(t, list[3], `dives.csv:5: column "thrusters": … and 7 more like that of line 4`)
}

// Ballast that was there from the first line was not moved; a speed or a climb
// that is timed fills its column.
func TestWhatIsNotRemarkedOn(t *testing.T) {
	var b strings.Builder
	b.WriteString("dive,date,thrusters,speed_m_s,climb_m_s,run_m,run_s,climb_m,climb_s,ballast_g,trim_g,pull_n\n")
	for d := range 3 {
		ballast := map[bool]string{true: "200"}[d == 0]
		b.WriteString(strings.ReplaceAll("N,2026-05-0N,off,,,,,2,20,B,40,\nN,,port,,,10,20,,,,,\n", "N", string(rune('1'+d))))
		text := strings.ReplaceAll(b.String(), "B", ballast)
		b.Reset()
		b.WriteString(text)
	}
	list := read(t, b.String()).Remarks()
	require.Len(t, list, 1)
	assert.Equal(t, `column "pull_n"`, list[0].Column)
	assert.Contains(t, list[0].Text, "never filled: leave it out")
	list = read(t, strings.ReplaceAll(strings.ReplaceAll(b.String(), ",10,20,", ",,,"), ",2,20,", ",,,")).Remarks()
	assert.Len(t, list, 3, "now the speed and the climb are never filled either")
}

// Of days that are out of order a few are slips, which are remarked on and taken as not written down; the others stay. More are
// lines in another order, which is a problem.
func TestMisdated(t *testing.T) {
	days := []string{"2026-05-02", "2026-05-02", "2026-05-09", "2026-05-16", "2026-05-23", "2026-05-30", "2026-06-06"}
	read := func(days []string) (*Log, error) {
		text := "dive,date,thrusters,battery_v\n"
		for i, day := range days {
			text += fmt.Sprintf("%d,%s,off,12.5\n", i+1, day)
		}
		return Read(strings.NewReader(text), "dives.csv")
	}
	for slip, wrong := range map[int]string{0: "2027-05-02", 2: "2026-09-05", 3: "2025-05-16", 6: "2025-06-06"} {
		was := days[slip]
		days[slip] = wrong
		log, err := read(days)
		require.NoError(t, err)
		for i := range log.Dives {
			want := days[i]
			if i == slip {
				want = ""
			}
			assert.Equal(t, want, log.Dives[i].Day(), "dive %d", i+1)
		}
		list := log.Remarks()
		require.NotEmpty(t, list)
		assert.Contains(t, list[0].Error(), fmt.Sprintf("dives.csv:%d: column \"date\": found %s, want a day in order", slip+2, wrong))
		for _, r := range list {
			assert.NotContains(t, r.Error(), "empty on the first line")
		}
		days[slip] = was
	}
	days[1], days[3] = "2025-01-01", "2027-01-01"
	_, err := read(days)
	require.Error(t, err)
	assert.Contains(t, err.Error(), "dives.csv:3: column \"date\": found 2025-01-01 after 2026-05-02, want dates in order")
}

// The longest run of days in order is as long as the longest of all choices of dives, and in order.
func TestInOrder(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 7))
	for range 200 {
		dives := make([]datedDive, rng.IntN(9))
		for i := range dives {
			dives[i].day = time.Date(2026, 5, 1+rng.IntN(6), 0, 0, 0, 0, time.UTC)
		}
		rises := func(of []int) bool {
			return slices.IsSortedFunc(of, func(a, b int) int { return dives[a].day.Compare(dives[b].day) })
		}
		longest := 0
		for set := range 1 << len(dives) {
			var of []int
			for i := range dives {
				if set&(1<<i) != 0 {
					of = append(of, i)
				}
			}
			if rises(of) {
				longest = max(longest, len(of))
			}
		}
		got := longestIncreasing(dives)
		assert.Len(t, got, longest)
		assert.True(t, rises(got) && slices.IsSorted(got), "%v", got)
	}
}
