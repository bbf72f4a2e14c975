package plotting

import (
	"cmp"
	"slices"

	"sagline/predict/drift"
)

// A Drawn is a point that is drawn: with its bar, or as a dot alone.
type Drawn struct {
	Dive int // from 0
	Bar  bool
}

// Thin picks the points to draw where they stand at x and each wants gap to
// itself. Of a run that is closer than that the middle one is drawn with its
// bar, and those outside that bar as dots alone, so that nothing unusual is
// hidden; the newest is always drawn.
func Thin(x []float64, points []drift.Estimate, gap float64) []Drawn {
	var out []Drawn
	for start := 0; start < len(x); {
		end := start + 1
		for end < len(x) && x[end]-x[start] < gap {
			end++
		}
		out = append(out, drawn(points, start, end)...)
		start = end
	}
	return out
}

func drawn(points []drift.Estimate, start, end int) []Drawn {
	run := make([]int, 0, end-start)
	for i := start; i < end; i++ {
		run = append(run, i)
	}
	slices.SortStableFunc(run, func(a, b int) int { return cmp.Compare(points[a].Value, points[b].Value) })
	middle := run[len(run)/2]
	if end == len(points) {
		middle = end - 1
	}
	out := []Drawn{{middle, true}}
	bar := points[middle]
	near := 1e-9 * (bar.High - bar.Low) // on the bar's end, whatever the machine's rounding
	for _, i := range []int{run[0], run[len(run)-1]} {
		if y := points[i].Value; i != middle && (y < bar.Low-near || y > bar.High+near) {
			out = append(out, Drawn{i, false})
		}
	}
	return out
}
