package plotting

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// A Grid shows how far readings are from those of a sound vehicle: a row for each kind of
// reading, a column for each dive. Faults, wrong meters and slips show as different
// patterns.
type Grid struct {
	Rows  []GridRow
	Dives int
}

// A GridRow is one kind of reading.
type GridRow struct {
	Name  string
	Cells []GridCell // one a dive

	quantity quantity.Quantity
	order    int
}

// A GridCell is one dive's readings of a kind.
type GridCell struct {
	Readings, Far, SetAside int
	Z                       float64 // of the farthest reading not set aside: standard deviations above its prediction
}

const (
	// FarSD is the distance from its prediction, in standard deviations, up to which a
	// reading counts as sound: 3 in 1000 of normally distributed readings are farther.
	FarSD = 3.0
	// leastSD and mostSD are the distances at which a mark has height 0 and full height. The
	// scale is logarithmic, so that both 4 and 33 can be read.
	leastSD, mostSD = 1.5, 40.0
)

// ReadGrid compares all readings of a log with the sound vehicle's predictions, at the levels that it
// has had since later dives.
func ReadGrid(r *fit.Result, levels []fit.Since) *Grid {
	g, sound := &Grid{Dives: len(r.Dives)}, r.NewComparison(levels...)
	for d := range r.Dives {
		for _, c := range sound.Dive(d) {
			cell := &g.row(r, c.Cell).Cells[d]
			cell.Readings++
			if c.Outlier {
				cell.SetAside++
				continue
			}
			if math.Abs(c.Z) > FarSD {
				cell.Far++
			}
			if math.Abs(c.Z) > math.Abs(cell.Z) {
				cell.Z = c.Z
			}
		}
	}
	slices.SortStableFunc(g.Rows, func(a, b GridRow) int { return cmp.Or(int(a.quantity-b.quantity), a.order-b.order) })
	return g
}

// row finds or adds the row of a cell. The battery's voltage has one row at rest and one under
// load; the current has its own row for each thruster that runs alone.
func (g *Grid) row(r *fit.Result, c fit.Cell) *GridRow {
	name, order := c.Quantity.Words(), 0
	switch drives := c.Line.Drives; {
	case c.Quantity == quantity.BatteryV && len(drives) == 0:
		name = "battery at rest"
	case c.Quantity == quantity.BatteryV:
		name, order = "battery loaded", 1
	case c.Quantity == quantity.CurrentA && len(drives) == 1:
		order = 1 + slices.IndexFunc(r.Model.Vehicle.Thrusters, func(t vehicle.Thruster) bool { return t.Name == drives[0].Name })
		name = "current, " + SafeText(drives[0].Name, 20)
	}
	for i := range g.Rows {
		if g.Rows[i].quantity == c.Quantity && g.Rows[i].order == order {
			return &g.Rows[i]
		}
	}
	g.Rows = append(g.Rows, GridRow{name, make([]GridCell, g.Dives), c.Quantity, order})
	return &g.Rows[len(g.Rows)-1]
}

// Counts returns the numbers of all readings, of those farther than FarSD and of those set aside.
func (g *Grid) Counts() (all, far, setAside int) {
	for _, row := range g.Rows {
		for _, c := range row.Cells {
			all, far, setAside = all+c.Readings, far+c.Far, setAside+c.SetAside
		}
	}
	return all, far, setAside
}

// AsPredicted is what Says returns for a dive without far readings.
const AsPredicted = "as predicted"

// Says lists a dive's far readings and those set aside.
func (g *Grid) Says(dive int) string {
	var out []string
	for _, row := range g.Rows {
		c := &row.Cells[dive]
		if c.Far > 0 {
			out = append(out, fmt.Sprintf("%s %s", row.Name, Signed(c.Z)))
		}
		if c.SetAside > 0 {
			out = append(out, fmt.Sprintf("%s: %d set aside", row.Name, c.SetAside))
		}
	}
	if len(out) == 0 {
		return AsPredicted
	}
	return strings.Join(out, ", ")
}

// Verdict words a reading that is z standard deviations above its prediction, "" for a sound one.
func Verdict(setAside bool, z float64) string {
	switch {
	case setAside:
		return "set aside: a slip?"
	case z > FarSD:
		return "high"
	case z < -FarSD:
		return "low"
	}
	return ""
}

// Signed writes a number of standard deviations with its sign.
func Signed(z float64) string {
	digits := 1
	if math.Abs(z) >= 10 {
		digits = 0
	}
	if math.Abs(z) < 0.05 { // no −0.0
		z = 0
	}
	return Minus(fmt.Sprintf("%+.*f", digits, z))
}

// gridLeft is the x at which the columns of the grid begin, right of the rows' names.
const gridLeft = 112.0

// mostSaid is the number of newest dives that the grid's description names.
const mostSaid = 5

// GridPicture draws a grid. Marks point up for readings above those of a sound vehicle and
// down for readings below; they are longer the farther the readings are.
func GridPicture(rep *findings.Report, g *Grid, dated bool, room Layout) *Picture {
	const top, under = 34.0, 20.0
	n := float64(len(g.Rows))
	row := 19.0
	if room.High > 0 {
		row = 14 // rows get lower, words stay as large
	}
	p := &Picture{Title: "readings beside predictions", Width: room.Width, High: max(room.High, top+row*n+under)}
	by, foot := (p.Width-gridLeft)/float64(g.Dives), p.High-under
	x := make([]float64, g.Dives)
	for d := range x {
		x[d] = gridLeft + by*(float64(d)+0.5)
	}
	p.cells(g, x, 0.42*by, top, (foot-top)/n)
	title := gridLeft - 30
	for _, d := range spaced(x, 36) {
		label := fitEnd(ShortName(rep.Dives[d].Dive), textSize, 28)
		p.text("m quiet", label, min(x[d], p.Width-16), foot+15)
		title = min(title, x[d]-textWidth(label, textSize)/2-4-textWidth("dive", textSize))
	}
	p.text("quiet", "dive", title, foot+15)
	p.hits(x, gridLeft, p.Width, foot, func(d int) (Path, string) {
		return line(x[d], top-4, x[d], foot), DiveName(&rep.Dives[d], dated) + ": " + g.Says(d)
	})
	g.words(p, rep, dated)
	return p
}

// cells draws a grid's rows from top on, each of height row. Marks reach half to either side of a
// dive's x.
func (p *Picture) cells(g *Grid, x []float64, half, top, row float64) {
	var read, up, down, crosses Path
	for i, r := range g.Rows {
		y := top + row*(float64(i)+0.5)
		p.text("ink", Fit(r.Name, textSize, gridLeft-8), 0, y+4)
		for d := range r.Cells {
			c := &r.Cells[d]
			if c.Readings == 0 {
				continue
			}
			read = append(read, line(x[d]-half, y, x[d]+half, y)...)
			if h := c.height() * row * 0.46; h > 0 && c.Z > 0 {
				up = append(up, box(x[d]-half, y-h, x[d]+half, y)...)
			} else if h > 0 {
				down = append(down, box(x[d]-half, y, x[d]+half, y+h)...)
			}
			if c.SetAside > 0 {
				crosses = append(crosses, cross(x[d], y)...)
			}
		}
	}
	p.path("quiet", read)
	p.path("limit full", up)
	p.path("measured full", down)
	p.path("ink bar", crosses)
}

// words sets the words of a grid's picture.
func (g *Grid) words(p *Picture, rep *findings.Report, dated bool) {
	all, far, setAside := g.Counts()
	from := "a sound vehicle's"
	if !rep.Judged {
		from = "the fit of these dives"
	}
	p.Says = fmt.Sprintf("%d of %d readings lie far from %s: more than %g times their scatter", far, all, from, FarSD)
	p.Key = "up: above the prediction; down: below; the longer, the farther off"
	if setAside > 0 {
		p.Key += fmt.Sprintf("; crosses: %d set aside as slips", setAside)
	}
	p.Alt = fmt.Sprintf("Each dive’s readings beside their predictions: %d of %d lie far from %s, %d set aside.", far, all, from, setAside)
	for i := max(0, len(rep.Dives)-mostSaid); i < len(rep.Dives); i++ {
		if says := g.Says(i); says != AsPredicted {
			p.Alt += fmt.Sprintf(" %s: %s.", DiveName(&rep.Dives[i], dated), says)
		}
	}
}

// height returns the height of a cell's mark as a share of the room above or below the row's
// middle; 0 up to FarSD.
func (c *GridCell) height() float64 {
	z := math.Abs(c.Z)
	if z <= FarSD {
		return 0
	}
	return min(math.Log(z/leastSD)/math.Log(mostSD/leastSD), 1)
}
