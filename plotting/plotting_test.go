package plotting

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/vehicle"
)

// report is an invented log of n dives with an alarm and a service.
func report(n int) *findings.Report {
	const q = "excess_resistance_ohm"
	rep := &findings.Report{Vehicle: "Invented", Judged: n > 5}
	cause := &causes.Cause{Quantity: q, Words: "excess loop resistance", Scale: causes.Scale{Unit: "Ω"}, Cleared: []string{"joint"}}
	limit := 0.3
	t := findings.Trend{Cause: cause, Quantity: q, Pattern: findings.Ramp, State: findings.Drifting, OnsetDive: "2", PerDive: &findings.Estimate{Value: 0.01, Low: 0.008, High: 0.012}, Limit: &limit}
	for i := range n {
		x := 0.01 * float64(i)
		e := findings.Estimate{Value: x, Low: x - 0.01, High: x + 0.01}
		d := findings.Dive{Dive: fmt.Sprint(i + 1), Date: time.Date(2025, 3, 1+3*i, 0, 0, 0, 0, time.UTC).Format(time.DateOnly), Estimates: map[string]findings.Estimate{q: e}}
		if i == n-1 {
			d.Serviced = []string{"joint"}
		}
		rep.Dives, t.Levels = append(rep.Dives, d), append(t.Levels, e)
	}
	for k := range 6 {
		x := 0.01 * float64(n+k)
		t.Ahead = append(t.Ahead, findings.Ahead{Level: findings.Estimate{Value: x, Low: x - 0.01*float64(k+1), High: x + 0.01*float64(k+1)}, Past: float64(k) / 6})
	}
	t.Begun = make([]float64, n)
	t.Begun[0], t.Begun[n-1] = 0.7, 0.3
	rep.Trends = []findings.Trend{t}
	rep.Alarms = []findings.Alarm{{Quantity: q, RaisedDive: "2", OnsetDive: "2", Pattern: findings.Ramp, Cause: cause}}
	return rep
}

// A picture says in words what each of its lines is, and is the same bytes on
// every run.
func TestTrendSaysItInWordsAndRepeats(t *testing.T) {
	for _, n := range []int{2, 3, 60, 300} {
		var first []byte
		for range 2 {
			path := filepath.Join(t.TempDir(), "x.svg")
			require.NoError(t, Sizes[0].Save(Names{Vehicle: "Invented"}, trend(t, report(n), Sizes[0].Layout()), path))
			svg, err := os.ReadFile(path)
			require.NoError(t, err)
			if first != nil {
				assert.Equal(t, string(first), string(svg))
			}
			first = svg
		}
		for _, words := range []string{">sound<", ">alarm", " serviced", "+0.01 Ω a dive since dive 2", ">limit<"} {
			assert.Contains(t, string(first), words, "%d dives", n)
		}
		assert.NotContains(t, string(first), "NaN")
	}
}

func TestSaveRefusesAnUnknownFormat(t *testing.T) {
	p := GridPicture(report(3), residuals(3), true, OnPage)
	assert.ErrorContains(t, Sizes[0].Save(Names{Vehicle: "Invented"}, p, "x.gif"), `found format "gif"`)
	for _, f := range Formats {
		path := filepath.Join(t.TempDir(), "x."+f)
		require.NoError(t, Sizes[0].Save(Names{Vehicle: "Invented"}, p, path))
		st, err := os.Stat(path)
		require.NoError(t, err)
		assert.Greater(t, st.Size(), int64(1000))
	}
}

func TestDateTicksAreWholeDaysAndMonths(t *testing.T) {
	day := func(y, m, d int) float64 { return float64(time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC).Unix()) }
	for _, c := range []struct {
		lo, hi float64
		first  string
	}{
		{day(2025, 3, 1), day(2025, 3, 6), "1 Mar\n2025"},
		{day(2025, 3, 10), day(2025, 9, 1), "Apr\n2025"},
	} {
		ticks := dateTicks(c.lo, c.hi, 9)
		require.NotEmpty(t, ticks)
		assert.Equal(t, c.first, ticks[0].Label)
		assert.LessOrEqual(t, len(ticks), 10)
	}
}

// A trend says in words what it does.
func TestSays(t *testing.T) {
	for pattern, want := range map[string]string{findings.Ramp: "−150 g a dive since dive 3", findings.Step: "step at dive 3", findings.Intermittent: "comes and goes since dive 3",
		findings.Turns: "comes and goes from dive to dive since dive 3", findings.Steady: findings.CannotTell} {
		assert.Equal(t, want, Says(&findings.Trend{Cause: &causes.Cause{}, Pattern: pattern, State: findings.CannotTell, OnsetDive: "3", PerDive: &findings.Estimate{Value: -150}}, "g"))
	}
}

// Numbers are as people write them.
func TestNumbers(t *testing.T) {
	assert.Equal(t, "1460\u00a0g", Number(1456, "g"))
	assert.Equal(t, "−0.0123\u00a0Ω", Number(-0.01234, "Ω"))
	assert.Equal(t, "0.8", Number(0.8, ""))
	assert.Equal(t, "added no-load current: −0.1 ± 0.2 (−3 to 4), 2025-09-24", Minus("added no-load current: -0.1 ± 0.2 (-3 to 4), 2025-09-24"))
}

// What falls from what the vehicle had is told by what it is now; a share by how far it is off.
func TestAmount(t *testing.T) {
	trend := func(c causes.Scale, baseline, level float64) *findings.Trend {
		return &findings.Trend{Cause: &causes.Cause{Scale: c}, Baseline: baseline, Level: findings.Estimate{Value: level}}
	}
	assert.Equal(t, "from 20 to 0.083 MΩ", strings.ReplaceAll(Amount(trend(causes.Scale{Factor: true, Absolute: true}, 20, 0.083), "MΩ"), "\u00a0", " "))
	assert.Equal(t, "−15 %", strings.ReplaceAll(Amount(trend(causes.Scale{Factor: true}, 1, 0.85), ""), "\u00a0", " "))
	comes := trend(causes.Scale{Unit: "Ω"}, 0, 0)
	comes.ComesBy = &findings.Estimate{Value: 0.4, Low: 0.2, High: 0.9}
	assert.Equal(t, "by about 0.2 to 0.9 Ω", Amount(comes, "Ω"))
}

// A contact that comes and goes is as near to its limit as what it does so by, not as the level that it leaves.
func TestGaugeOfAContact(t *testing.T) {
	limit := 0.5
	trend := findings.Trend{Quantity: "branch_excess_ohm:up", Limit: &limit, ComesBy: &findings.Estimate{Value: 0.4, Low: 0.2, High: 0.9}, Cause: &causes.Cause{Worse: 1, Scale: causes.Scale{Unit: "Ω"}}}
	g := ReadGauges(&findings.Report{Judged: true, Trends: []findings.Trend{trend}})
	assert.Equal(t, []float64{0.4, 0.8, 1.8}, []float64{g[0].Low, g[0].Share, g[0].High})
	assert.Equal(t, "by about 0.2 to 0.9 Ω, limit 0.5 Ω", strings.ReplaceAll(g[0].Says, "\u00a0", " "))
}

// What goes over decades has no rate that holds for its dives, but a factor.
func TestRateOverDecades(t *testing.T) {
	trend := &findings.Trend{Cause: &causes.Cause{Scale: causes.Scale{Factor: true, Absolute: true}}, Pattern: findings.Ramp, OnsetDive: "10",
		Level: findings.Estimate{Value: 0.083}, PerDive: &findings.Estimate{Value: -0.0912}}
	assert.Equal(t, "× 0.33 a dive since dive 10", strings.ReplaceAll(Says(trend, "MΩ"), "\u00a0", " "))
}

func TestShareIsWhole(t *testing.T) {
	s := newShare("off", advice.Power{Battery: 1, Tether: 2, Joints: 3, Branches: 4, Thrusters: 10, Windings: 6, Lights: 5, Others: 7})
	assert.InDelta(t, 32, s.Total(), 1e-9)
	assert.InDelta(t, 12, s.Watts[6], 1e-9)
	s = newShare("off", advice.Power{Battery: 1, Others: -0.1})
	assert.Zero(t, s.Watts[6], "nothing gives the battery power")
}

// What draws next to nothing has no bar.
func TestSharesOfNothing(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	p := m.NewParams()
	p[predict.UnloggedA] = 0.01
	off := [][]int8{make([]int8, len(m.Vehicle.Thrusters))}
	assert.Empty(t, Shares(m, predict.Condition{Electrical: true}, p, off))
	p[predict.UnloggedA] = 1
	assert.Len(t, Shares(m, predict.Condition{Electrical: true}, p, off), 1)
}
