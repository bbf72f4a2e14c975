package drift_test

import (
	"bytes"
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/predict/simulate"
)

// encoded is a report as trend --json prints it.
func encoded(t testing.TB, rep *drift.Report) []byte {
	t.Helper()
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetIndent("", " ")
	e.SetEscapeHTML(false)
	require.NoError(t, e.Encode(rep))
	return b.Bytes()
}

// FuzzReportJSON: whatever is taken for a report is written and read again as
// the same, byte for byte, so that no field is lost on the way and every number
// is one that JSON has.
func FuzzReportJSON(f *testing.F) {
	v := simulate.Fleet(1)
	log := simulate.Log(v, simulate.Season{Dives: 14, Seed: 3, Slips: 0.02, Start: time.Date(2026, 5, 2, 0, 0, 0, 0, time.UTC), Service: map[int][]string{12: {"joint"}},
		Drift: func(dive int, p predict.Params) { p[predict.LoopOhm] += 0.1 * float64(max(0, dive-6)) }})
	r, err := fit.Fit(v, log, nil)
	require.NoError(f, err)
	f.Add(encoded(f, drift.Analyse(r)))
	f.Add([]byte(`{"schema":1,"trends":[{"quantity":"a","per_dive":null,"level":{"value":1e308,"low":-1e-308,"high":0}}],"dives":[{"estimates":{"\u2028":{}}}],"remarks":["<&\ud800"]}`))
	f.Add([]byte(`{"alarms":[{"cleared_dive":""},{"cleared_dive":null}],"findings":[{"evidence":[]}],"dives":[{"set_aside":[{"line":9223372036854775807}]}]}`))
	f.Fuzz(func(t *testing.T, in []byte) {
		var rep drift.Report
		if json.Unmarshal(in, &rep) != nil {
			return
		}
		once := encoded(t, &rep)
		var again drift.Report
		d := json.NewDecoder(bytes.NewReader(once))
		d.DisallowUnknownFields()
		require.NoError(t, d.Decode(&again))
		require.Equal(t, string(once), string(encoded(t, &again)))
	})
}
