package main

import (
	"fmt"
	"io"

	"sagline/plotting"
	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/vehicle"
)

// A heldPlace is a place below the surface and whether the vehicle can likely hold
// there; nil where there is no answer: out of reach, or no shape was found.
type heldPlace struct {
	DepthM  float64 `json:"depth_m"`
	OffsetM float64 `json:"offset_m"`
	CanHold *bool   `json:"can_hold"`
	Share   float64 `json:"can_hold_share"`

	held string // yes, no, ? where that is not sure, - where there is no answer
}

// acrossMap is how many places of one depth are looked at.
const acrossMap = 9

// holdable looks at places over the reach of the tether, depth by depth.
func holdable(m *predict.Model, o *stationOptions, p predict.Params, over advice.Over) (out []heldPlace) {
	for d := 1; d <= 6; d++ {
		for k := range acrossMap {
			s := o.Station
			s.DepthM, s.OffsetM = o.TetherOutM*0.15*float64(d), o.TetherOutM*0.22*float64(k-acrossMap/2)
			place := heldPlace{DepthM: s.DepthM, OffsetM: s.OffsetM, held: "-"}
			if h, err := advice.Hold(m, s, p, over); err == nil {
				place.CanHold, place.Share, place.held = &h.CanHold, h.Share, "no"
				switch can, sure := h.Can(); {
				case !sure:
					place.held = "?"
				case can:
					place.held = "yes"
				}
			}
			out = append(out, place)
		}
	}
	return out
}

// deepestHeld is the greatest depth of a map at which the vehicle can hold, m.
func deepestHeld(places []heldPlace) (depth float64) {
	for _, x := range places {
		if x.CanHold != nil && *x.CanHold {
			depth = max(depth, x.DepthM)
		}
	}
	return depth
}

func printMap(w io.Writer, v *vehicle.Vehicle, o *stationOptions, places []heldPlace, deepest float64) {
	long := v.Units.In("m")
	fmt.Fprintf(w, "%s, %s of tether out, current %s: where it can hold\n\n", v.Name, long.Plain(o.TetherOutM), v.Units.Plain(o.CurrentMS, "m/s"))
	table(w, func(w io.Writer) {
		fmt.Fprintf(w, "depth, %s \\ downstream, %s", long.Name, long.Name)
		for _, x := range places[:acrossMap] {
			fmt.Fprintf(w, "\t%.0f", long.FromBase(x.OffsetM))
		}
		for i, x := range places {
			if i%acrossMap == 0 {
				fmt.Fprintf(w, "\n%.0f", long.FromBase(x.DepthM))
			}
			fmt.Fprint(w, "\t", x.held)
		}
		fmt.Fprintln(w)
	})
	fmt.Fprintln(w, "\n?: not sure, by what is known of the vehicle; -: out of reach, or no shape of the tether was found")
	printTubes(w, v, o.WaterC, o.Salinity, deepest)
}

func placesPicture(v *vehicle.Vehicle, o *stationOptions, places []heldPlace, l plotting.Layout) (*plotting.Picture, error) {
	u := v.Units.In("m")
	var out []plotting.Station
	for _, x := range places {
		out = append(out, plotting.Station{X: u.FromBase(x.OffsetM), Depth: u.FromBase(x.DepthM), Known: x.held == "yes" || x.held == "no", Held: x.held == "yes"})
	}
	title := fmt.Sprintf("where it can hold, %s of tether in %s", u.Plain(o.TetherOutM), v.Units.Plain(o.CurrentMS, "m/s"))
	return plotting.StationsPicture(title, u.Name, out, l)
}
