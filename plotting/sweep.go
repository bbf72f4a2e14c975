package plotting

import (
	"fmt"
	"slices"
)

// SweepPicture draws speed and pull, in per cent of today's, over the values x of a key. It returns
// an error unless the slices have equal lengths of at least 2.
func SweepPicture(key, what string, x, speed, pull []float64, room Layout) (*Picture, error) {
	if len(x) < 2 || len(x) != len(speed) || len(x) != len(pull) {
		return nil, fmt.Errorf("a sweep of %d values, want two or more", len(x))
	}
	key = SafeText(key, 60)
	p := &Picture{Title: "what " + key + " would change", Says: what + " and pull in per cent of today's", Width: room.Width, High: room.High}
	all := slices.Concat(speed, pull, []float64{100})
	lo, hi := slices.Min(all), slices.Max(all)
	f := frame{right: p.Width - 60, top: 20, foot: p.High - 34, x0: slices.Min(x), x1: slices.Max(x), y0: lo - 0.05*(hi-lo+1), y1: hi + 0.05*(hi-lo+1)}
	f.x1 += 0.02*(f.x1-f.x0) + 1e-9 // keeps the last marks clear of their labels
	ticks := inUnit(evenTicks(f.y0, f.y1, 6), "%")
	f.left = leftOf(ticks)
	p.grid(&f, ticks)
	p.axis(&f, evenTicks(f.x0, f.x1, 8), key)
	p.path("quiet dashed", line(f.left, f.y(100), f.right, f.y(100)))
	last := len(x) - 1
	p.named(&f, []level{{100, "quiet", []string{"today"}}, {speed[last], "measured", []string{what}}, {pull[last], "limit", []string{"pull"}}})
	p.Alt = p.Title + ", " + p.Says + "."
	for i := range x {
		p.Alt += fmt.Sprintf(" At %s: %s %s, pull %s.", Number(x[i], ""), what, Number(speed[i], "%"), Number(pull[i], "%"))
	}
	p.values("measured", &f, x, speed, func(x, y float64) Path { return box(x-3, y-3, x+3, y+3) })
	p.values("limit", &f, x, pull, diamond)
	return p, nil
}

// values draws y over x as a line with marks.
func (p *Picture) values(class string, f *frame, x, y []float64, mark func(x, y float64) Path) {
	var through []float64
	var marks Path
	for i := range x {
		through = append(through, f.x(x[i]), f.y(y[i]))
		marks = append(marks, mark(f.x(x[i]), f.y(y[i]))...)
	}
	p.path(class+" bar", line(through...))
	p.path(class+" full", marks)
}
