package session

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestLocateLines(t *testing.T) {
	dir := t.TempDir()
	none, err := ReadLocate(dir)
	require.NoError(t, err)
	assert.Empty(t, none, "no file, no lines")
	first := LocateLine{"power_loop", "20", "2026-05-01", "millivolts + battery .. after plug", "182 mV, 5.2 A", 2}
	require.NoError(t, AppendLocate(dir, first))
	second := LocateLine{"ingress", "20", "2026-05-02", "hold frame; \"left\"", "-20 to -17 kPa, 10 min", 3}
	require.NoError(t, AppendLocate(dir, second))
	got, err := ReadLocate(dir)
	require.NoError(t, err)
	assert.Equal(t, []LocateLine{first, second}, got)
}

// A spreadsheet's own order, separators, line ends and comments stay.
func TestLocateKeepsTheFile(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	path := filepath.Join(dir, LocateFile)
	const before = "\xef\xbb\xbf# mine\r\ntest;search;note;reading;date;after_dive\r\nbridge;insulation;wet;0,31;2026-05-01;7"
	require.NoError(t, os.WriteFile(path, []byte(before), 0o644))
	require.NoError(t, AppendLocate(dir, LocateLine{"insulation", "8", "2026-05-02", Repaired, "plug", 0}))
	after, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, before+"\r\nrepaired;insulation;;plug;2026-05-02;8\r\n", string(after))
}

func TestLocateProblems(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"search,test\n": `locate.csv:1: no column "after_dive", want the columns search, after_dive, date, test, reading`,
		"search,after_dive,date,test,reading\n,1,2026-05-01,bridge,0.3\n": "locate.csv:2: found no search or no test, want both",
		"# only\n": "locate.csv: no header line, want the columns search, after_dive, date, test, reading",
	} {
		dir := t.TempDir()
		path := filepath.Join(dir, LocateFile)
		require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
		_, err := ReadLocate(dir)
		assert.ErrorContains(t, err, want)
		assert.Error(t, AppendLocate(dir, LocateLine{Search: "a", Test: "b"}))
		after, _ := os.ReadFile(path)
		assert.Equal(t, text, string(after), "left as it was")
	}
}

// Units as people type them; pressures by NIST SP 811 (2008), appendix B.8.
func TestParseMeasured(t *testing.T) {
	for _, c := range []struct {
		text, unit string
		with       []string
		want       map[string]Measured
	}{
		{"182", "mV", nil, map[string]Measured{"mV": {182, 182}}},
		{"0,182 V at 5.2 A; 57.2 °F", "mV", []string{"A", "°C"}, map[string]Measured{"mV": {182, 182}, "A": {5.2, 5.2}, "°C": {14, 14}}},
		{"> 200 MΩ", "MΩ", nil, map[string]Measured{"Ω": {2e8, 2e8}}},
		{"31 %", "", nil, map[string]Measured{"": {0.31, 0.31}}},
		{"-6 to -5 inHg, 0.5 h", "kPa", []string{"min"}, map[string]Measured{"kPa": {-20.318334, -16.931945}, "min": {30, 30}}},
	} {
		got, err := ParseMeasured(c.text, c.unit, c.with)
		require.NoError(t, err, c.text)
		for d, x := range c.want {
			assert.InDelta(t, x.From, got[d].From, 1e-9, c.text)
			assert.InDelta(t, x.To, got[d].To, 1e-9, c.text)
		}
		assert.Len(t, got, len(c.want), c.text)
	}
	for text, want := range map[string]string{
		"":               `found "", want a number mV, then, after commas, A and °C as known`,
		"high":           `found "high", want a number mV, then, after commas, A and °C as known`,
		"5 A":            `found "5 A", want a number mV, then, after commas, A and °C as known`,
		"182 mV, 3 kg":   `found "3 kg", want a number mV, then, after commas, A and °C as known`,
		"182 mV, 190 mV": `found "190 mV", want a number mV, then, after commas, A and °C as known`,
	} {
		_, err := ParseMeasured(text, "mV", []string{"A", "°C"})
		assert.EqualError(t, err, want)
	}
}

// Whatever a file holds, it is read or refused with its place, and a line is
// added to what is read.
func FuzzReadLocate(f *testing.F) {
	f.Add("search,after_dive,date,test,reading\npower_loop,1,2026-05-01,bridge,0.3\n", "bridge", "-20 to -17 kPa, 10 min")
	f.Add("\xff\xfet\x00", "x", "1,2;3")
	f.Fuzz(func(t *testing.T, file, test, reading string) {
		_, _ = ParseMeasured(reading, "kPa", []string{"min"})
		now, err := withLine(LocateFile, file, LocateLine{Search: "ingress", Test: "hold " + clean(test), Reading: reading})
		if err != nil {
			return
		}
		table, err := ReadTable(strings.NewReader(now), LocateFile)
		require.NoError(t, err)
		lines, _, err := locateLines(table)
		require.NoError(t, err)
		require.Equal(t, "ingress", lines[len(lines)-1].Search)
	})
}
