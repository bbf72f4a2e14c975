package outlook_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/outlook"
	"sagline/predict/simulate"
	"sagline/session"
)

// Margins are those of the worse of the batteries that the last dives used, whichever was the last.
func TestMarginsOfEachBatteryInUse(t *testing.T) {
	const more = 0.12
	v := simulate.Fleet(64)
	s := simulate.Season{Dives: 13, Battery: map[int]string{}, Drift: func(d int, p predict.Params) { p[predict.BatteryOhm] += more * float64(d%2) }}
	for d := 1; d <= s.Dives; d++ {
		s.Battery[d] = string("AB"[d%2])
	}
	log := season(t, v, 64, s)
	newest := []int{4, 5, 12, 13} // within the baseline and after it, either of them the newest
	fits, reports := map[int]*fit.Result{}, map[int]*findings.Report{}
	for _, n := range newest {
		r := judged(t, v, &session.Log{File: log.File, Dives: log.Dives[:n]})
		fits[n], reports[n] = r.Result, r.Report
	}
	volts := func(n int, battery string) float64 {
		log := &session.Log{File: log.File, Dives: log.Dives[:n]}
		m := outlook.Margins(v, fits[n], reports[n], log, predict.Condition{TetherOutM: v.Tether.LengthM, WaterC: 15}, 0, battery)
		return m.Battery.V
	}
	assert.InDelta(t, volts(13, ""), volts(12, ""), 0.15)
	assert.InDelta(t, volts(13, "B"), volts(12, ""), 0.15)
	assert.InDelta(t, volts(13, "A"), volts(12, "A"), 0.15)
	assert.Greater(t, volts(13, "A"), volts(13, "B")+0.5)
	for _, n := range newest {
		f, rep := fits[n], reports[n]
		a, doubtA := outlook.On(f, rep, "A")
		b, doubtB := outlook.On(f, rep, "B")
		for _, doubt := range []float64{doubtA, doubtB} {
			assert.Greater(t, doubt, 0.0005, "%d dives", n)
			assert.Less(t, doubt, 0.02, "%d dives", n)
		}
		if n <= 5 { // the baseline, whose mean has both in it
			_, doubt := outlook.On(f, rep, log.Dives[n-1].Battery)
			assert.InEpsilon(t, f.Departure(n-1, predict.BatteryOhm).SD, doubt, 0.1)
		} else { // after it the newest dive's battery is as the trend has it
			now, doubt := outlook.On(f, rep, log.Dives[n-1].Battery)
			assert.Equal(t, outlook.Present(f, rep), now)
			assert.Equal(t, rep.Doubts()[predict.BatteryOhm], doubt)
		}
		assert.InDelta(t, more, b[predict.BatteryOhm]-a[predict.BatteryOhm], 0.02, "%d dives", n)
		assert.Contains(t, outlook.WorstOf(f), " "+log.Dives[n-1].Battery+" and ")
	}
}
