package plotting

import (
	"fmt"
	"slices"
	"strings"

	"sagline/predict/causes"
	"sagline/predict/drift"
	"sagline/predict/vehicle"
)

// A Part is something of the vehicle and what the readings say of it. Places
// are in a drawing 320 wide, y down.
type Part struct {
	Name              string
	Label             string // with how far it has gone
	X, Y, Width, High float64
	LabelX, LabelY    float64
	Gauge             *Gauge // of its quantities the one farthest gone; nil where none is judged
	Found             bool   // something was found on it
}

// A Drawing is the vehicle from the battery to the propellers.
type Drawing struct {
	Parts  []Part
	Wires  [][]float64 // x and y in turn
	Joints []float64   // x along the tether
	Notes  []string    // what was found that is no part of the vehicle
	Frame  float64     // y of its top
	High   float64
}

const (
	tetherLeft, tetherRight = 16.0, 206.0
	tetherY                 = 32.0
	trunk                   = 20.0 // x of the tether on its way down
	boxLeft, boxRight       = 12.0, 58.0
	thrusterRow             = 32.0
	drawingWide             = 320.0
)

// DrawVehicle lays a vehicle out, each part with the quantities of a report that
// speak of it.
func DrawVehicle(v *vehicle.Vehicle, rep *drift.Report) *Drawing {
	d := &Drawing{}
	d.surface(v)
	for _, f := range rep.Findings {
		if f.Cause.Kind != causes.Vehicle {
			d.Notes = append(d.Notes, SafeText(f.Cause.Words, 40))
		}
	}
	d.Frame = 60 + 16*float64(len(d.Notes))
	y := d.tubes(v, d.Frame+8)
	d.thrusters(v, y)
	y += thrusterRow*float64(len(v.Thrusters)) + 6
	d.add(Part{Name: "frame", X: 12, Y: y + 16, Width: 296, High: 8, LabelX: 12, LabelY: y + 12})
	d.High = y + 32
	for _, g := range ReadGauges(rep) {
		for k := range d.Parts {
			if p := &d.Parts[k]; p.bears(g.Cause) && (p.Gauge == nil || g.Share > p.Gauge.Share) {
				p.Gauge = &g
			}
		}
	}
	for k := range d.Parts {
		p := &d.Parts[k]
		p.Found = slices.ContainsFunc(rep.Findings, func(f drift.Finding) bool { return p.bears(f.Cause.Name) })
		p.Label = p.label()
	}
	return d
}

func (d *Drawing) add(p Part)         { d.Parts = append(d.Parts, p) }
func (d *Drawing) wire(xy ...float64) { d.Wires = append(d.Wires, xy) }

// surface lays out what is between the battery and the vehicle.
func (d *Drawing) surface(v *vehicle.Vehicle) {
	d.add(Part{Name: "battery", X: 250, Y: tetherY - 12, Width: 70, High: 24, LabelX: 250, LabelY: 14})
	d.add(Part{Name: "fuse", X: 218, Y: tetherY - 6, Width: 20, High: 12, LabelX: 214, LabelY: tetherY + 19})
	d.add(Part{Name: "tether", X: tetherLeft, Y: tetherY - 5, Width: tetherRight - tetherLeft, High: 10, LabelX: tetherLeft, LabelY: 14})
	d.wire(tetherRight, tetherY, 218, tetherY)
	d.wire(238, tetherY, 250, tetherY)
	for _, j := range v.Joints {
		d.Joints = append(d.Joints, tetherRight-min(j.AtM/v.Tether.LengthM, 1)*(tetherRight-tetherLeft))
	}
}

// tubes lays out the tubes from y on, two a row; it returns where they end.
func (d *Drawing) tubes(v *vehicle.Vehicle, y float64) float64 {
	names := []string{}
	for _, t := range v.Tubes {
		names = append(names, SafeText(t.Name, 80))
	}
	if len(names) == 0 {
		names = []string{"hull"}
	}
	for i, name := range names {
		x, top := 74+122*float64(i%2), y+34*float64(i/2)
		d.add(Part{Name: "tube:" + name, X: x, Y: top + 15, Width: 112, High: 12, LabelX: x, LabelY: top + 11})
	}
	return y + 34*float64((len(names)+1)/2)
}

// thrusters lays out box, branches and thrusters from y on.
func (d *Drawing) thrusters(v *vehicle.Vehicle, y float64) {
	n := float64(len(v.Thrusters))
	d.add(Part{Name: "box", X: boxLeft, Y: y + 4, Width: boxRight - boxLeft, High: thrusterRow*n - 8, LabelX: boxLeft + 14, LabelY: y + thrusterRow*n/2 + 4})
	d.wire(trunk, tetherY+5, trunk, y+4)
	for i := range v.Thrusters {
		name, middle := v.Thrusters[i].Name, y+thrusterRow*(float64(i)+0.6)
		d.add(Part{Name: "branch:" + name, X: boxRight, Y: middle - 3, Width: 70, High: 6, LabelX: boxRight + 6, LabelY: middle - 7})
		d.add(Part{Name: "thruster:" + name, X: 128, Y: middle - 9, Width: 70, High: 18, LabelX: 204, LabelY: middle + 4})
	}
}

// bears says whether a cause is one of the part.
func (p *Part) bears(cause string) bool {
	kind, of, one := strings.Cut(cause, ":")
	part, name, _ := strings.Cut(p.Name, ":")
	switch kind {
	case "power_loop", "intermittent_contact", "insulation":
		return part == "tether"
	case "ingress":
		return part == "tube"
	case "drag":
		return part == "frame"
	case "branch":
		return part == "branch" && of == name
	case "thrust", "friction", "motor", "stall":
		return part == "thruster" && (!one || of == name)
	}
	return kind == part
}

// label names the part and says how far it has gone.
func (p *Part) label() string {
	part, name, _ := strings.Cut(p.Name, ":")
	out := map[string]string{"tether": "tether, joints", "tube": Fit(name, 12, 66), "frame": "frame, drag", "branch": "", "thruster": Fit(SafeText(name, 80), 12, 62)}
	words, ok := out[part]
	if !ok {
		words = part
	}
	switch {
	case p.Gauge == nil:
	case p.Gauge.State == drift.CannotTell:
		words += " ?"
	default:
		words += " " + p.Gauge.Percent()
	}
	if p.Found {
		words += " ▲"
	}
	return strings.TrimSpace(words)
}

// Says is the part in words, empty where the readings say nothing of it.
func (p *Part) Says() string {
	if p.Gauge == nil {
		return ""
	}
	part, name, _ := strings.Cut(p.Name, ":")
	words := fmt.Sprintf("%s, %s, %s of the way to its limit", p.Gauge.Title, p.Gauge.State, p.Gauge.Percent())
	switch {
	case part == "branch":
		return words
	case name != "":
		part = SafeText(name, 20)
	}
	return part + ": " + words
}

// Fill is which parts of the part's length are filled, and which are in doubt,
// as shares from 0 to 1.
func (p *Part) Fill() (to, doubtFrom, doubtTo float64) {
	if p.Gauge == nil {
		return 0, 0, 0
	}
	in := func(x float64) float64 { return min(max(x, 0), 1) }
	return in(p.Gauge.Share), in(p.Gauge.Low), in(p.Gauge.High)
}
