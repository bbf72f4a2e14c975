package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"slices"

	"github.com/spf13/cobra"

	"sagline/plotting"
	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/circumstances"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/forecast"
	"sagline/predict/outlook"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/problem"
	"sagline/session/quantity"
)

// predictOptions are the circumstances for which predict computes the readings.
type predictOptions struct {
	held, climb, lights, asBuilt                          bool
	thrusters, out, battery                               string
	openCircuitV, depthM, tetherOutM, waterC, salinityPSU float64
	set                                                   []string
}

func newPredict() *cobra.Command {
	var o predictOptions
	c := &cobra.Command{
		Use: "predict [LOGBOOK]", Short: "What the readings should be",
		Example: "  $ sagline predict examples/joint\n  $ sagline predict examples/joint --thrusters \"port + starboard\" --held\n" +
			"  $ sagline predict examples/joint --set tether.length_m=20", Args: upTo(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if o.held && o.climb {
				return useError{errors.New("want one of --held and --climb: a vehicle that is held does not climb")}
			}
			return runPredict(cmd, folder(args), &o)
		},
	}
	f := c.Flags()
	f.Bool("json", false, "print the results as JSON")
	f.BoolVar(&o.held, "held", false, "vehicle held still")
	f.BoolVar(&o.climb, "climb", false, "solve for steady vertical speed")
	f.BoolVar(&o.lights, "lights", false, "lights on")
	f.BoolVar(&o.asBuilt, "as-built", false, "the vehicle as in its file, without the baseline's calibration")
	f.StringVar(&o.thrusters, "thrusters", "", `which run, as in dives.csv: "port + starboard astern"`)
	f.Float64Var(&o.openCircuitV, "open-circuit-v", 0, "battery's voltage at rest (default: a full one's, by label and chemistry)")
	f.StringVar(&o.battery, "battery", "", batteryUsage)
	f.Float64Var(&o.depthM, "depth-m", 0, "depth, m")
	f.Float64Var(&o.tetherOutM, "tether-out-m", 0, "tether paid out, m (default: all)")
	f.Float64Var(&o.waterC, "water-c", 15, "water temperature, °C")
	f.Float64Var(&o.salinityPSU, "salinity-psu", 0, "salinity, psu")
	f.StringVar(&o.out, "out", "", "picture of where the watts go to draw (.png or .svg)")
	f.StringArrayVar(&o.set, "set", nil, "change a key of vehicle.toml, as tether.length_m=30")
	return c
}

// point is one prediction in the JSON's units; null where nothing is known.
type point struct {
	Thrusters string       `json:"thrusters"`
	Held      bool         `json:"held"`
	BatteryV  float64      `json:"battery_v"`
	CurrentA  float64      `json:"current_a"`
	VehicleV  float64      `json:"vehicle_v"`
	SpeedMS   *float64     `json:"speed_m_s"`
	ClimbMS   *float64     `json:"climb_m_s"`
	PullN     *float64     `json:"pull_n"`
	TrimG     float64      `json:"trim_g"`
	PowerW    advice.Power `json:"power_w"`

	Range map[string]span `json:"range"` // 95 %, by the names above

	note string // what its row is marked with
}

func runPredict(cmd *cobra.Command, dir string, o *predictOptions) error {
	v, log, err := openLogbook(cmd, dir)
	if err != nil {
		return err
	}
	now, builds := v.Next(log.Labels()), v.Later(log.Labels())
	p := predict.NewModel(now).NewParams()
	var r *fit.Result
	var rep *findings.Report
	if err := hasBattery(log, o.battery); err != nil {
		return err
	}
	if o.asBuilt && o.battery != "" {
		return useError{errors.New("--battery: not with --as-built, which is the file's")}
	}
	if o.lights && !now.Lights.Any() && (o.asBuilt || !log.Lit()) && len(o.set) == 0 {
		return useError{errors.New("--lights: the vehicle has none: want lights.current_a in vehicle.toml, or a line with lights on")}
	}
	calibrated := !o.asBuilt && len(log.Dives) > 0
	if calibrated {
		if r, err = fit.Fit(v, log); err != nil {
			return err
		}
		rep, builds = drift.Analyse(r), r.Builds(len(log.Dives)-1)
		copy(p, outlook.Sound(r, rep))
		now = r.Model.Vehicle.Clone()
	}
	v = now
	before := v.Clone()
	if err := setKeys(v, o.set); err != nil {
		return err
	}
	remarks := append([]string{}, follow(before, v)...)
	if err := onTether(cmd, v, log, &o.depthM, predict.Condition{TetherOutM: o.tetherOutM, WaterC: o.waterC, Salinity: o.salinityPSU}); err != nil {
		return err
	}
	m, next, rest := predict.NewModel(v), forecast.AsBuilt(v), o.openCircuitV
	var asNow []int // parameters at their values of now, not of the sound vehicle
	if calibrated {
		on, doubt := outlook.On(r, rep, cmp.Or(o.battery, log.LastBattery()))
		sd, posterior := map[int]float64{}, rep.Posterior.OfSound()
		if len(log.Batteries()) > 1 { // the baseline's mean may be of another battery, or of several
			p[predict.BatteryOhm], sd[predict.BatteryOhm] = on[predict.BatteryOhm], doubt
			asNow = append(asNow, predict.BatteryOhm)
			posterior = posterior.Without(predict.BatteryOhm)
		}
		if times := advice.InSeries(before, v); times != 1 {
			p[predict.BatteryOhm] *= times
			sd[predict.BatteryOhm], posterior = doubt*times, posterior.Without(predict.BatteryOhm)
		}
		next, rest = forecast.New(r, p, sd, posterior), cmp.Or(rest, advice.RestsAt(before, v))
	}
	p[predict.OpenCircuitV], p[predict.SagVPerMinute] = cmp.Or(rest, v.Battery.RestV()), 0
	c := predict.Condition{Electrical: true, Held: o.held, Climbing: o.climb, Lights: o.lights, DepthM: o.depthM,
		TetherOutM: v.Tether.LengthM, WaterC: o.waterC, Salinity: o.salinityPSU}
	if !o.asBuilt {
		c.BallastG = log.LastBallastG()
	}
	if cmd.Flags().Changed("tether-out-m") {
		c.TetherOutM = o.tetherOutM
	}
	drives := m.Combinations()
	if o.thrusters != "" {
		one, err := parseDrives(v, o.thrusters)
		if err != nil {
			return useError{err}
		}
		drives = [][]int8{one}
	}
	points := pointsOf(m, c, p, next, drives, rest)
	if rep != nil {
		for i, sign := range drives {
			points[i].note = rep.OnceFreed(v, sign)
		}
	}
	margins := outlook.Margins(v, r, rep, log, c, o.openCircuitV, o.battery)
	err = drawTo(cmd, v, dir, o.out, func(l plotting.Layout) (*plotting.Picture, error) {
		shares := plotting.Shares(m, c, p, drives)
		if len(shares) == 0 {
			return nil, errors.New("no combinations to draw")
		}
		return plotting.BudgetPicture(shares, l, true), nil
	})
	if err != nil {
		return err
	}
	if c.BallastG != 0 {
		remarks = append(remarks, "with "+v.Units.In("g").Signed(c.BallastG, 0)+" of ballast on since the file")
	}
	if r != nil && r.NotConverged() != "" {
		remarks = append(remarks, r.NotConverged())
	}
	if rep != nil {
		remarks = append(append(remarks, rep.Without(asNow...)...), rep.OfBatteries(o.battery)...)
	}
	if r != nil && r.AssumesDepth() && !cmd.Flags().Changed("depth-m") {
		remarks = append(remarks, fmt.Sprintf("no line of the log gives a depth, and its runs are taken for %s deep: --depth-m %g says what they should read", v.Units.Plain(circumstances.TypicalDepthM, "m"), circumstances.TypicalDepthM))
	}
	document := map[string]any{"schema": 1, "vehicle": v.Name, "battery": cmp.Or(o.battery, log.LastBattery()), "open_circuit_v": p[predict.OpenCircuitV], "points": points, "margins": margins, "remarks": remarks}
	return show(cmd, document, func(w io.Writer) {
		if calibrated {
			since := ""
			if slices.ContainsFunc(rep.Dives[min(rep.Baseline, len(rep.Dives)):], func(d findings.Dive) bool { return len(d.Serviced) > 0 }) {
				since = " and, of what was serviced since, on those after"
			}
			fmt.Fprintf(w, "%s, calibrated on its baseline dives%s; below each number the range that holds 95 %%\n%s\n%s\n", v.Name, since, conditionWords(v, c, freshSaid(cmd, c.Salinity, log)), onBattery(log, o.battery, p[predict.OpenCircuitV]))
		} else {
			fmt.Fprintf(w, "%s, as built; below each number the range that holds 95 %%\n%s\n",
				v.Name, conditionWords(v, c, freshSaid(cmd, c.Salinity, log)))
		}
		printEach(w, "note:", remarks)
		printEach(w, "rebuilt", builds)
		fmt.Fprintln(w)
		table(w, func(w io.Writer) { pointRows(w, v, points) })
		switch {
		case o.climb:
			fmt.Fprintln(w, "pull is what a scale reads with the vehicle held still")
		case !o.held:
			fmt.Fprintln(w, "pull is what a scale reads with the vehicle held still; a row without a speed is of one that stays where it is")
		}
		fmt.Fprintln(w)
		if r != nil && o.battery == "" && outlook.WorstOf(r) != "" {
			fmt.Fprintf(w, "%s:\n", outlook.WorstOf(r))
		}
		met := true
		for _, l := range margins.Lines(v.Units) {
			met = met && (l.Met || !l.Judged)
			fmt.Fprintln(w, l)
		}
		for _, i := range v.BeyondMomentum() {
			fmt.Fprintf(w, "test of %s: claims more pull than momentum theory allows for its power: check test_n and prop_diameter_mm\n", v.Thrusters[i].Name)
		}
		first := ""
		if !met {
			first = "mend what is NOT MET before it is switched on, then "
		}
		fmt.Fprintf(w, "\n%s\n\nnext: %stake these readings and write them down: sagline add %[3]s; then sagline compare %[3]s\n", cautions, first, shellWord(dir))
	})
}

// pointsOf returns the predictions for combinations of thrusters. A positive openV is the battery's
// voltage at rest and is taken as exactly known.
func pointsOf(m *predict.Model, c predict.Condition, p predict.Params, f *forecast.Forecast, drives [][]int8, openV float64) (points []point) {
	fixed := map[int]float64{predict.SagVPerMinute: 0} // at the dive's beginning
	if openV > 0 {
		fixed[predict.OpenCircuitV] = openV
	}
	for _, c.Sign = range drives {
		pt := solvePoint(m, &c, p)
		pt.Thrusters = m.Vehicle.DrivesName(c.Sign)
		pt.rangeOf(f, m, &c, fixed)
		points = append(points, pt)
	}
	return points
}

func solvePoint(m *predict.Model, c *predict.Condition, p predict.Params) point {
	var pt predict.Point
	m.Solve(c, p, &pt, nil)
	known := func(o quantity.Quantity) *float64 {
		if !pt.Known[o] {
			return nil
		}
		return &pt.Out[o]
	}
	out := point{Held: c.Held, BatteryV: pt.Out[quantity.BatteryV], CurrentA: pt.Out[quantity.CurrentA], VehicleV: pt.Out[quantity.VehicleV],
		SpeedMS: known(quantity.Speed), ClimbMS: known(quantity.Climb), TrimG: pt.Out[quantity.Trim], PowerW: advice.Budget(m, c, p, &pt)}
	held, still := *c, predict.Point{} // a scale reads the pull of a vehicle that is held
	held.Held, held.Climbing = true, false
	m.Solve(&held, p, &still, nil)
	out.PullN = &still.Out[quantity.Pull]
	return out
}

// parseDrives reads a thrusters cell against a vehicle.
func parseDrives(v *vehicle.Vehicle, text string) ([]int8, error) {
	lines, wrong := session.ParseRows(session.Row{"thrusters": text})
	if wrong != nil {
		return nil, fmt.Errorf("--thrusters: %s", wrong[0].Text)
	}
	known := v.ThrusterNames()
	out, unknown := lines[0].Signs(known)
	if unknown != "" {
		return nil, fmt.Errorf("--thrusters: found %s, want a thruster of vehicle.toml%s", problem.Quote(unknown), problem.OfThese(unknown, known))
	}
	return out, nil
}

// conditionWords words the circumstances that the numbers hold for.
func conditionWords(v *vehicle.Vehicle, c predict.Condition, fresh string) string {
	depth := "at the surface"
	if c.DepthM > 0 {
		depth = v.Units.Plain(c.DepthM, "m") + " deep"
	}
	return fmt.Sprintf("%s in water of %s and %g psu%s, %s of tether out (--depth-m and others say others)", depth, v.Units.Plain(c.WaterC, "°C"), c.Salinity, fresh, v.Units.Plain(c.TetherOutM, "m"))
}

// onBattery says which battery the numbers are on.
func onBattery(log *session.Log, asked string, restV float64) string {
	on := "a battery"
	if label := cmp.Or(asked, log.LastBattery()); label != "" {
		on = "battery " + label
		if others := len(log.Batteries()) > 1; others && asked == "" {
			on += ", the newest dive's (--battery names another),"
		}
	}
	return fmt.Sprintf("on %s that rests at %.2f V (--open-circuit-v says another): what it rests above or below that, add to every voltage", on, restV)
}

// pointRows writes the table of predictions: units under the names, and each number's range under
// it. A climb that was not asked for has no column.
func pointRows(w io.Writer, v *vehicle.Vehicle, points []point) {
	u := v.Units
	climb := slices.ContainsFunc(points, func(p point) bool { return p.ClimbMS != nil })
	row := func(name string, cell func(c *pointNumber) string) {
		for _, c := range pointNumbers {
			if climb || c.of != quantity.Climb {
				name += "\t" + cell(&c)
			}
		}
		fmt.Fprintln(w, name)
	}
	row("thrusters", func(c *pointNumber) string { return c.head })
	row("", func(c *pointNumber) string { return u.In(c.unit).Name })
	for _, p := range points {
		name := p.Thrusters
		if dark := v.Camera.OnVehicle() && p.VehicleV < v.Camera.MinimumV; dark {
			name += " (camera dark)"
		}
		name += p.note
		row(name, func(c *pointNumber) string {
			if x := c.value(&p); x != nil {
				return u.In(c.unit).Number(*x, c.decimals)
			}
			return "-"
		})
		row("", func(c *pointNumber) string {
			if r, ok := p.Range[c.name]; ok {
				return u.In(c.unit).Number(r.Low, c.decimals) + " to " + u.In(c.unit).Number(r.High, c.decimals)
			}
			return "-"
		})
	}
}
