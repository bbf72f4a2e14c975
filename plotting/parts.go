package plotting

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/vehicle"
)

// A Part is a part of the vehicle in a Drawing, with what the readings say about it.
// Coordinates are in a drawing 320 wide, y down.
type Part struct {
	Name              string
	Of                []string // names of the tubes or thrusters that it stands for
	Label             string   // its name and how far it has gone to its limit
	X, Y, Width, High float64
	LabelX, LabelY    float64
	Gauge             *Gauge // of the quantity nearest to its limit; nil if none is judged
	Found             bool   // a finding concerns it
}

// A Drawing is the vehicle from the battery to the propellers.
type Drawing struct {
	Parts  []Part
	Wires  [][]float64 // x and y in turn
	Joints []float64   // x of joints on the tether
	Notes  []string    // findings that concern no part of the vehicle
	Rows   int         // rows for Notes; the last row also counts the notes without a row
	Folded bool        // one part stands for several
	Yet    string      // what is missing before readings are judged, "" if they are
	Frame  float64     // y of its top
	High   float64
}

const (
	tetherLeft, tetherRight = 16.0, 206.0
	tetherY                 = 32.0
	trunk                   = 20.0 // x of the tether's vertical part
	boxLeft, boxRight       = 12.0, 58.0
	thrusterRow             = 30.0
	tubeRow                 = 34.0
	drawingWide             = 320.0
)

// DrawVehicle lays out a vehicle, each part with the quantities of a report that concern it. If
// room is too low for everything, fewer notes have a row, one part stands for all tubes, since no
// quantity tells them apart, and one part for the thrusters farthest from their limits.
func DrawVehicle(v *vehicle.Vehicle, rep *findings.Report, room Layout) *Drawing {
	d, gauges := &Drawing{}, ReadGauges(rep)
	if !rep.Judged {
		d.Yet = rep.Verdict()
	}
	d.surface(v)
	for _, f := range rep.Reported() {
		if f.Cause.Kind != causes.Vehicle {
			d.Notes = append(d.Notes, SafeText(f.Cause.Words, 40))
		}
	}
	tubes, thrusters := tubesOf(v), []Part(nil)
	for _, name := range v.ThrusterNames() {
		thrusters = append(thrusters, Part{Name: "thruster:" + name, Of: []string{name}})
	}
	most := room.High / headingShare
	const noteRow, top, foot = 16, 60 + 8, 38
	if d.Rows = len(d.Notes); room.High > 0 {
		fit := int((most - top - tubeRow - thrusterRow*float64(min(len(thrusters), 2)) - foot) / noteRow)
		d.Rows = min(d.Rows, max(fit, 1))
	}
	d.Frame = 60 + noteRow*float64(d.Rows)
	below := func(thrusters int) float64 {
		return d.Frame + 8 + tubeRow*float64((len(tubes)+1)/2) + thrusterRow*float64(thrusters) + foot
	}
	if room.High > 0 && below(len(thrusters)) > most && len(tubes) > 2 {
		tubes = []Part{{Name: fmt.Sprintf("tube:%d tubes", len(tubes)), Of: names(tubes)}}
		d.Folded = true
	}
	if fit := int((most - below(0)) / thrusterRow); room.High > 0 && fit < len(thrusters) && len(thrusters) > 2 {
		thrusters = folded(thrusters, max(fit, 2)-1, gauges, rep)
		d.Folded = true
	}
	y := d.tubes(tubes, d.Frame+8)
	d.thrusters(thrusters, y)
	y += thrusterRow*float64(len(thrusters)) + 6
	d.add(Part{Name: "frame", X: 12, Y: y + 16, Width: 296, High: 8, LabelX: 12, LabelY: y + 12})
	d.High = y + 32
	for k := range d.Parts {
		p := &d.Parts[k]
		p.judge(gauges, rep)
		p.Label = p.label()
	}
	return d
}

// judge sets a part's gauge and whether a finding concerns it.
func (p *Part) judge(gauges []Gauge, rep *findings.Report) {
	p.Gauge = Nearest(slices.DeleteFunc(slices.Clone(gauges), func(g Gauge) bool { return !p.bears(g.Cause) }))
	p.Found = slices.ContainsFunc(rep.Reported(), func(f findings.Finding) bool { return slices.ContainsFunc(f.Names(), p.bears) })
}

// folded keeps as many thrusters as leave says, those with findings or nearest to their limits,
// their branches included, and replaces the others by one part.
func folded(thrusters []Part, leave int, gauges []Gauge, rep *findings.Report) []Part {
	far := func(p Part) float64 {
		branch := Part{Name: "branch:", Of: p.Of}
		p.judge(gauges, rep)
		branch.judge(gauges, rep)
		out := math.Inf(-1)
		for _, x := range []Part{p, branch} {
			switch {
			case x.Found:
				return math.Inf(1)
			case x.Gauge != nil:
				out = max(out, x.Gauge.Share)
			}
		}
		return out
	}
	order := slices.Clone(thrusters)
	slices.SortStableFunc(order, func(a, b Part) int { return cmp.Compare(far(b), far(a)) })
	rest := names(order[leave:])
	out := slices.DeleteFunc(slices.Clone(thrusters), func(p Part) bool { return slices.Contains(rest, p.Of[0]) })
	return append(out, Part{Name: fmt.Sprintf("thruster:%d more", len(rest)), Of: rest})
}

func names(parts []Part) (out []string) {
	for _, p := range parts {
		out = append(out, p.Of...)
	}
	return out
}

func (d *Drawing) add(p Part)         { d.Parts = append(d.Parts, p) }
func (d *Drawing) wire(xy ...float64) { d.Wires = append(d.Wires, xy) }

// surface lays out battery, fuse and tether.
func (d *Drawing) surface(v *vehicle.Vehicle) {
	d.add(Part{Name: "battery", X: 250, Y: tetherY - 12, Width: 70, High: 24, LabelX: 250, LabelY: 14})
	fuse, at := "fuse", 214.0
	if v.Battery.FuseA == 0 {
		fuse, at = "no fuse", 202 // the file says that there is none; the longer label is kept clear of the battery
	}
	d.add(Part{Name: fuse, X: 218, Y: tetherY - 6, Width: 20, High: 12, LabelX: at, LabelY: tetherY + 19})
	d.add(Part{Name: "tether", X: tetherLeft, Y: tetherY - 5, Width: tetherRight - tetherLeft, High: 10, LabelX: tetherLeft, LabelY: 14})
	d.wire(tetherRight, tetherY, 218, tetherY)
	d.wire(238, tetherY, 250, tetherY)
	for _, j := range v.Joints {
		d.Joints = append(d.Joints, tetherRight-min(j.AtM/v.Tether.LengthM, 1)*(tetherRight-tetherLeft))
	}
}

// tubesOf returns a part for each of a vehicle's tubes, or one for the hull if it has none.
func tubesOf(v *vehicle.Vehicle) (out []Part) {
	for _, t := range v.Tubes {
		out = append(out, Part{Name: "tube:" + SafeText(t.Name, 80), Of: []string{t.Name}})
	}
	if len(out) == 0 {
		out = []Part{{Name: "tube:hull"}}
	}
	return out
}

// tubes lays out tubes from y on, two in a row, and returns the y of their end.
func (d *Drawing) tubes(parts []Part, y float64) float64 {
	for i, p := range parts {
		x, top := 74+122*float64(i%2), y+tubeRow*float64(i/2)
		p.X, p.Y, p.Width, p.High, p.LabelX, p.LabelY = x, top+15, 112, 12, x, top+11
		d.add(p)
	}
	return y + tubeRow*float64((len(parts)+1)/2)
}

// thrusters lays out box, branches and thrusters from y on.
func (d *Drawing) thrusters(parts []Part, y float64) {
	n := float64(len(parts))
	d.add(Part{Name: "box", X: boxLeft, Y: y + 4, Width: boxRight - boxLeft, High: thrusterRow*n - 8, LabelX: boxLeft + 14, LabelY: y + thrusterRow*n/2 + 4})
	d.wire(trunk, tetherY+5, trunk, y+4)
	for i, p := range parts {
		_, name, _ := strings.Cut(p.Name, ":")
		middle := y + thrusterRow*(float64(i)+0.6)
		d.add(Part{Name: "branch:" + name, Of: p.Of, X: boxRight, Y: middle - 3, Width: 70, High: 6, LabelX: boxRight + 6, LabelY: middle - 7})
		p.X, p.Y, p.Width, p.High, p.LabelX, p.LabelY = 128, middle-9, 70, 18, 204, middle+4
		d.add(p)
	}
}

// bears reports whether a cause concerns the part.
func (p *Part) bears(cause string) bool {
	kind, of, one := strings.Cut(cause, ":")
	partKind, _, _ := strings.Cut(p.Name, ":")
	switch kind {
	case "power_loop", "intermittent_contact", "insulation":
		return partKind == "tether"
	case "ingress":
		return partKind == "tube"
	case "drag":
		return partKind == "frame"
	case "branch":
		return partKind == "branch" && slices.Contains(p.Of, of)
	case "thrust", "friction", "motor", "stall":
		return partKind == "thruster" && (!one || slices.Contains(p.Of, of))
	}
	return kind == partKind
}

// label returns the part's name and how far it has gone to its limit.
func (p *Part) label() string {
	kind, name, _ := strings.Cut(p.Name, ":")
	out := map[string]string{"tether": "tether, joints", "tube": Fit(name, 12, 66), "frame": "frame, drag", "branch": "", "thruster": Fit(SafeText(name, 80), 12, 62)}
	words, ok := out[kind]
	if !ok {
		words = kind
	}
	switch {
	case p.Gauge == nil:
	case p.Gauge.State == findings.CannotTell:
		words += " ?"
	default:
		words += " " + p.Gauge.Percent()
	}
	if p.Found {
		words += " ▲"
	}
	return strings.TrimSpace(words)
}

// Says describes the part, "" if no quantity concerns it.
func (p *Part) Says() string {
	if p.Gauge == nil {
		return ""
	}
	kind, name, _ := strings.Cut(p.Name, ":")
	words := fmt.Sprintf("%s, %s, %s of the way to its limit", p.Gauge.Title, p.Gauge.State, p.Gauge.Percent())
	switch {
	case kind == "branch":
		return words
	case name != "":
		kind = SafeText(name, 20)
	}
	return kind + ": " + words
}

// Fill returns shares of the part's length, from 0 to 1: it is filled up to the first, and hatched
// as uncertain between the other two.
func (p *Part) Fill() (to, doubtFrom, doubtTo float64) {
	if p.Gauge == nil {
		return 0, 0, 0
	}
	in := func(x float64) float64 { return min(max(x, 0), 1) }
	return in(p.Gauge.Share), in(p.Gauge.Low), in(p.Gauge.High)
}

// Picture draws a vehicle. Each part is filled by its share of the way to its limit and hatched
// over its 95 % range.
func (d *Drawing) Picture() *Picture {
	p := &Picture{Title: "how near each part is to its limit", Width: drawingWide, High: d.High,
		Says: "filled: share of the way; hatched: 95 % range; ?: cannot tell; ▲: found",
		Alt:  "The vehicle from the battery to the propellers, each part filled by how far it has gone to its limit."}
	if d.Yet != "" {
		p.Says = d.Yet
		p.Alt += " " + Capital(d.Yet) + "."
	}
	if d.Folded {
		p.Says += "; several in one: the farthest"
	}
	p.path("quiet", box(2, d.Frame, drawingWide-2, d.High-2))
	for _, w := range d.Wires {
		p.path("ink thick", line(w...))
	}
	for i := range d.Parts {
		p.part(&d.Parts[i])
	}
	for _, x := range d.Joints {
		p.path("ink full", diamond(x, tetherY))
	}
	for i, note := range d.Notes {
		p.Alt += " Found: " + note + "."
		if i >= d.Rows {
			continue
		}
		if more := len(d.Notes) - d.Rows; more > 0 && i == d.Rows-1 {
			note = Fit(note, textSize, 190) + fmt.Sprintf("; %d more", more)
		}
		p.text("limit", "▲ "+note, 60, d.Frame-6-16*float64(d.Rows-1-i))
	}
	return p
}

func (p *Picture) part(part *Part) {
	tint, words := "measured", "ink"
	if part.Found {
		tint, words = "limit", "limit"
	}
	to, from, until := part.Fill()
	edge := box(part.X, part.Y, part.X+part.Width, part.Y+part.High)
	p.path("empty ink", edge)
	if to > 0 {
		p.path(tint+" full", box(part.X, part.Y, part.X+to*part.Width, part.Y+part.High))
	}
	if until > from {
		p.path(tint, hatch(part.X+from*part.Width, part.Y, part.X+until*part.Width, part.Y+part.High))
	}
	p.text(words, part.Label, part.LabelX, part.LabelY)
	if says := part.Says(); says != "" {
		p.Alt += " " + Capital(says) + "."
		p.Hits = append(p.Hits, Hit{-1, edge, edge, says})
	}
}
