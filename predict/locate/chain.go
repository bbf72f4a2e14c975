package locate

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"sagline/predict/vehicle"
)

// A kind is what a part of the chain is.
type kind struct {
	weight float64 // relative probability that it fails; common practice, no source
	perM   float64 // the same for each metre of it
	repair string
}

var (
	clip = kind{weight: 2, repair: "clean post and clip to bright metal and tighten them"}
	fuse = kind{weight: 2, repair: "clean or replace the fuse holder, and fit a fuse of the same rating"}
	plug = kind{weight: 4, repair: "dry and clean the pins, make their terminals anew, and replace a plug whose pins are loose or green"}
	// A splice under water is what such vehicles lose most.
	splice   = kind{weight: 4, repair: "cut the joint out, make it anew with each wire soldered or crimped, and seal it over its whole length"}
	cable    = kind{weight: 0.5, perM: 0.02, repair: "cut the damaged length out or replace the tether: look for a kink, a nick or green strands"}
	box      = kind{weight: 3, repair: "open the box, dry it, and make its terminals anew"}
	contact  = kind{weight: 3, repair: "replace the relay"}
	lead     = kind{weight: 1, repair: "replace the lead"}
	terminal = kind{weight: 2, repair: "clean the motor's terminals and crimp them anew; then look at its brushes"}
	tube     = kind{weight: 1, repair: "clean and grease the O-rings, look for hairs and scratches, and hold it once more"}
)

// A part is one piece of the chain from the battery to the vehicle, in both
// legs or in one.
type part struct {
	kind     *kind
	name     string
	from, to float64 // m from the battery's end of the tether
	legs     []string
	reached  bool // a meter's tips reach its conductors
	wet      bool // it may leak to the water

	copper, contact float64 // Ω of one sound leg, copper at 20 °C
}

// The legs, as they are typed.
const (
	plus  = "+"
	minus = "-"
)

var both = []string{plus, minus}

// powerChain returns the power pair from the battery's posts to the box.
func powerChain(v *vehicle.Vehicle) []part {
	out := []part{{kind: &clip, name: "battery clip", legs: both, reached: true}}
	if v.Battery.FuseA > 0 {
		out = append(out, part{kind: &fuse, name: "fuse", legs: []string{plus}, reached: true})
	}
	joints := tetherJoints(v)
	for i := range joints {
		if i > 0 && joints[i].from > joints[i-1].from {
			out = append(out, part{kind: &cable, name: fmt.Sprintf("cable %s to %s m", short(joints[i-1].from), short(joints[i].from)),
				from: joints[i-1].from, to: joints[i].from, legs: both, wet: true})
		}
		out = append(out, joints[i])
	}
	return out
}

// tetherJoints returns the plug, the joints that the file names and the box, from the battery's
// end. A joint named plug or box stands for that end.
func tetherJoints(v *vehicle.Vehicle) []part {
	end := v.Tether.LengthM
	first := part{kind: &plug, name: "plug", legs: both, reached: true, wet: true}
	last := part{kind: &box, name: "box", from: end, to: end, legs: both, reached: true, wet: true}
	var rest []part
	for _, j := range v.Joints {
		switch strings.ToLower(j.Name) {
		case first.name:
			first.reached = j.Reached()
		case last.name:
			last.reached = j.Reached()
		default:
			at := min(j.AtM, end)
			rest = append(rest, part{kind: &splice, name: j.Name, from: at, to: at, legs: both, reached: j.Reached(), wet: true})
		}
	}
	slices.SortStableFunc(rest, func(a, b part) int { return cmp.Compare(a.from, b.from) })
	return append(append([]part{first}, rest...), last)
}

// branchChain returns one thruster's wiring from the box to its motor.
func branchChain(v *vehicle.Vehicle, name string) []part {
	ends := tetherJoints(v)
	return []part{
		{kind: &contact, name: "relay contact of " + name, legs: []string{plus}, reached: ends[len(ends)-1].reached},
		{kind: &lead, name: "lead to " + name, legs: both},
		{kind: &terminal, name: "motor terminals of " + name, legs: both, reached: true},
	}
}

// tubeChain returns the sealed tubes.
func tubeChain(v *vehicle.Vehicle) (out []part) {
	for i := range v.Tubes {
		if t := &v.Tubes[i]; t.IsSealed() {
			out = append(out, part{kind: &tube, name: cmp.Or(t.Name, fmt.Sprintf("tube %d", i+1)), legs: []string{""}, reached: true})
		}
	}
	return out
}

// movedChain returns the power pair as parts to be moved, both legs at once.
func movedChain(v *vehicle.Vehicle) []part {
	out := powerChain(v)
	for i := range out {
		out[i].legs = []string{""}
	}
	return out
}

// weight returns the relative probability that a spot fails.
func (s *Spot) weight() float64 {
	return (s.kind.weight + s.kind.perM*(s.to-s.from)) / float64(len(s.legs))
}

// wire reports whether a part is a length of wire, whose conductors lie under their insulation.
func (p *part) wire() bool { return p.kind == &cable || p.kind == &lead }

// pointName words a point of the chain, where a meter's tips are put: point i lies
// before part i.
func (s *Search) pointName(i int) string {
	switch {
	case i == 0 && s.parts[0].kind == &clip:
		return "battery"
	case i < len(s.parts) && !s.parts[i].wire():
		return "before " + s.parts[i].name
	}
	return "after " + s.parts[i-1].name
}

// closed returns the name of the part that must be opened to reach a point, "" for none.
func (s *Search) closed(i int) string {
	name := ""
	for _, k := range []int{i - 1, i} {
		if k < 0 || k >= len(s.parts) || s.parts[k].wire() {
			continue
		}
		if s.parts[k].reached {
			return ""
		}
		name = s.parts[k].name
	}
	return name
}

// short words a length to the decimetre.
func short(m float64) string { return strings.TrimSuffix(fmt.Sprintf("%.1f", m), ".0") }
