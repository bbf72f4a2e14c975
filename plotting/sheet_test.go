package plotting

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/checklist"
	"sagline/predict/findings"
	"sagline/predict/vehicle"
	"sagline/session/units"
)

// A reading that no cause is told by has no comma before its rank.
func TestPurpose(t *testing.T) {
	assert.Equal(t, "thrust, tells most", (&SheetReading{About: "thrust", Rank: 1}).Purpose())
	assert.Equal(t, "second", (&SheetReading{Rank: 2}).Purpose())
	assert.Equal(t, "thrust", (&SheetReading{About: "thrust", Rank: 4}).Purpose())
	table := causes.Table(vehicle.Example())
	assert.Equal(t, "excess loop resistance", about(table, predict.LoopOhm))
	assert.Equal(t, "drag", about(table, predict.LogClimbDrag), "which weed changes beside that ahead")
	assert.Empty(t, about(table, predict.MinuteMin))
}

// A hostile name shows as text, and the cautions are on the sheet.
func TestSheetEscapesAndCautions(t *testing.T) {
	s := &Sheet{Vehicle: `<script>alert("x")</script>`, Basis: "b", Cautions: []string{"Low voltage only"},
		Runs: []SheetRun{{"port", []SheetReading{{"current", "5.1 to 5.7 A", strings.Repeat("long ", 50), 1}}}}, Open: []string{"a & b"},
		Before: []checklist.Check{{Item: "<b>plug</b>", Go: "dry"}}, Search: []string{"<i>splice</i>"}}
	var page bytes.Buffer
	require.NoError(t, s.WriteHTML(&page))
	assert.NotContains(t, page.String(), "<script>")
	assert.Contains(t, page.String(), "&lt;script&gt;")
	assert.Contains(t, page.String(), "a &amp; b")
	assert.Contains(t, page.String(), "&lt;b&gt;plug&lt;/b&gt;</td><td>dry</td>")
	assert.Contains(t, page.String(), "&lt;i&gt;splice")
	assert.Contains(t, page.String(), "Before the dive")
	assert.NotContains(t, page.String(), "After the dive", "an empty list has no heading")
	assert.Contains(t, page.String(), "Low voltage only")
	assert.NotContains(t, page.String(), "http")
}

// What stands near a limit, past it or not as built is open on the card; what is sound, or told as a finding, is not said again.
func TestStanding(t *testing.T) {
	limit := 0.3
	trend := func(words, state string) findings.Trend {
		return findings.Trend{State: state, Limit: &limit, Level: findings.Estimate{Value: -0.2, Low: -0.21, High: -0.19}, Cause: &causes.Cause{Words: words}}
	}
	rep := &findings.Report{Units: units.Metric, Trends: []findings.Trend{trend("loop", findings.NotAsBuilt), trend("thrust", findings.Sound), trend("drag", findings.Drifting), trend("friction", findings.PastLimit)}}
	assert.Equal(t, []string{"loop of -0.200 ± 0.010: not as built", "friction of -0.200 ± 0.010: past its limit"}, standing(rep))
}
