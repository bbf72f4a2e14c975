package main

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"

	"sagline/predict/causes"
	"sagline/predict/findings"
)

// Alarms are wrapped to a narrow terminal like all other lines.
func TestAlarmsAreWrapped(t *testing.T) {
	var out bytes.Buffer
	row := &causes.Cause{Words: "excess wiring resistance of starboard"}
	rep := &findings.Report{Vehicle: "Reed", Dives: []findings.Dive{{Dive: "1"}},
		Alarms: []findings.Alarm{{RaisedDive: "10", Pattern: findings.Step, OnsetDive: "9", Cause: row}, {RaisedDive: "12", Pattern: findings.Ramp, OnsetDive: "11", Cause: row}}}
	p := &printed{w: &out, width: 60}
	printTrend(p, rep, "reed")
	assert.Contains(t, out.String(), "\nalarm at dive 10: excess wiring resistance of starboard,")
	for line := range strings.Lines(out.String()) {
		if strings.Contains(line, "alarm") {
			assert.LessOrEqual(t, utf8.RuneCountInString(strings.TrimSuffix(line, "\n")), 60, line)
		}
	}
}
