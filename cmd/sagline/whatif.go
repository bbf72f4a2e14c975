package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"sagline/plotting"
	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/outlook"
	"sagline/predict/vehicle"
	"sagline/session"
)

// whatifOptions say what to change and in which conditions the vehicle runs.
type whatifOptions struct {
	lengthsM, batteriesV                    []float64     // of tethers and batteries that can be bought
	wanted                                  advice.Wanted // what these must give
	rank, cables                            bool
	set                                     []string
	sweep, out                              string
	depthM, tetherOutM, waterC, copperShare float64

	at     predict.Condition                               // of today
	sound  predict.Params                                  // of the vehicle as when sound
	found  bool                                            // whether it is not
	notMet func(*vehicle.Vehicle, predict.Params) []string // margins that a variant does not meet
}

// variant is the vehicle with one change, compared with today's.
type variant struct {
	Name    string         `json:"name"`
	Assumes string         `json:"assumes,omitempty"`
	Outcome advice.Outcome `json:"outcome"`
	NotMet  []string       `json:"not_met"` // margins
	value   float64
}

func newWhatif() *cobra.Command {
	var o whatifOptions
	c := &cobra.Command{
		Use: "whatif [LOGBOOK]", Short: "What a change would do: another tether, joints re-made, more volts",
		Long: "Compares variants of the vehicle as it is believed to be now, all surge thrusters ahead\n" +
			"(without any: all heave thrusters up):\n" +
			"your own (--set), one key over several values (--sweep, with a picture by --out),\n" +
			"what a builder could try, best first (--rank), or every tether and battery that can\n" +
			"be bought (--cables, as CSV by --out). Margins that a variant does not meet are named.\n" +
			"What --cables must give is --want-m-s, --want-vehicle-v and --want-fuse-a. How thick, and so how\n" +
			"draggy, a thicker conductor makes the tether goes by --copper-share: more under a thin jacket.",
		Example: "  $ sagline whatif examples/joint --rank\n  $ sagline whatif examples/joint --set tether.length_m=20\n" +
			"  $ sagline whatif examples/joint --sweep tether.power.area_mm2=1.5,2.5,4,6\n" +
			"  $ sagline whatif examples/joint --cables --want-m-s 0.4 --want-fuse-a 10", Args: upTo(1),
		RunE: func(cmd *cobra.Command, args []string) error { return runWhatif(cmd, folder(args), &o) },
	}
	f := c.Flags()
	f.Bool("json", false, "print the results as JSON")
	f.BoolVar(&o.rank, "rank", false, "changes a builder can make, most speed first")
	f.BoolVar(&o.cables, "cables", false, "conductors and batteries that can be bought, and which give what is wanted")
	f.Float64SliceVar(&o.lengthsM, "lengths-m", nil, "--cables: tether lengths, m (default: this and two thirds of it)")
	f.Float64SliceVar(&o.batteriesV, "batteries-v", nil, "--cables: batteries' labels, V (default: this, and twice as much up to 30 V)")
	f.Float64Var(&o.wanted.SpeedMS, "want-m-s", 0, "--cables: least speed, m/s")
	f.Float64Var(&o.wanted.VehicleV, "want-vehicle-v", 0, "--cables: least voltage at the vehicle under load, V")
	f.Float64Var(&o.wanted.FuseA, "want-fuse-a", 0, "--cables: the fuse that is to meet its margin, A (default: any standard one)")
	f.StringArrayVar(&o.set, "set", nil, "change a key of vehicle.toml, as tether.length_m=20; several make one variant")
	f.StringVar(&o.sweep, "sweep", "", "one key over several values, as tether.length_m=10,20,30")
	f.StringVar(&o.out, "out", "", "picture of the sweep to draw (.png or .svg), or the cables as .csv")
	f.Float64Var(&o.depthM, "depth-m", 3, "depth, m, where not given no more than tether and tubes allow")
	f.Float64Var(&o.tetherOutM, "tether-out-m", 0, "tether paid out, m (default: all)")
	f.Float64Var(&o.waterC, "water-c", 15, "water temperature, °C")
	f.Float64Var(&o.copperShare, "copper-share", advice.CopperShare, "share of a thicker tether's added cross-section that is copper (default: as in two-core cords to IEC 60227)")
	return c
}

func runWhatif(cmd *cobra.Command, dir string, o *whatifOptions) error {
	if err := o.oneQuestion(cmd); err != nil {
		return err
	}
	if o.cables {
		return runCables(cmd, dir, o)
	}
	r, rep, log, err := analyse(cmd, dir)
	if err != nil {
		return err
	}
	v, p := r.Model.Vehicle.Clone(), outlook.Present(r, rep)
	if err := onTether(cmd, v, log, &o.depthM, predict.Condition{TetherOutM: o.tetherOutM, WaterC: o.waterC}); err != nil {
		return err
	}
	o.at = o.inNewestWater(log)
	c := o.at
	c.TetherOutM = v.Tether.LengthM
	o.sound = outlook.Sound(r, rep)
	o.found = slices.ContainsFunc(rep.Reported(), func(f findings.Finding) bool { return f.Cause.Kind == causes.Vehicle })
	told := outlook.ToldBy(r, rep, log, "")
	o.notMet = func(w *vehicle.Vehicle, of predict.Params) []string {
		restV := of[predict.OpenCircuitV]
		if w.Battery.NominalV == v.Battery.NominalV {
			restV = 0
		}
		asked := told.Asked(w, c, restV)
		if of[predict.LoopOhm] == 0 { // its joints are re-made, or have no excess resistance
			asked = asked.Mended()
		}
		m := asked.Judge()
		out, q := m.NotMet(), advice.Ask(w, c, 0)
		q.Rest = advice.Range{Low: restV, Value: restV, High: restV}
		if restV > 0 && !slices.Contains(out, "motors") && advice.Overruns(v, q) {
			out = append(out, "motors")
		}
		return out
	}
	today := o.try(v, p, "as it is now", "", func(*vehicle.Vehicle, predict.Params) {})
	variants, err := o.variants(v, p)
	if err != nil {
		return err
	}
	err = drawTo(cmd, v, dir, o.out, func(l plotting.Layout) (*plotting.Picture, error) { return o.sweepPicture(today, variants, l) })
	if err != nil {
		return err
	}
	remarks := append([]string{}, rep.UntilFreed()...)
	return show(cmd, map[string]any{"schema": 1, "vehicle": v.Name, "today": today, "variants": variants, "remarks": remarks},
		func(w io.Writer) { printVariants(w, v, o, today, variants, remarks) })
}

// inNewestWater returns the condition that changes are compared in, with the newest dive's salinity and
// ballast. Its tether out is 0 where --tether-out-m does not say how much: all of it, which changes.
func (o *whatifOptions) inNewestWater(log *session.Log) predict.Condition {
	return predict.Condition{DepthM: o.depthM, TetherOutM: o.tetherOutM, WaterC: o.waterC, Salinity: log.NewestSalinityPSU(), BallastG: log.LastBallastG()}
}

// oneQuestion returns an error if flags belong to different questions.
func (o *whatifOptions) oneQuestion(cmd *cobra.Command) error {
	others := o.rank || len(o.set) > 0 || o.sweep != ""
	wrong := func(format string, args ...any) error { return useError{fmt.Errorf("whatif: "+format, args...)} }
	switch {
	case o.cables && others:
		return wrong("want --cables without --set, --sweep and --rank")
	case o.out != "" && o.sweep == "" && !o.cables:
		return wrong("--out draws a --sweep: want --sweep KEY=number,number,… with it, or --cables")
	case !o.cables && !others:
		return wrong("want --set, --sweep, --rank or --cables")
	}
	if cmd.Flags().Changed("copper-share") && !o.rank && !o.cables {
		return wrong("--copper-share: want --rank or --cables with it")
	}
	for _, name := range buying {
		if !o.cables && cmd.Flags().Changed(name) {
			return wrong("--%s: want --cables with it", name)
		}
	}
	return nil
}

// try applies one change to a copy of the vehicle and solves it on a full battery. The voltage at
// rest of a battery of the same chemistry is proportional to its nominal voltage.
func (o *whatifOptions) try(v *vehicle.Vehicle, p predict.Params, name, assumes string, apply func(*vehicle.Vehicle, predict.Params)) variant {
	w, q := v.Clone(), append(predict.Params(nil), p...)
	apply(w, q)
	advice.SetBattery(v, w, q, o.sound[predict.BatteryOhm])
	c := o.at
	c.TetherOutM = w.Tether.LengthM
	if o.tetherOutM > 0 {
		c.TetherOutM = min(o.tetherOutM, w.Tether.LengthM)
	}
	out := variant{Name: name, Assumes: assumes, Outcome: advice.AllAhead(predict.NewModel(w), c, q), NotMet: []string{}}
	if o.notMet != nil {
		out.NotMet = o.notMet(w, q)
	}
	if o.depthM > c.TetherOutM {
		out.NotMet = append(out.NotMet, "reach")
	}
	return out
}

func (o *whatifOptions) variants(v *vehicle.Vehicle, p predict.Params) ([]variant, error) {
	var out []variant
	add := func(name string, value float64, sets ...string) error {
		w := v.Clone()
		if err := setKeys(w, sets); err != nil {
			return err
		}
		var assumes []string
		if w.Battery.NominalV > v.Battery.NominalV {
			assumes = append(assumes, "motors, relays, lights and camera bear it")
		}
		assumes = append(assumes, advice.Follow(v, w)...)
		if w.Tether.Power.Copper() != v.Tether.Power.Copper() && w.Tether.DiameterMM == v.Tether.DiameterMM {
			assumes = append(assumes, "a tether of "+v.Units.Show(v.Tether.DiameterMM, "mm", 1)+" as it is now: say another with --set tether.diameter_mm, or let --rank reckon it")
		}
		x := o.try(v, p, name, strings.Join(assumes, "; "), func(into *vehicle.Vehicle, _ predict.Params) { *into = *w })
		x.value = value
		out = append(out, x)
		return nil
	}
	if len(o.set) > 0 {
		if err := add(strings.Join(o.set, ", "), 0, o.set...); err != nil {
			return nil, err
		}
	}
	if o.sweep != "" {
		key, values, ok := strings.Cut(o.sweep, "=")
		if !ok {
			return nil, useError{fmt.Errorf("--sweep: found %q, want key=number,number,…", o.sweep)}
		}
		if o.out != "" && !strings.Contains(values, ",") {
			return nil, useError{errors.New("--out draws a --sweep of two values or more")}
		}
		for x := range strings.SplitSeq(values, ",") {
			number, err := strconv.ParseFloat(strings.TrimSpace(x), 64)
			if err != nil {
				return nil, useError{fmt.Errorf("--sweep: found %q, want key=number,number,…", x)}
			}
			if err := add(key+"="+x, number, key+"="+x); err != nil {
				return nil, err
			}
		}
	}
	if o.rank {
		if o.found {
			out = append(out, o.try(v, p, "mended, as when sound", "what the log finds is put right", func(_ *vehicle.Vehicle, q predict.Params) { copy(q, o.sound) }))
		}
		for _, c := range advice.Changes(v, o.copperShare) {
			out = append(out, o.try(v, p, c.Name, c.Assumes, c.Apply))
		}
		slices.SortStableFunc(out, func(a, b variant) int {
			_, x := a.Outcome.Move()
			_, y := b.Outcome.Move()
			return cmp.Compare(y, x)
		})
	}
	return out, nil
}

func (o *whatifOptions) sweepPicture(today variant, vs []variant, l plotting.Layout) (*plotting.Picture, error) {
	var x, speed, pull []float64
	what, todayMS := today.Outcome.Move()
	for _, v := range vs {
		x = append(x, v.value)
		_, ms := v.Outcome.Move()
		speed = append(speed, percent(ms, todayMS))
		pull = append(pull, percent(v.Outcome.PullN, today.Outcome.PullN))
	}
	key, _, _ := strings.Cut(o.sweep, "=")
	return plotting.SweepPicture(key, what, x, speed, pull, l)
}

func percent(x, of float64) float64 {
	if of == 0 {
		return 0
	}
	return 100 * x / of
}

func printVariants(w io.Writer, v *vehicle.Vehicle, o *whatifOptions, today variant, vs []variant, remarks []string) {
	u := v.Units
	drives := "all surge thrusters ahead"
	motion, todayMS := today.Outcome.Move()
	if today.Outcome.ClimbMS != nil {
		drives = "all heave thrusters up"
	}
	salt := ""
	if o.at.Salinity > 0 {
		salt = fmt.Sprintf(" and %g psu, as the newest dive's", o.at.Salinity)
	}
	fmt.Fprintf(w, "%s, %s at %s in water of %s%s\n", v.Name, drives, u.Plain(o.depthM, "m"), u.Plain(o.waterC, "°C"), salt)
	printEach(w, "note:", remarks)
	fmt.Fprintln(w)
	table(w, func(w io.Writer) {
		speed, pull, area := u.In("m/s"), u.In("N"), u.In("m²")
		fmt.Fprintln(w, "variant\t"+motion+"\tpull\tcurrent\ttether\tlasts\tdrag area")
		fmt.Fprintf(w, "\t%s\t%s\tA\tW lost\tmin\t%s\n", speed.Name, pull.Name, area.Name)
		for i, v := range append([]variant{today}, vs...) {
			difference := func(x, of float64) string { // difference from today's in per cent
				switch d := percent(x, of) - 100; {
				case i == 0 || of == 0:
					return ""
				case math.Abs(d) >= 0.5:
					return fmt.Sprintf(" (%+.0f %%)", d)
				}
				return " (same)"
			}
			_, moved := v.Outcome.Move()
			lasts := "-"
			if v.Outcome.EnduranceMin != nil {
				lasts = fmt.Sprintf("%.0f", *v.Outcome.EnduranceMin)
			}
			fmt.Fprintf(w, "%s\t%s%s\t%s%s\t%.1f\t%.0f\t%s\t%s%s\n", v.Name, speed.Number(moved, 2),
				difference(moved, todayMS), pull.Number(v.Outcome.PullN, 1), difference(v.Outcome.PullN, today.Outcome.PullN),
				v.Outcome.CurrentA, v.Outcome.TetherW, lasts, area.Number(v.Outcome.DragAreaM2, 3), difference(v.Outcome.DragAreaM2, today.Outcome.DragAreaM2))
		}
	})
	for _, v := range vs {
		if v.Assumes != "" {
			fmt.Fprintf(w, "\n%s assumes: %s", v.Name, v.Assumes)
		}
	}
	fmt.Fprintln(w)
	var met []string
	for _, v := range append([]variant{today}, vs...) {
		if len(v.NotMet) > 0 {
			fmt.Fprintf(w, "\nmargins not met, %s: %s", v.Name, strings.Join(v.NotMet, ", "))
		} else {
			met = append(met, v.Name)
		}
	}
	if len(today.NotMet) > 0 && len(met) > 0 {
		fmt.Fprintf(w, "\nall margins met: %s", strings.Join(met, "; "))
	}
	fmt.Fprintf(w, "\n\n%s\n\n", cautions)
	fmt.Fprintln(w, "next: sagline predict --set with what you choose, for its margins")
}
