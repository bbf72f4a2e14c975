package drift

import (
	"fmt"
	"math"

	"sagline/predict"
)

// remarks say what the newest dive's readings cannot tell, and the one
// reading that would tell most: when it would at least halve an interval that
// is wider than half of the way from the sound value to the limit.
func (a *analysis) remarks() []string {
	out := []string{}
	newest := len(a.r.Dives) - 1
	if newest < 0 {
		return out
	}
	for i := range a.faults {
		f := &a.faults[i]
		if f.param != predict.LoopOhm && f.param != predict.LogThrust {
			continue
		}
		g, ok := a.r.Tells(newest, a.driftIndex(f.param))
		way := math.Abs(a.limit(f) - a.zero(f))
		unit := " Ω"
		words, _ := Words(f.quantity)
		if f.param == predict.LogThrust {
			way, unit = 1-a.limit(f), ""
		}
		if ok && g.Before > way/2 && g.With < g.Before/2 {
			out = append(out, fmt.Sprintf("one dive's readings leave %s open: resistance and thrust hardly separate; %s would take ±%.2g%s to ±%.2g%s",
				words, g.Quantity.Instrument(), g.Before, unit, g.With, unit))
		}
	}
	return out
}
