package outlook

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/fit"
	"sagline/predict/forecast"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// The next dive may be on any battery of the last eleven dives; margins are the worst of them.
func TestBatteriesInUse(t *testing.T) {
	r := &fit.Result{Dives: make([]fit.DiveFit, 14)}
	for d := range r.Dives {
		r.Dives[d].Battery = map[int]string{2: "old", 3: "B", 13: "A"}[d]
	}
	assert.Equal(t, []string{"A", "", "B"}, inUse(r))
	assert.Equal(t, "margins are the worst of the batteries in use, A, the one without a label and B", WorstOf(r))
	r.Dives = r.Dives[:2]
	assert.Empty(t, WorstOf(r))
}

// What follows from a vehicle is as open as it is; from what is fixed it follows for certain.
func TestRanges(t *testing.T) {
	v := vehicle.Example()
	p := predict.NewModel(v).NewParams()
	both := func(p predict.Params) []float64 { return []float64{p[predict.LogThrust], p[predict.LogDrag]} }
	got := Ranges(forecast.AsBuilt(v), both(p), map[int]float64{predict.LogDrag: p[predict.LogDrag]}, both)
	require.Len(t, got, 2)
	assert.Less(t, got[0].Low, got[0].Value-0.01)
	assert.Greater(t, got[0].High, got[0].Value+0.01)
	assert.Equal(t, advice.Range{Low: p[predict.LogDrag], Value: p[predict.LogDrag], High: p[predict.LogDrag]}, got[1])
}

// Margins are judged at the volts that a battery is said to have at rest, and at the greatest depth that was planned or logged.
func TestMarginsAsAsked(t *testing.T) {
	v := vehicle.Example()
	v.Tubes = []vehicle.Tube{{Name: "float", OuterMM: 50, WallMM: 2, Material: "pvc"}}
	column, _ := session.Find("depth_m")
	log := &session.Log{Dives: []session.Dive{{Lines: []session.Line{{Depth: session.Value{X: 9, Entered: 9, Column: column}}}}}}
	of := func(depth, openV float64) advice.Margins {
		return Margins(v, nil, nil, log, predict.Condition{WaterC: 15, TetherOutM: 20, DepthM: depth}, openV, "")
	}
	low, high := of(4, 11), of(12, 13)
	assert.InEpsilon(t, 11.0/13, low.Fuse.ShortA.Value/high.Fuse.ShortA.Value, 1e-9)
	assert.InDelta(t, 9, low.Tubes[0].DepthM, 1e-12)
	assert.InDelta(t, 12, high.Tubes[0].DepthM, 1e-12)
	assert.InEpsilon(t, v.Battery.RestV()/13, of(4, 0).Fuse.ShortA.Value/high.Fuse.ShortA.Value, 1e-9)
	assert.Nil(t, low.Megohm)
}

// What dives begin with is the middle of what was read at rest before their first load, on the battery in question.
func TestBegunAt(t *testing.T) {
	column, _ := session.Find("battery_v")
	at := func(volts float64, on ...session.Drive) session.Line {
		l := session.Line{Electrical: true, Drives: on}
		l.Readings[quantity.BatteryV] = session.Value{X: volts, Entered: volts, Column: column}
		return l
	}
	v, b := vehicle.Example(), vehicle.Example().Battery
	r := &fit.Result{Models: []*predict.Model{predict.NewModel(v)}}
	for _, volts := range []float64{12.6, 12.1, 12.2, 12.0, 11.2, 12.15} {
		r.Dives = append(r.Dives, fit.DiveFit{Battery: "A", Summary: &fit.Summary{}, Log: &session.Dive{Lines: []session.Line{at(volts), at(11.5, session.Drive{}), at(12.9)}}})
	}
	assert.Equal(t, 12.1, BegunAt(r, "A", &b), "of the newest five")
	assert.Zero(t, BegunAt(r, "B", &b))
	r.Dives[5].Battery = "B"
	assert.Zero(t, BegunAt(r, "B", &b), "of one dive")
	b.NominalV *= 2
	assert.InEpsilon(t, 2*12.1, BegunAt(r, "A", &b), 1e-9, "twice the cells")
	b.Chemistry = "lithium-iron"
	assert.Zero(t, BegunAt(r, "A", &b), "other cells")
}
