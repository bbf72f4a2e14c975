package plotting

import (
	"fmt"
	"image/color"

	"gonum.org/v1/gonum/floats"

	"sagline/predict"
	"sagline/predict/advice"
)

// BudgetParts name the parts that take power. Others have wires apart from the power pair:
// relay coils, lights on signal conductors, a shared camera.
var BudgetParts = [7]string{"battery", "tether", "joints", "wiring", "windings", "propellers", "lights, others"}

// A Share is one bar of the loss budget: the power in W that each of BudgetParts takes
// with one combination of thrusters.
type Share struct {
	Name  string
	Watts [len(BudgetParts)]float64
}

// newShare divides a power budget into BudgetParts. What lights and others take is negative where
// the clamp meter reads less than 0 at no current; it then counts as 0.
func newShare(name string, w advice.Power) Share {
	return Share{SafeText(name, 80), [len(BudgetParts)]float64{w.Battery, w.Tether, w.Joints, w.Branches, w.Windings, w.Thrusters - w.Windings, max(0, w.Lights+w.Others)}}
}

// leastW is the power in W below which the bar of a combination is too short to be seen.
const leastW = 0.5

// Shares solves each combination of thrusters and leaves out those that draw less than leastW.
func Shares(m *predict.Model, c predict.Condition, p predict.Params, drives [][]int8) (out []Share) {
	var pt predict.Point
	for _, c.Sign = range drives {
		m.Solve(&c, p, &pt, nil)
		if s := newShare(m.Vehicle.DrivesName(c.Sign), advice.Budget(m, &c, p, &pt)); s.Total() >= leastW {
			out = append(out, s)
		}
	}
	return out
}

// Total is the sum of a share, in W.
func (s *Share) Total() float64 { return floats.Sum(s.Watts[:]) }

// BudgetPicture draws a bar for each combination of thrusters, divided by the parts that
// take power. A part's name is written in its bar if it fits, and in a key if keyed.
func BudgetPicture(shares []Share, room Layout, keyed bool) *Picture {
	const bar, pitch = 15.0, 35.0
	p := &Picture{Title: "where the watts go", Width: room.Width,
		Says: "from the battery's resistance, left, to propellers and lights, right", Alt: "Where the watts go with each combination of thrusters."}
	top := strip
	if keyed {
		top = p.partsKey(12) + 6
	}
	p.High = top + pitch*float64(len(shares))
	most := 1.0
	for i := range shares {
		most = max(most, shares[i].Total())
	}
	for i := range shares {
		s, y, from := &shares[i], top+pitch*float64(i), 0.0
		name := SafeText(s.Name, 36)
		p.text("ink", fmt.Sprintf("%s: %.0f W", name, s.Total()), 0, y+13)
		for part, w := range s.Watts {
			x, long := from/most*p.Width, w/most*p.Width
			from += w
			if long < 0.05 {
				continue
			}
			p.path(fmt.Sprintf("p%d full", part), box(x, y+17, x+max(long-1.5, long/2), y+17+bar)) // leaves a gap to the next part
			words := fmt.Sprintf("%s %.0f", BudgetParts[part], w)
			if 1.06*textWidth(words, textSize)+6 < long {
				p.text(fmt.Sprintf("m o%d", part), words, x+long/2, y+28)
			}
		}
		p.Alt += fmt.Sprintf(" %s: %.0f W, %.0f W of it in tether and joints, %.0f W at the propellers.", name, s.Total(), s.Watts[1]+s.Watts[2], s.Watts[5])
	}
	return p
}

// partsKey draws the key of the parts, from y on, and returns the y of its end.
func (p *Picture) partsKey(y float64) float64 {
	x := 0.0
	for part, name := range BudgetParts {
		width := textWidth(name, textSize) + 24
		if x+width > p.Width {
			x, y = 0, y+lineHigh
		}
		p.path(fmt.Sprintf("p%d full", part), box(x, y-9, x+9, y))
		p.text("ink", name, x+12, y)
		x += width
	}
	return y
}

// OnPart returns the colour of words on a part: black on the light colours, which are those of
// joints, wiring and windings, and white on the others.
func OnPart(part int) color.NRGBA {
	if part >= 2 && part <= 4 {
		return ink
	}
	return ground
}
