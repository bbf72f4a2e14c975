package fit

import (
	"math"

	"gonum.org/v1/gonum/stat"

	"sagline/predict/instrument"
)

// A sameReading is what readings have in common whose rounding may be the same in all of them.
type sameReading struct {
	column       string
	sign         string // per thruster, as of a Condition
	lights, held bool
	step         float64 // as Cell.rounded
}

// shareRounding lets readings that hardly vary against their step share what was rounded off them: of 2.4 A that is read
// a hundred times and written down as 2 all hundred are wrong alike, and no mean of theirs is better.
func shareRounding(dives []dive, n *instrument.Noise) {
	same := map[sameReading][]*Cell{}
	for i := range dives {
		d := &dives[i]
		for k := range d.cells {
			c := &d.cells[k]
			if c.rounded == 0 || c.stream {
				continue
			}
			o := &d.obs[c.obs]
			sign := make([]byte, len(o.Cond.Sign))
			for i, x := range o.Cond.Sign {
				sign[i] = byte(x)
			}
			key := sameReading{o.line.Readings[c.Quantity].Column.Name, string(sign), o.Cond.Lights, o.Cond.Held, c.rounded}
			same[key] = append(same[key], c)
		}
	}
	for key, cells := range same {
		if len(cells) == 1 {
			continue
		}
		values := make([]float64, len(cells))
		for i, c := range cells {
			values[i] = c.Value / (key.step * math.Sqrt(12))
		}
		shared := instrument.SharedRounding(math.Sqrt(max(stat.Variance(values, nil)-1.0/12, 0))) // Sheppard's correction
		for _, c := range cells {
			c.rounded *= math.Sqrt(1 + shared*float64(len(cells)-1))
			c.SD = c.noiseAt(n, c.Value)
		}
	}
}
