package page

import "sagline/plotting"

// repairPicture draws what a vehicle could do before a repair, thin, and after,
// thick.
func repairPicture(r *plotting.Repair) Picture {
	const pitch, long = 44.0, 300.0
	p := Picture{Title: "Before and after", Says: r.Title + " (thin: before, thick: after)", High: pitch * float64(len(r.Rows)),
		Alt: "Before and after " + r.Title + "."}
	for i, row := range r.Rows {
		y, most := pitch*float64(i), max(row.Before, row.After)
		p.text("k", row.Name+": "+row.Says, 0, y+13)
		p.path("quiet full", area(0, y+18, long*row.Before/most, y+23))
		p.path("measured full", area(0, y+24, long*row.After/most, y+34))
		p.Alt += " " + capital(row.Name) + ": " + row.Says + "."
	}
	return p
}
