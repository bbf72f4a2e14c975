package fit

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/instrument"
	"sagline/session"
	"sagline/session/quantity"
)

// What was set aside is left out of what a dive's readings are judged by, but for insulation that no later reading of the
// dive speaks against.
func TestKeptInsulation(t *testing.T) {
	column := func(name string) *session.Column {
		c, ok := session.Find(name)
		require.True(t, ok, name)
		return c
	}
	for name, c := range map[string]struct {
		odd  [3]bool // insulation of each line
		kept [3]bool
	}{
		"none":            {[3]bool{}, [3]bool{true, true, true}},
		"dry since":       {[3]bool{true, false, false}, [3]bool{false, true, true}},
		"wet at last":     {[3]bool{false, true, true}, [3]bool{true, true, true}},
		"wet at the end":  {[3]bool{false, false, true}, [3]bool{true, true, true}},
		"wet throughout":  {[3]bool{true, true, true}, [3]bool{true, true, true}},
		"dry between two": {[3]bool{true, false, true}, [3]bool{false, true, true}},
	} {
		log := &session.Dive{Lines: make([]session.Line, 3)}
		d := DiveFit{Log: log, Summary: &Summary{}, compared: []Compared{}}
		for i := range log.Lines {
			l := &log.Lines[i]
			l.Number = i + 2
			for q, name := range map[quantity.Quantity]string{quantity.Insulation: "insulation_megohm", quantity.CurrentA: "current_a"} {
				l.Readings[q] = session.Value{X: 5, Entered: 5, Column: column(name)}
				odd := q == quantity.Insulation && c.odd[i] || q == quantity.CurrentA && i == 1
				d.compared = append(d.compared, Compared{Cell: Cell{Line: l, Quantity: q, Outlier: odd, slip: odd}})
			}
		}
		kept := (&Result{Dives: []DiveFit{d}}).WithoutOutliers(0)
		for i := range kept.Lines {
			assert.Equal(t, c.kept[i], kept.Lines[i].Readings[quantity.Insulation].Measured(), "%s, line %d", name, i)
			assert.Equal(t, i != 1, kept.Lines[i].Readings[quantity.CurrentA].Measured())
			assert.True(t, log.Lines[i].Readings[quantity.CurrentA].Measured(), "the log keeps it")
		}
	}
}

// A compared cell is shown in the unit that it was written in, with one standard deviation there; of a timed run that would
// never end with neither.
func TestAsWritten(t *testing.T) {
	climb, ok := session.Find("climb_m_s")
	require.True(t, ok)
	run, ok := session.Find("run_s")
	require.True(t, ok)
	kgf, ok := session.Find("pull_kgf")
	require.True(t, ok)
	for _, c := range []struct {
		q                     quantity.Quantity
		v                     session.Value
		expected, sd          float64
		entered, want, wantSD float64
		up                    bool // it reads more than expected as it was written
	}{
		{quantity.Climb, session.Value{X: 0.35, Entered: 0.35, Column: climb}, 0.09, 0.07, 0.35, 0.3, 0.1, true},
		{quantity.Speed, session.Value{X: 0.4, Entered: 25, Run: 10, Column: run}, 0.5, 0.1, 25, 20, 10.0/0.5 - 10.0/0.6, true},
		{quantity.Speed, session.Value{X: 0.4, Entered: 25, Run: 10, Column: run}, 0, 0.1, 25, 0, 0, false},
		{quantity.Pull, session.Value{X: 19.6133, Entered: 2, Column: kgf}, 9.80665, 0.980665, 2, 1, 0.1, true},
	} {
		l := &session.Line{}
		l.Readings[c.q] = c.v
		scaled := instrument.Predicted(c.q, c.v.X)
		one := &Compared{Cell: Cell{Line: l, Quantity: c.q, SD: c.sd, Value: scaled}, Expected: c.expected, Z: (scaled - c.expected) / c.sd}
		entered, expected, sd := one.AsWritten()
		assert.Equal(t, c.up, one.ZAsWritten() > 0, "%+v", c)
		assert.Equal(t, c.entered, entered)
		assert.InDelta(t, c.want, expected, 1e-9, "%+v", c)
		assert.InDelta(t, c.wantSD, sd, 1e-9, "%+v", c)
	}
}
