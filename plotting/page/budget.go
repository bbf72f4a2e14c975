package page

import (
	"fmt"

	"sagline/plotting"
)

// budgetPicture draws where the watts go, a bar for each combination.
func budgetPicture(shares []plotting.Share) Picture {
	p := Picture{Title: "each combination of thrusters"}
	const bar, gap = 15.0, 35.0
	most := 1.0
	for i := range shares {
		most = max(most, shares[i].Total())
	}
	p.Alt = "Where the watts go with each combination of thrusters."
	for i := range shares {
		s := &shares[i]
		y := strip + gap*float64(i)
		name := plotting.SafeText(s.Name, 36)
		p.text("k", fmt.Sprintf("%s: %.0f W", name, s.Total()), 0, y+13)
		from := 0.0
		for part, w := range s.Watts {
			x, long := from/most*wide, w/most*wide
			from += w
			if long < 0.05 {
				continue
			}
			box := fmt.Sprintf("M%sh%sv%sh-%sz", xy(x, y+17), n(long), n(bar), n(long))
			p.path(fmt.Sprintf("p%d", part), box)
			words := fmt.Sprintf("%s %.0f", plotting.BudgetParts[part], w)
			if 1.06*plotting.TextWidth(words, textSize)+6 < long {
				p.text(fmt.Sprintf("m o%d", part), words, x+long/2, y+28)
			}
			p.Hits = append(p.Hits, Hit{-1, box, box,
				fmt.Sprintf("%s: %s %.1f W of %.0f", short(s.Name), plotting.BudgetParts[part], w, s.Total())})
		}
		p.Alt += fmt.Sprintf(" %s: %.0f W, %.0f W of it in tether and joints, %.0f W at the propellers.", name, s.Total(), s.Watts[1]+s.Watts[2], s.Watts[5])
	}
	p.High = strip + gap*float64(len(shares))
	p.Alt += " All values are in the table beside it."
	return p
}
