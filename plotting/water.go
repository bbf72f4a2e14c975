package plotting

import (
	"fmt"
	"math"

	"sagline/predict/advice"
	"sagline/session/units"
)

// A Cable is what it takes to hold a station, and what there is to say of it.
type Cable struct {
	advice.Holding
	TetherOutM, CurrentMS float64
	Verdict               string
	Units                 units.System
}

const (
	longest = 60.0 // length of the largest force's arrow
	forces  = 66.0 // height of the bars of forces
)

// Picture draws a cable to scale, and the forces to another scale. If the vehicle cannot hold
// there, the line is dashed and the vehicle is a cross; if that is unsure, only the line is dashed.
func (c *Cable) Picture(room Layout) *Picture {
	title, long := c.Units.Plain(c.TetherOutM, "m")+" of tether", c.Units.In("m")
	p := &Picture{Title: title, Says: c.Verdict, Width: room.Width, High: room.High,
		Key: "depth and distance at one scale; arrow: the vehicle's push, at the scale of the bars", Alt: title + ". " + c.Verdict + "."}
	var xs, depths, shape []float64
	for _, q := range c.Shape {
		xs, depths = append(xs, long.FromBase(q.XM)), append(depths, long.FromBase(q.ZM))
	}
	f := p.water(long.Name, xs, depths, forces)
	for i := range xs {
		shape = append(shape, f.x(xs[i]), f.y(-depths[i]))
	}
	last := len(shape) - 2
	p.path("ink full", box(shape[0]-5, shape[1]-5, shape[0]+5, shape[1]+5))
	p.text("e ink", "operator", shape[0]-8, shape[1]+15)
	x, y := shape[last], shape[last+1]
	drawn, class, mark, words := "limit thick dashed", "ink", box(x-5, y-5, x+5, y+5), "vehicle, may hold here"
	switch can, sure := c.Can(); {
	case !sure:
	case can:
		drawn, words = "measured thick", "vehicle, can hold here"
	default:
		class, mark, words = "limit", cross(x, y), "cannot hold here"
	}
	p.path(drawn, line(shape...))
	p.path(map[string]string{"ink": "ink full", "limit": "limit thick"}[class], mark)
	p.text(class, words, min(x+9, p.Width-1.06*textWidth(words, textSize)), y+22)
	scale := longest / max(math.Abs(c.ForceUpN), math.Abs(c.ForceDownN), c.GreatestUpN, c.GreatestDownN, c.TensionN, 1e-9)
	if push := math.Hypot(c.ForceUpN, c.ForceDownN); push > 0 {
		p.path("serviced thick", arrow(x, y, x-scale*c.ForceUpN, y+scale*c.ForceDownN))
	}
	p.path("quiet thick", arrow(f.left+60, 10, f.left+100, 10))
	p.text("quiet", "current "+c.Units.Plain(c.CurrentMS, "m/s"), f.left+108, 14)
	c.bars(p, f, scale)
	return p
}

// bars draws the forces needed, the largest available, and the tether's pull, to one scale.
func (c *Cable) bars(p *Picture, f *frame, scale float64) {
	force := c.Units.In("N")
	up, down := c.Directions()
	for i, row := range []struct {
		name  string
		needs float64
		most  float64
		says  string
	}{
		{up, math.Abs(c.ForceUpN), c.GreatestUpN, "needs %s of %s " + force.Name},
		{down, math.Abs(c.ForceDownN), c.GreatestDownN, "needs %s of %s " + force.Name},
		{"tether pulls", c.TensionN, 0, "%s " + force.Name},
	} {
		y, class, words := f.foot+50+18*float64(i), "serviced", []any{Minus(force.Number(row.needs, 1))}
		if row.most > 0 || i < 2 {
			words = append(words, Minus(force.Number(row.most, 1)))
			if row.needs > row.most {
				class = "limit"
			}
			p.path("ink", box(f.left+44, y-9, f.left+44+scale*row.most, y+1))
		}
		p.path(class+" full", box(f.left+44, y-7, f.left+44+scale*row.needs, y-1))
		p.text("ink", row.name, f.left-40, y+1)
		p.text(class, fmt.Sprintf(row.says, words...), f.left+44+longest+8, y+1)
	}
}

// arrow is a line with an arrowhead at its second point.
func arrow(x0, y0, x1, y1 float64) Path {
	long := math.Hypot(x1-x0, y1-y0)
	dx, dy := (x1-x0)/long*8, (y1-y0)/long*8
	return append(line(x0, y0, x1, y1), line(x1-dx-dy/2, y1-dy+dx/2, x1, y1, x1-dx+dy/2, y1-dy-dx/2)...)
}

// water draws axes to one scale, x downstream of the operator and depth down, and leaves room for
// below units under them.
func (p *Picture) water(unit string, x, depth []float64, below float64) *frame {
	x0, x1, deep := 0.0, 0.0, 1e-6
	for i := range x {
		x0, x1, deep = min(x0, x[i]), max(x1, x[i]), max(deep, depth[i])
	}
	f := frame{left: 44, right: p.Width - 8, top: 24, foot: p.High - 34 - below}
	scale := min((f.right-f.left)/(1.2*(x1-x0)+1e-6), (f.foot-f.top)/(1.1*deep))
	if below > 0 { // room for arrows around the last point
		scale = min((f.right-f.left-2*longest)/(x1-x0+1e-6), (f.foot-f.top-longest/2)/deep)
	}
	middle, half := (x0+x1)/2, (f.right-f.left)/scale/2
	f.x0, f.x1, f.y0, f.y1 = middle-half, middle+half, -(f.foot-f.top)/scale, 0
	p.axis(&f, inUnit(evenTicks(f.x0, f.x1, 8), unit), "downstream of the operator")
	depths := inUnit(evenTicks(0, -f.y0, 6), unit)
	for i := range depths {
		depths[i].Value *= -1
	}
	p.grid(&f, depths)
	p.text("quiet", "depth", 0, 14)
	p.text("e quiet", "surface", f.right, f.top-4)
	p.path("quiet dashed", line(f.left, f.top, f.right, f.top))
	return &f
}

// PlacesPicture draws where a vehicle can hold, x downstream of the operator: a disc where it can, a
// cross where it cannot, a dot where that is unsure, and nothing where there is no answer.
func PlacesPicture(title string, long units.Unit, places []advice.Place, room Layout) *Picture {
	p := &Picture{Title: title, Width: room.Width, High: room.High,
		Says: "disc: it can hold there; cross: it cannot; dot: not sure; no mark: out of reach"}
	var x, depth []float64
	for _, s := range places {
		x, depth = append(x, long.FromBase(s.OffsetM)), append(depth, long.FromBase(s.DepthM))
	}
	f := p.water(long.Name, x, depth, 0)
	p.path("ink full", box(f.x(0)-5, f.top-5, f.x(0)+5, f.top+5))
	p.Alt = p.Title + ". It can hold at"
	for i, s := range places {
		switch at, y := f.x(x[i]), f.y(-depth[i]); s.Held {
		case "yes":
			p.Alt += fmt.Sprintf(" %s deep and %s downstream,", Number(depth[i], long.Name), Number(x[i], long.Name))
			p.path("measured disc", line(at, y))
		case "no":
			p.path("limit thick", cross(at, y))
		case "?":
			p.path("quiet dot", line(at, y))
		}
	}
	p.Alt += " of those looked at."
	return p
}
