package plotting

import (
	"fmt"
	"image/color"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/session/quantity"
)

// BudgetParts are where the watts go.
var BudgetParts = [7]string{"battery", "tether", "joints", "branches", "windings", "propellers", "lights"}

// A Share is one bar of the loss budget: what each part of one combination
// takes, W, in the order of BudgetParts.
type Share struct {
	Name  string
	Watts [len(BudgetParts)]float64
}

// NewShare names a power budget.
func NewShare(name string, w advice.Power) Share {
	return Share{SafeText(name, 80), [len(BudgetParts)]float64{w.Battery, w.Tether, w.Joints, w.Branches, w.Windings, w.Thrusters - w.Windings, w.Lights}}
}

// Shares solves every useful combination that draws current.
func Shares(m *predict.Model, c predict.Condition, p predict.Params) []Share {
	var out []Share
	var pt predict.Point
	for _, c.Sign = range m.Combinations() {
		if m.Solve(&c, p, &pt, nil); pt.Out[quantity.CurrentA] > 0 {
			out = append(out, NewShare(m.Vehicle.DrivesName(c.Sign), advice.Budget(m, &c, p, &pt)))
		}
	}
	return out
}

// Total is all of a share, W.
func (s *Share) Total() float64 {
	sum := 0.0
	for _, w := range s.Watts {
		sum += w
	}
	return sum
}

// Budget draws a bar for each combination of thrusters, split by where the
// watts go, each part in the order of the key above and named where it fits.
func Budget(vehicle string, shares []Share) (*plot.Plot, error) {
	if len(shares) == 0 {
		return nil, fmt.Errorf("no combinations to draw")
	}
	p := newPlot(SafeText(vehicle, 60)+": where the watts go", "from the battery's own resistance, left, to propellers and lights, right")
	p.HideY()
	p.X.Label.Text = "W"
	p.Add(bars(shares))
	p.X.Min = 0
	return p, nil
}

// bars draws shares, the first on top.
type bars []Share

const keyRows = 2

// DataRange implements plot.DataRanger.
func (b bars) DataRange() (xmin, xmax, ymin, ymax float64) {
	for i := range b {
		xmax = max(xmax, b[i].Total())
	}
	return 0, max(xmax, 1), 0, float64(len(b))
}

// GlyphBoxes keeps room for the key.
func (b bars) GlyphBoxes(*plot.Plot) []plot.GlyphBox {
	return []plot.GlyphBox{{X: 0.5, Y: 1, Rectangle: vg.Rectangle{Max: vg.Point{Y: keyRows*rowHigh + 4}}}}
}

// Plot implements plot.Plotter.
func (b bars) Plot(c draw.Canvas, p *plot.Plot) {
	fx, fy := p.Transforms(&c)
	b.key(c)
	for i := range b {
		top, foot := fy(float64(len(b)-i)), fy(float64(len(b)-i-1))
		named := top - rowHigh
		c.FillText(words(ink), vg.Point{X: c.Min.X, Y: named + 3}, fmt.Sprintf("%s: %.0f W", b[i].Name, b[i].Total()))
		from := 0.0
		for part, w := range b[i].Watts {
			left, right := fx(from), fx(from+w)
			from += w
			c.FillPolygon(PartColours[part], box(left, foot+(named-foot)*0.15, right, named))
			for _, text := range []string{fmt.Sprintf("%s %.0f", BudgetParts[part], w), fmt.Sprintf("%.0f", w)} {
				s := words(OnPart(part))
				s.XAlign, s.YAlign = draw.XCenter, draw.YCenter
				if s.Width(text)+6 < right-left && named-foot > 14 {
					c.FillText(s, vg.Point{X: (left + right) / 2, Y: foot + (named-foot)*0.575}, text)
					break
				}
			}
		}
	}
}

// key names the parts in the order of the bars.
func (b bars) key(c draw.Canvas) {
	x, y := c.Min.X, c.Max.Y+(keyRows-1)*rowHigh+4
	for part, name := range BudgetParts {
		wide := words(ink).Width(name) + 24
		if x+wide > c.Max.X {
			x, y = c.Min.X, y-rowHigh
		}
		c.FillPolygon(PartColours[part], box(x, y+1, x+9, y+10))
		c.FillText(words(ink), vg.Point{X: x + 12, Y: y + 2}, name)
		x += wide
	}
}

// OnPart is black or white, whichever reads better on a part's colour.
func OnPart(part int) color.NRGBA {
	if Contrast(ink, PartColours[part]) > Contrast(ground, PartColours[part]) {
		return ink
	}
	return ground
}
