package prompt

import (
	"fmt"

	"sagline/predict/fit"
	"sagline/session"
)

// Doubts words, a line each, the readings of lines just written that lie far
// from what f expected of them. log is what there was before.
func Doubts(log *session.Log, f *fit.Forecast, lines []session.Row) []string {
	if f == nil {
		return nil
	}
	var out []string
	v := &Interview{Log: log, Forecast: f}
	for i, e := range lines {
		if i == 0 || e["dive"] != lines[i-1]["dive"] {
			v.before, v.dive, v.Forecast = nil, e["dive"], f.Clone()
		}
		l, expected := v.soFar(e)
		for _, c := range session.Columns() {
			q, want := expectedOf(c, expected)
			if e[c.Name] == "" || want == nil || c.Quantity == "run" || c.Quantity == "climbed" {
				continue
			}
			if x, ok := v.value(c, e, e[c.Name], q); ok && want.Surprising(x.X) {
				out = append(out, fmt.Sprintf("line %d, %s: %s? expected %s%s", i+1, c.Name, e[c.Name], v.expectedText(c, e, *want), Slip(x, *want, expected)))
			}
		}
		v.learn(l)
		v.before = append(v.before, pruned(e))
	}
	return out
}
