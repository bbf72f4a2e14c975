package plotting

import (
	"math"
	"slices"
)

// A Label holds the place X of a label, the width of its words and that of its shorter words.
type Label struct{ X, Width, Short float64 }

// A Position is where a label is drawn: its row from 0, its left end and width, and
// whether its short words are used. Row is −1 if there is no room for words; the label is
// Crowded if, in addition, its mark would cover another.
type Position struct {
	Row            int
	Left, Width    float64
	Short, Crowded bool
}

const (
	lineGap = 6.0  // between words and another label's line
	markGap = 10.0 // between marks without words
)

// placeLabels puts each label right or left of its x, into the first row where it stays
// between left and right, overlaps no earlier label and crosses no line. Lines rise at
// each x from below row 0 to the label.
func placeLabels(labels []Label, left, right float64, rows int) []Position {
	out := make([]Position, len(labels))
	for i := range out {
		out[i].Row = -1
	}
	for i, l := range labels {
		for _, p := range candidates(l, rows) {
			if p.Left >= left && p.Left+p.Width <= right && clear(labels, out, i, p) {
				out[i] = p
				break
			}
		}
	}
	for i := range out {
		for j := range i {
			if out[i].Row < 0 && out[j].Row < 0 && !out[j].Crowded && math.Abs(labels[i].X-labels[j].X) < markGap {
				out[i].Crowded = true
			}
		}
	}
	return out
}

// candidates lists the positions that a label could have, best first.
func candidates(l Label, rows int) []Position {
	var out []Position
	for _, width := range []float64{l.Width, l.Short} {
		for row := range rows {
			for _, left := range []float64{l.X, l.X - width} {
				out = append(out, Position{Row: row, Left: left, Width: width, Short: width != l.Width})
			}
		}
	}
	return out
}

// clear reports whether label i may have position p: no other label's line or mark crosses its words,
// no words overlap, and its own line crosses no words.
func clear(labels []Label, placed []Position, i int, p Position) bool {
	for j, q := range placed {
		switch x := labels[j].X; {
		case j == i:
		case max(q.Row, 0) >= p.Row && x > p.Left-lineGap && x < p.Left+p.Width+lineGap,
			q.Row == p.Row && p.Left < q.Left+q.Width && p.Left+p.Width > q.Left,
			q.Row >= 0 && q.Row < p.Row && labels[i].X > q.Left && labels[i].X < q.Left+q.Width:
			return false
		}
	}
	return true
}

// Apart moves heights, given from low to high, so that they are at least gap apart and
// between lo and hi, each by as little as possible.
func Apart(y []float64, gap, lo, hi float64) {
	for i := range y {
		y[i] = max(y[i], lo)
		if i > 0 {
			y[i] = max(y[i], y[i-1]+gap)
		}
	}
	for i, at := range slices.Backward(y) {
		y[i] = min(at, hi-gap*float64(len(y)-1-i))
	}
}
