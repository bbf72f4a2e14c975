package circumstances

import "sagline/session"

// minutesOf returns the minutes of a dive's lines, interpolated or extrapolated where not given,
// and which ones are guessed.
func minutesOf(d *session.Dive) (minutes []float64, guessed []bool) {
	minutes, guessed = make([]float64, len(d.Lines)), make([]bool, len(d.Lines))
	last, at := -1, 0.0
	for i := range d.Lines {
		v := d.Lines[i].Minute
		if !v.Measured() {
			guessed[i] = true
			minutes[i] = at + lineMinutes*float64(i-last)
			continue
		}
		for k := last + 1; k < i; k++ { // between two that are given
			share := float64(k-last) / float64(i-last)
			if last < 0 {
				minutes[k] = max(v.X-lineMinutes*float64(i-k), 0)
			} else {
				minutes[k] = at + share*(v.X-at)
			}
		}
		minutes[i], last, at = v.X, i, v.X
	}
	return minutes, guessed
}
