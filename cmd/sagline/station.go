package main

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"

	"github.com/spf13/cobra"

	"sagline/plotting"
	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/outlook"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/units"
)

// stationOptions are the place to hold and its water.
type stationOptions struct {
	advice.Station
	mapped bool
	out    string
	set    []string

	water string // the water in words
}

func newStation() *cobra.Command {
	var o stationOptions
	c := &cobra.Command{
		Use: "station [LOGBOOK]", Short: "Whether the vehicle can hold still in a current, and how much tether to pay out",
		Long: "Solves the tether as a flexible cable in a uniform current, from the operator at the surface to\n" +
			"the vehicle, and holds the force left against what the thrusters give through this tether.\n",
		Example: "  $ sagline station examples/sound --current-m-s 0.2 --depth-m 6 --offset-m 10 --tether-out-m 20", Args: upTo(1),
		RunE: func(cmd *cobra.Command, args []string) error { return runStation(cmd, folder(args), &o) },
	}
	f := c.Flags()
	f.Bool("json", false, "print the results as JSON")
	f.BoolVar(&o.mapped, "map", false, "where it can hold, over depth and offset")
	f.StringVar(&o.out, "out", "", "picture of the tether, or of the map, to draw (.png or .svg)")
	f.Float64Var(&o.CurrentMS, "current-m-s", 0.2, "current, m/s")
	f.Float64Var(&o.DepthM, "depth-m", 5, "depth to hold, m, where not given no more than tether and tubes allow")
	f.Float64Var(&o.OffsetM, "offset-m", 0, "place along the current from the operator, + downstream, m")
	f.Float64Var(&o.TetherOutM, "tether-out-m", 0, "tether paid out, m (default: all)")
	f.Float64Var(&o.WaterC, "water-c", 15, "water temperature, °C")
	f.Float64Var(&o.Salinity, "salinity-psu", 0, "salinity, psu")
	f.StringArrayVar(&o.set, "set", nil, "change a key of vehicle.toml, as tether.diameter_mm=6")
	return c
}

// tautShare bounds a depth that nobody asked for: the largest share of the tether's reach downwards,
// so that some slack is left. Common practice, no source.
const tautShare = 0.9

// strongest is the upper bound of the search for the strongest current, in m/s.
const strongest = 3

func runStation(cmd *cobra.Command, dir string, o *stationOptions) error {
	r, rep, log, err := analyse(cmd, dir)
	if err != nil {
		return err
	}
	v, p := r.Model.Vehicle.Clone(), outlook.Present(r, rep)
	o.BallastG = log.LastBallastG()
	o.water = fmt.Sprintf("water of %s and %g psu%s", v.Units.Plain(o.WaterC, "°C"), o.Salinity, freshSaid(cmd, o.Salinity, log))
	before := v.Clone()
	if err := setKeys(v, o.set); err != nil {
		return err
	}
	remarks := slices.Concat([]string{}, rep.UntilFreed(), follow(before, v))
	advice.SetBattery(before, v, p, outlook.Sound(r, rep)[predict.BatteryOhm])
	o.TetherOutM = cmp.Or(o.TetherOutM, v.Tether.LengthM)
	if err := withinTether(v, o.TetherOutM); err != nil {
		return err
	}
	if !cmd.Flags().Changed("depth-m") {
		down := tautShare * math.Sqrt(max(o.TetherOutM*o.TetherOutM-o.OffsetM*o.OffsetM, 0))
		o.DepthM = advice.TypicalDepth(v, o.DepthM, math.Floor(10*down)/10, predict.WaterDensity(o.WaterC, max(o.Salinity, log.SaltiestPSU())))
	}
	if far := math.Hypot(o.DepthM, o.OffsetM); !o.mapped && far >= o.TetherOutM {
		return useError{fmt.Errorf("--tether-out-m: %.5g m do not reach %.1f m away", o.TetherOutM, far)}
	}
	m, over := predict.NewModel(v), forecastRanges(v, r, rep, p)
	if o.mapped {
		places := advice.Places(m, o.Station, p, over)
		title := fmt.Sprintf("where it can hold, %s of tether in %s", v.Units.Plain(o.TetherOutM, "m"), v.Units.Plain(o.CurrentMS, "m/s"))
		err := drawTo(cmd, v, dir, o.out, func(l plotting.Layout) (*plotting.Picture, error) {
			return plotting.PlacesPicture(title, v.Units.In("m"), places, l), nil
		})
		if err != nil {
			return err
		}
		return show(cmd, map[string]any{"schema": 1, "places": places, "remarks": remarks}, func(w io.Writer) {
			printEach(w, "note:", remarks)
			printMap(w, v, o, places, log)
		})
	}
	h, err := advice.Hold(m, o.Station, p, over)
	if err != nil {
		return err
	}
	h.StrongestMS = advice.Strongest(m, o.Station, p, strongest)
	h.SureMS = advice.Sure(m, o.Station, p, h.StrongestMS, over)
	cable := plotting.Cable{Holding: h, TetherOutM: o.TetherOutM, CurrentMS: o.CurrentMS, Verdict: verdict(v, h), Units: v.Units}
	if err := drawTo(cmd, v, dir, o.out, func(l plotting.Layout) (*plotting.Picture, error) { return cable.Picture(l), nil }); err != nil {
		return err
	}
	document := struct {
		Schema int `json:"schema"`
		advice.Holding
		Remarks []string `json:"remarks"`
	}{1, h, remarks}
	return show(cmd, document, func(w io.Writer) {
		printEach(w, "note:", remarks)
		printHolding(w, m, o, p, h, log)
	})
}

func printHolding(w io.Writer, m *predict.Model, o *stationOptions, p predict.Params, h advice.Holding, log *session.Log) {
	u := m.Vehicle.Units
	long, fast, force := u.In("m"), u.In("m/s"), u.In("N")
	fmt.Fprintf(w, "%s at %s depth, %s downstream, %s of tether out, current %s, in %s\n\n", m.Vehicle.Name,
		long.Plain(o.DepthM), long.Plain(o.OffsetM), long.Plain(o.TetherOutM), fast.Plain(o.CurrentMS), o.water)
	up, down := h.Directions()
	table(w, func(w io.Writer) {
		fmt.Fprintln(w, "it must push\tneeded\tthe thrusters give at most")
		between := func(x float64, r advice.Range) string {
			low, high := r.Low, r.High
			if x < 0 {
				low, high = -high, -low
			}
			return fmt.Sprintf("%s (%s to %s)", force.Show(math.Abs(x), 1), force.Number(low, 1), force.Number(high, 1))
		}
		fmt.Fprintf(w, "%s\t%s\t%s\n", up, between(h.ForceUpN, h.Needed.Up), between(h.GreatestUpN, h.GreatestOf.Up))
		fmt.Fprintf(w, "%s\t%s\t%s\n", down, between(h.ForceDownN, h.Needed.Down), between(h.GreatestDownN, h.GreatestOf.Down))
	})
	word := "it can hold there"
	if can, sure := h.Can(); !can || !sure {
		word = verdict(m.Vehicle, h)
	}
	fmt.Fprintf(w, "\n%s; the tether pulls with %s\n", word, force.Show(h.TensionN, 1))
	if h.GreatestDownN == 0 && h.ForceDownN != 0 {
		fmt.Fprintf(w, "no thruster pushes it %s: ballast has to (sagline trim)\n", down)
	}
	switch {
	case h.StrongestMS == 0:
		fmt.Fprintln(w, "in no current can it likely hold there")
	case h.SureMS == 0:
		fmt.Fprintf(w, "the strongest current it can hold there is likely %s, and none is sure\n", fast.Show(h.StrongestMS, 2))
	default:
		fmt.Fprintf(w, "the strongest current it can hold there is likely %s, %s is sure\n", fast.Show(h.StrongestMS, 2), fast.Show(h.SureMS, 2))
	}
	if length, current := advice.BestLength(m, o.Station, p, strongest); current > h.StrongestMS+0.005 {
		fmt.Fprintf(w, "with %s of tether out it would likely be %s\n", long.Show(length, 0), fast.Show(current, 2))
	}
	printLying(w, h, long)
	printTubes(w, m.Vehicle, o.WaterC, o.Salinity, o.DepthM, log)
	tether := "the tether as the file has it"
	if m.Vehicle.Belief("tether.diameter_mm").Origin == vehicle.Prior || m.Vehicle.Belief("tether.weight_g_m").Origin == vehicle.Prior {
		tether = "the tether's thickness and weight as sagline vehicle lists them, for want of tether.diameter_mm and weight_g_m"
	}
	fmt.Fprintln(w, "all on a full battery, "+tether+"; ranges hold 95 % of what is not known of the vehicle")
	fmt.Fprintln(w, "\nnever dive on this alone: currents are not uniform, and a tether can foul")
	fmt.Fprintln(w, "next: --map for where it can hold, --out tether.png for the tether's shape")
}

// verdict words whether the vehicle can hold, the forces needed and those available.
func verdict(v *vehicle.Vehicle, h advice.Holding) string {
	word := "cannot"
	switch can, sure := h.Can(); {
	case !sure:
		word = fmt.Sprintf("may or may not (%.0f %% sure)", 100*h.Share)
	case can:
		word = "can"
	}
	up, down := h.Directions()
	force := v.Units.In("N")
	return fmt.Sprintf("it %s hold there: it takes %s %s and %s %s, the thrusters give at most %s and %s", word,
		force.Show(math.Abs(h.ForceUpN), 1), up, force.Show(math.Abs(h.ForceDownN), 1), down, force.Show(h.GreatestUpN, 1), force.Show(h.GreatestDownN, 1))
}

// printLying prints how much of the tether lies on the surface or hangs deeper than the vehicle, where
// it may touch the bottom.
func printLying(w io.Writer, h advice.Holding, long units.Unit) {
	if h.Rough {
		fmt.Fprintln(w, "part of the tether would lie on the surface: this shape lets it rise above, so take the forces as rough")
	}
	if h.AfloatM >= 0.5 {
		fmt.Fprintf(w, "on the surface lies %s of the tether\n", long.Show(h.AfloatM, 0))
	}
	if h.DeeperM >= 0.5 {
		fmt.Fprintf(w, "%s of the tether would hang deeper than the vehicle, down to %s: where the bottom is nearer than that it lies there, and may catch\n",
			long.Show(h.DeeperM, 0), long.Show(h.DeepestM, 1))
	}
}

func printMap(w io.Writer, v *vehicle.Vehicle, o *stationOptions, places []advice.Place, log *session.Log) {
	long, deepest := v.Units.In("m"), 0.0 // the greatest depth at which it can probably hold
	fmt.Fprintf(w, "%s, %s of tether out, current %s, in %s: where it can hold\n\n", v.Name, long.Plain(o.TetherOutM), v.Units.Plain(o.CurrentMS, "m/s"), o.water)
	table(w, func(w io.Writer) {
		fmt.Fprintf(w, "depth, %s \\ downstream, %s", long.Name, long.Name)
		for _, x := range places[:advice.Across] {
			fmt.Fprintf(w, "\t%.0f", long.FromBase(x.OffsetM))
		}
		for i, x := range places {
			if i%advice.Across == 0 {
				fmt.Fprintf(w, "\n%.0f", long.FromBase(x.DepthM))
			}
			fmt.Fprint(w, "\t", x.Held)
			if x.CanHold != nil && *x.CanHold {
				deepest = max(deepest, x.DepthM)
			}
		}
		fmt.Fprintln(w)
	})
	fmt.Fprintln(w, "\n?: not sure, by what is known of the vehicle; -: out of reach, or no shape of the tether was found")
	printTubes(w, v, o.WaterC, o.Salinity, deepest, log)
}
