package prompt

import (
	"fmt"

	"sagline/predict/fit"
	"sagline/session"
)

// mostDoubted is how many lines that are written at once are compared with what
// they should be: common practice, no source. Each takes some milliseconds.
const mostDoubted = 500

// Doubts words, a line each, the readings of lines just written that lie far
// from what f expected of them. log is what there was before.
func Doubts(log *session.Log, f *fit.Forecast, rows []session.Row) (out []string) {
	if f == nil {
		return nil
	}
	v := &Interview{Log: log}
	if n := len(log.Dives); n > 0 {
		lines := log.Dives[n-1].Lines
		v.ballast = lines[len(lines)-1].BallastG
	}
	for from := 0; from < min(len(rows), mostDoubted); {
		to := from + 1
		for to < min(len(rows), mostDoubted) && rows[to]["dive"] == rows[from]["dive"] {
			to++
		}
		v.Forecast = f.Clone()
		lines, _ := session.ParseRows(rows[from:to]...)
		for i := range lines {
			lines[i].BallastG += v.ballast
			for _, doubt := range v.doubts(&lines[i], rows[from+i]) {
				out = append(out, fmt.Sprintf("line %d, %s", from+i+1, doubt))
			}
			v.learn(&lines[i])
		}
		from = to
	}
	return out
}

// doubts are those about one line.
func (v *Interview) doubts(l *session.Line, e session.Row) (out []string) {
	if v.Forecast == nil {
		return nil
	}
	expected, err := v.Forecast.Line(l)
	if err != nil {
		return nil
	}
	for _, c := range session.Columns() {
		q, want := expectedOf(c, expected)
		if e[c.Name] == "" || want == nil || c.Quantity == "run" || c.Quantity == "climbed" {
			continue
		}
		if x, ok := v.value(c, e, e[c.Name], q); ok && want.Surprising(x.X) {
			out = append(out, fmt.Sprintf("%s: %s? expected %s%s", c.Name, e[c.Name], v.expectedText(c, e, *want), Slip(x, *want, expected)))
		}
	}
	return out
}
