package main

import (
	"cmp"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"sagline/cmd/prompt"
	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/forecast"
	"sagline/predict/outlook"
	"sagline/predict/vehicle"
	"sagline/session/disk"
	"sagline/session/units"
)

// buying lists the flags that belong to --cables.
var buying = []string{"lengths-m", "batteries-v", "want-m-s", "want-vehicle-v", "want-fuse-a"}

func runCables(cmd *cobra.Command, dir string, o *whatifOptions) error {
	if o.out != "" && !strings.EqualFold(filepath.Ext(o.out), ".csv") {
		return useError{fmt.Errorf("--out: found %q, want a name in .csv with --cables", o.out)}
	}
	r, rep, log, err := analyse(cmd, dir)
	if err != nil {
		return err
	}
	v := r.Model.Vehicle.Clone()
	if err := onTether(cmd, v, log, &o.depthM, predict.Condition{WaterC: o.waterC}); err != nil {
		return err
	}
	o.at, o.sound = o.inNewestWater(log), outlook.Sound(r, rep)
	b := advice.Buyer{Vehicle: v, Params: outlook.Present(r, rep), BatterySD: outlook.ToCome(r, rep)[predict.BatteryOhm], Thrusters: r.OfThrusters(), DepthM: max(o.depthM, log.DeepestM()), SoundOhm: o.sound[predict.BatteryOhm],
		Condition: o.at, CopperShare: o.copperShare, Wanted: o.wanted}
	b.Ranges = forecastRanges(v, r, rep, b.Params)
	lengths, batteries := o.lengthsM, o.batteriesV
	if lengths == nil {
		lengths = slices.Compact([]float64{v.Tether.LengthM, max(math.Round(v.Tether.LengthM*2/3), 0.5)})
	}
	if batteries == nil {
		if batteries = []float64{v.Battery.NominalV}; 2*v.Battery.NominalV <= vehicle.MostInWaterV {
			batteries = append(batteries, 2*v.Battery.NominalV)
		}
	}
	all := b.Purchases(advice.Sizes(buyersUnits(cmd, dir)), lengths, batteries)
	if o.out != "" {
		if err := disk.SaveOutput(o.out, func(w io.Writer) error { return writePurchases(w, all) }); err != nil {
			return err
		}
	}
	remarks := append([]string{}, rep.UntilFreed()...)
	today := o.try(v, b.Params, "as it is now", "", func(*vehicle.Vehicle, predict.Params) {})
	return show(cmd, map[string]any{"schema": 1, "vehicle": v.Name, "today": today, "wanted": b.Wanted, "purchases": all, "assumes": b.Assumes(), "remarks": remarks},
		func(w io.Writer) { printPurchases(w, &b, &today.Outcome, all, remarks) })
}

// buyersUnits returns the system of units in which the vehicle's owner buys conductors. --json does
// not change it.
func buyersUnits(cmd *cobra.Command, dir string) units.System {
	if asked, err := unitsAsked(cmd); err == nil && asked != "" {
		return asked
	}
	v, err := vehicle.Open(dir)
	if err != nil {
		return units.Metric
	}
	return advice.SoldIn(&v.Tether.Power, v.Units)
}

// forecastRanges returns a function that computes 95 % ranges of results from the uncertainty of a
// vehicle: that of its file if there are no dives, else that of its log and the trend's levels.
func forecastRanges(v *vehicle.Vehicle, r *fit.Result, rep *findings.Report, p predict.Params) advice.Over {
	next := forecast.AsBuilt(v)
	if len(r.Dives) > 0 {
		next = forecast.New(r, p, rep.Doubts(), rep.Posterior)
	}
	return func(values []float64, fixed map[int]float64, solve func(predict.Params) []float64) []advice.Range {
		return outlook.Ranges(next, values, fixed, solve)
	}
}

// A figure is a number of a purchase in the CSV and the table.
type figure struct {
	name, head, unit string // name of the CSV's column, heading of the table's, and base unit
	decimals         int    // in the table; -1: as many as it has
	known            int    // 0: exact; 1: its range is in the CSV; 2: also in the table
	lacking          string // the entry of Lacks that marks it in the table, "" if none does
	of               func(x *advice.Purchase) *advice.Range
}

func exact(x float64) *advice.Range { return &advice.Range{Low: x, Value: x, High: x} }

// figures lists the numbers of a purchase, in the order in which they are shown.
var figures = []figure{
	{"loop_ohm", "loop", "Ω", 2, 1, "", func(x *advice.Purchase) *advice.Range { return &x.LoopOhm }},
	{"vehicle_v", "volts", "V", 1, 2, "volts", func(x *advice.Purchase) *advice.Range { return &x.VehicleV }},
	{"speed_m_s", "speed", "m/s", 2, 2, "speed", func(x *advice.Purchase) *advice.Range { return x.SpeedMS }},
	{"climb_m_s", "climb", "m/s", 2, 2, "climb", func(x *advice.Purchase) *advice.Range { return x.ClimbMS }},
	{"endurance_min", "lasts", "min", 0, 2, "", func(x *advice.Purchase) *advice.Range { return x.EnduranceMin }},
	{"fuse_a", "fuse", "A", -1, 0, "fuse", func(x *advice.Purchase) *advice.Range {
		if x.FuseA == nil {
			return nil
		}
		return exact(*x.FuseA)
	}},
	{"tether_diameter_mm", "thick", "mm", 1, 0, "", func(x *advice.Purchase) *advice.Range { return exact(x.DiameterMM) }},
	{"tether_drag_area_m2", "drag", "m²", 3, 0, "", func(x *advice.Purchase) *advice.Range { return exact(x.DragAreaM2) }},
	{"tether_weight_g_m", "sinks", "g/m", 0, 0, "", func(x *advice.Purchase) *advice.Range { return exact(x.WeightGM) }},
}

// writePurchases writes purchases as CSV, in SI units; unknown numbers are left empty.
func writePurchases(w io.Writer, all []advice.Purchase) error {
	head := []string{"conductor", "area_mm2", "length_m", "battery_v"}
	for _, n := range figures {
		if head = append(head, n.name); n.known > 0 {
			head = append(head, n.name+"_low", n.name+"_high")
		}
	}
	rows := [][]string{append(head, "lacks")}
	digits := func(x float64) string { return strconv.FormatFloat(x, 'g', 4, 64) }
	for _, x := range all {
		row := []string{x.Conductor, digits(x.AreaMM2), digits(x.LengthM), digits(x.BatteryV)}
		for _, n := range figures {
			cells := []string{"", "", ""}
			if r := n.of(&x); r != nil {
				cells = []string{digits(r.Value), digits(r.Low), digits(r.High)}
			}
			if n.known == 0 {
				cells = cells[:1]
			}
			row = append(row, cells...)
		}
		rows = append(rows, append(row, strings.Join(x.Lacks, " + ")))
	}
	return csv.NewWriter(w).WriteAll(rows)
}

// printPurchases prints a table for each battery and length.
func printPurchases(w io.Writer, b *advice.Buyer, today *advice.Outcome, all []advice.Purchase, remarks []string) {
	u := b.Vehicle.Units
	fmt.Fprintf(w, "%s with a new tether, all surge thrusters ahead or all heave up,\nat %s in water of %s. Ranges hold 95 %%: the lower end is to give what is\nwanted, margins are judged at the less favourable one.\n",
		b.Vehicle.Name, u.Plain(b.Condition.DepthM, "m"), u.Plain(b.Condition.WaterC, "°C"))
	motion, ms := today.Move()
	fmt.Fprintf(w, "As it is now: %.1f V at the vehicle, %s %s.\n", today.VehicleV, motion, u.Show(ms, "m/s", 2))
	printEach(w, "note:", remarks)
	for rest := all; len(rest) > 0; {
		n := 1
		for n < len(rest) && rest[n].LengthM == rest[0].LengthM && rest[n].BatteryV == rest[0].BatteryV {
			n++
		}
		printBlock(w, u, rest[:n])
		rest = rest[n:]
	}
	// the first purchase that lacks the least
	best := slices.MinFunc(all, func(x, y advice.Purchase) int { return cmp.Compare(len(x.Lacks), len(y.Lacks)) })
	what := fmt.Sprintf("%s, %s, battery of %g V", best.Conductor, u.Plain(best.LengthM, "m"), best.BatteryV)
	if len(best.Lacks) > 0 {
		fmt.Fprintf(w, "\nNone gives all that is wanted; %s lacks least: %s.\n", what, strings.Join(best.Lacks, ", "))
	} else {
		fmt.Fprintf(w, "\n* gives all that is wanted. The first: %s.\n", what)
	}
	fmt.Fprintln(w, "!: less than is wanted, or that fuse does not meet its margin; -: no standard\none does, or not known; sinks: weight in water before floats; +1 under lacks: one\nmore margin, which --json names. Assumed:")
	for _, text := range b.Assumes() {
		fmt.Fprint(w, prompt.Wrap("* ", text, 78))
	}
	fmt.Fprintf(w, "\n%s\n\nnext: sagline predict --set with what you choose, for its margins\n", cautions)
}

// printBlock prints the conductors of one length and battery.
func printBlock(w io.Writer, u units.System, block []advice.Purchase) {
	inColumns := []string{"speed", "climb", "volts", "fuse"} // these lacks are marked in their own columns
	everywhere := slices.DeleteFunc(slices.Clone(block[0].Lacks), func(lack string) bool {
		return slices.Contains(inColumns, lack) ||
			slices.ContainsFunc(block, func(x advice.Purchase) bool { return !slices.Contains(x.Lacks, lack) })
	})
	fmt.Fprintf(w, "\n%s of tether, battery of %g V", u.Plain(block[0].LengthM, "m"), block[0].BatteryV)
	if len(everywhere) > 0 {
		fmt.Fprintf(w, "; all lack: %s", strings.Join(everywhere, ", "))
	}
	fmt.Fprintln(w)
	t := tabwriter.NewWriter(w, 0, 4, 1, ' ', 0)
	heads, names := []string{""}, []string{""}
	for _, n := range figures {
		heads, names = append(heads, n.head), append(names, u.In(n.unit).Name)
	}
	fmt.Fprintf(t, " %s\tlacks\n %s\t\n", strings.Join(heads, "\t"), strings.Join(names, "\t"))
	for _, x := range block {
		mark, rest := " ", []string{}
		if len(x.Lacks) == 0 {
			mark = "*"
		}
		row := []string{mark + strings.ReplaceAll(x.Conductor, " mm²", "")}
		for _, n := range figures {
			row = append(row, n.show(u, &x))
		}
		for _, lack := range x.Lacks {
			if !slices.Contains(inColumns, lack) && !slices.Contains(everywhere, lack) {
				rest = append(rest, lack)
			}
		}
		if more := len(rest) - 1; more > 0 {
			rest = []string{fmt.Sprintf("%s+%d", rest[0], more)} // 80 columns; CSV and JSON have all
		}
		fmt.Fprintf(t, "%s\t%s\n", strings.Join(row, "\t"), strings.Join(rest, ""))
	}
	_ = t.Flush()
}

// show writes a number for the table, with ! if it lacks what is wanted.
func (n *figure) show(u units.System, x *advice.Purchase) string {
	r, unit, text := n.of(x), u.In(n.unit), "-"
	switch {
	case r == nil:
	case n.decimals < 0:
		text = strconv.FormatFloat(r.Value, 'f', -1, 64)
	case n.known < 2:
		text = unit.Number(r.Value, n.decimals)
	default:
		text = unit.Number(r.Low, n.decimals) + "–" + unit.Number(r.High, n.decimals)
	}
	if n.lacking != "" && slices.Contains(x.Lacks, n.lacking) {
		text += "!"
	}
	return text
}
