package plotting

import (
	"errors"
	"math"
)

// A Cable is a tether's shape from the operator, at the surface, to the
// vehicle: X along the current from the operator, Depth down, both in Unit, and
// what the vehicle pushes there.
type Cable struct {
	Title, Verdict string
	Unit           string
	X, Depth       []float64
	Up, Down       float64 // N upstream and down
	Current        string  // in words
	Holds          bool
}

// Picture draws a cable at true scale. Where the vehicle cannot hold there, the
// line is broken and the vehicle a cross.
func (c *Cable) Picture(room Layout) (*Picture, error) {
	if len(c.X) < 2 || len(c.X) != len(c.Depth) {
		return nil, errors.New("a cable without a shape")
	}
	p := &Picture{Title: SafeText(c.Title, 100), Says: c.Verdict, Width: room.Width, High: room.High,
		Key: "both scales are one; arrow at the vehicle: which way it pushes", Alt: SafeText(c.Title, 100) + ". " + c.Verdict + "."}
	f := p.water(c.Unit, c.X, c.Depth)
	var shape []float64
	for i := range c.X {
		shape = append(shape, f.x(c.X[i]), f.y(-c.Depth[i]))
	}
	last := len(shape) - 2
	p.path("ink full", box(shape[0]-5, shape[1]-5, shape[0]+5, shape[1]+5))
	p.text("ink", "operator", shape[0]+9, shape[1]-6)
	x, y := shape[last], shape[last+1]
	if c.Holds {
		p.path("measured thick", line(shape...))
		p.path("ink full", box(x-5, y-5, x+5, y+5))
		p.text("ink", "vehicle", x+9, y+16)
	} else {
		p.path("limit thick dashed", line(shape...))
		p.path("limit thick", cross(x, y))
		p.text("limit", "cannot hold here", x+9, y+16)
	}
	if push := math.Hypot(c.Up, c.Down); push > 0 {
		p.path("serviced thick", arrow(x, y, x-40*c.Up/push, y+40*c.Down/push))
	}
	p.path("quiet thick", arrow(f.left+60, 10, f.left+100, 10))
	p.text("quiet", "current "+c.Current, f.left+108, 14)
	return p, nil
}

// arrow is a line with its head at the second point.
func arrow(x0, y0, x1, y1 float64) Path {
	long := math.Hypot(x1-x0, y1-y0)
	dx, dy := (x1-x0)/long*8, (y1-y0)/long*8
	return append(line(x0, y0, x1, y1), line(x1-dx-dy/2, y1-dy+dx/2, x1, y1, x1-dx+dy/2, y1-dy-dx/2)...)
}

// water draws the axes of a place below the surface, with one scale for both:
// x downstream of the operator, depth down.
func (p *Picture) water(unit string, x, depth []float64) *frame {
	x0, x1, deep := 0.0, 0.0, 1e-6
	for i := range x {
		x0, x1, deep = min(x0, x[i]), max(x1, x[i]), max(deep, depth[i])
	}
	f := frame{left: 44, right: p.Width - 8, top: 24, foot: p.High - 34}
	scale := min((f.right-f.left)/(1.2*(x1-x0)+1e-6), (f.foot-f.top)/(1.1*deep))
	middle, half := (x0+x1)/2, (f.right-f.left)/scale/2
	f.x0, f.x1, f.y0, f.y1 = middle-half, middle+half, -(f.foot-f.top)/scale, 0
	p.axis(&f, EvenTicks(f.x0, f.x1, 8), unit+" downstream of the operator")
	depths := EvenTicks(0, -f.y0, 6)
	for i := range depths {
		depths[i].Value *= -1
	}
	p.grid(&f, depths)
	p.text("quiet", unit+" of depth", 0, 14)
	p.text("e quiet", "surface", f.right, f.top-4)
	p.path("quiet dashed", line(f.left, f.top, f.right, f.top))
	return &f
}

// A Station is a place below the surface, and whether a vehicle can hold
// there, where that is known.
type Station struct {
	X, Depth    float64
	Known, Held bool
}

// StationsPicture draws where a vehicle can hold: a disc where it can, a cross
// where it cannot, a dot where there is no answer. X runs along the current from
// the operator, both are in unit.
func StationsPicture(title, unit string, stations []Station, room Layout) (*Picture, error) {
	if len(stations) == 0 {
		return nil, errors.New("no places to draw")
	}
	p := &Picture{Title: SafeText(title, 120), Width: room.Width, High: room.High,
		Says: "disc: it can hold there; cross: it cannot; dot: out of reach, or no answer"}
	var x, depth []float64
	for _, s := range stations {
		x, depth = append(x, s.X), append(depth, s.Depth)
	}
	f := p.water(unit, x, depth)
	p.path("ink full", box(f.x(0)-5, f.top-5, f.x(0)+5, f.top+5))
	for _, s := range stations {
		switch x, y := f.x(s.X), f.y(-s.Depth); {
		case !s.Known:
			p.path("quiet dot", line(x, y))
		case s.Held:
			p.path("measured disc", line(x, y))
		default:
			p.path("limit thick", cross(x, y))
		}
	}
	return p, nil
}
