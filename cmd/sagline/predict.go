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
	f.Float64Var(&o.openCircuitV, "open-circuit-v", 0, "battery's voltage at rest (default: what its newest dives begin with, else a full one's by label and chemistry)")
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

// A prediction is a vehicle in the circumstances asked for, and what its readings should be.
type prediction struct {
	dir     string
	v       *vehicle.Vehicle
	log     *session.Log
	fit     *fit.Result      // nil as built
	trend   *findings.Report // nil as built
	battery string           // label asked for
	in      predict.Condition
	p       predict.Params
	points  []point
	margins advice.Margins
	fresh   string // what is said of the salinity
	builds  []string
	remarks []string
}

func runPredict(cmd *cobra.Command, dir string, o *predictOptions) error {
	v, log, err := openLogbook(cmd, dir)
	if err != nil {
		return err
	}
	if err := o.check(v.Next(log.Labels()), log); err != nil {
		return err
	}
	x := &prediction{dir: dir, log: log, battery: o.battery}
	if err := x.open(v, !o.asBuilt && len(log.Dives) > 0); err != nil {
		return err
	}
	before := x.v.Clone()
	if err := setKeys(x.v, o.set); err != nil {
		return err
	}
	x.remarks = append([]string{}, follow(before, x.v)...)
	if err := x.circumstances(cmd, o); err != nil {
		return err
	}
	next, restV := x.onBattery(o.openCircuitV)
	m := predict.NewModel(x.v)
	drives := m.Combinations()
	if o.thrusters != "" {
		one, err := parseDrives(x.v, o.thrusters)
		if err != nil {
			return useError{err}
		}
		drives = [][]int8{one}
	}
	x.points = pointsOf(m, x.in, x.p, next, drives, restV)
	if x.trend != nil {
		for i, sign := range drives {
			x.points[i].note = x.trend.OnceFreed(x.v, sign)
		}
	}
	x.margins = outlook.Margins(x.v, x.fit, x.trend, log, x.in, o.openCircuitV, o.battery)
	err = drawTo(cmd, x.v, dir, o.out, func(l plotting.Layout) (*plotting.Picture, error) {
		shares := plotting.Shares(m, x.in, x.p, drives)
		if len(shares) == 0 {
			return nil, errors.New("no combinations to draw")
		}
		return plotting.BudgetPicture(shares, l, true), nil
	})
	if err != nil {
		return err
	}
	document := map[string]any{"schema": 1, "vehicle": x.v.Name, "battery": cmp.Or(o.battery, log.LastBattery()), "open_circuit_v": x.p[predict.OpenCircuitV], "points": x.points, "margins": x.margins, "remarks": x.remarks}
	return show(cmd, document, x.print)
}

// check returns an error if the options contradict the vehicle or its log.
func (o *predictOptions) check(v *vehicle.Vehicle, log *session.Log) error {
	if err := hasBattery(log, o.battery); err != nil {
		return err
	}
	switch {
	case o.asBuilt && o.battery != "":
		return useError{errors.New("--battery: not with --as-built, which is the file's")}
	case o.lights && !v.Lights.Any() && (o.asBuilt || !log.Lit()) && len(o.set) == 0:
		return useError{errors.New("--lights: the vehicle has none: want lights.current_a in vehicle.toml, or a line with lights on")}
	}
	return nil
}

// open takes the vehicle of the next dive from its log or, as built, from its file.
func (x *prediction) open(v *vehicle.Vehicle, calibrated bool) (err error) {
	x.v, x.builds = v.Next(x.log.Labels()), v.Later(x.log.Labels())
	if !calibrated {
		return nil
	}
	if x.fit, err = fit.Fit(v, x.log); err != nil {
		return err
	}
	x.trend, x.builds = drift.Analyse(x.fit), x.fit.Builds(len(x.log.Dives)-1)
	x.v = x.fit.Model.Vehicle.Clone()
	return nil
}

// circumstances sets those that the options ask for, and what is to be said of them.
func (x *prediction) circumstances(cmd *cobra.Command, o *predictOptions) error {
	if err := onTether(cmd, x.v, x.log, &o.depthM, predict.Condition{TetherOutM: o.tetherOutM, WaterC: o.waterC, Salinity: o.salinityPSU}); err != nil {
		return err
	}
	x.in = predict.Condition{Electrical: true, Held: o.held, Climbing: o.climb, Lights: o.lights, DepthM: o.depthM,
		TetherOutM: x.v.Tether.LengthM, WaterC: o.waterC, Salinity: o.salinityPSU}
	if cmd.Flags().Changed("tether-out-m") {
		x.in.TetherOutM = o.tetherOutM
	}
	x.fresh = freshSaid(cmd, x.in.Salinity, x.log)
	if !o.asBuilt {
		x.in.BallastG = x.log.LastBallastG()
	}
	if x.in.BallastG != 0 {
		x.remarks = append(x.remarks, "with "+x.v.Units.In("g").Signed(x.in.BallastG, 0)+" of ballast on since the file")
	}
	if x.fit == nil {
		return nil
	}
	if text := x.fit.NotConverged(); text != "" {
		x.remarks = append(x.remarks, text)
	}
	if x.fit.AssumesDepth() && !cmd.Flags().Changed("depth-m") {
		x.remarks = append(x.remarks, fmt.Sprintf("no line of the log gives a depth, and its runs are taken for %s deep: --depth-m %g says what they should read", x.v.Units.Plain(circumstances.TypicalDepthM, "m"), circumstances.TypicalDepthM))
	}
	return nil
}

// onBattery sets the parameters of the sound vehicle on its battery, which rests at askedV unless that
// is 0. It returns their forecast, and the rest voltage if that is known.
func (x *prediction) onBattery(askedV float64) (next *forecast.Forecast, restV float64) {
	if x.fit == nil {
		x.p, next, restV = predict.NewModel(x.v).NewParams(), forecast.AsBuilt(x.v), askedV
	} else {
		var asNow []int
		x.p, next, asNow = outlook.SoundOn(x.fit, x.trend, cmp.Or(x.battery, x.log.LastBattery()), x.v)
		x.remarks = append(append(x.remarks, x.trend.Without(asNow...)...), x.trend.OfBatteries(x.battery)...)
		restV = cmp.Or(askedV, x.p[predict.OpenCircuitV])
	}
	x.p[predict.OpenCircuitV], x.p[predict.SagVPerMinute] = cmp.Or(restV, x.v.Battery.RestV()), 0
	return next, restV
}

func (x *prediction) print(w io.Writer) {
	basis := "as built"
	if x.trend != nil {
		basis = "calibrated on its baseline dives"
		if slices.ContainsFunc(x.trend.Dives[min(x.trend.Baseline, len(x.trend.Dives)):], func(d findings.Dive) bool { return len(d.Serviced) > 0 }) {
			basis += " and, of what was serviced since, on those after"
		}
	}
	fmt.Fprintf(w, "%s, %s; below each number the range that holds 95 %%\n%s\n", x.v.Name, basis, conditionWords(x.v, x.in, x.fresh))
	if x.fit != nil {
		fmt.Fprintln(w, x.batteryWords())
	}
	printEach(w, "note:", x.remarks)
	printEach(w, "rebuilt", x.builds)
	fmt.Fprintln(w)
	table(w, func(w io.Writer) { pointRows(w, x.v, x.points) })
	switch {
	case x.in.Climbing:
		fmt.Fprintln(w, "pull is what a scale reads with the vehicle held still")
	case !x.in.Held:
		fmt.Fprintln(w, "pull is what a scale reads with the vehicle held still; a row without a speed is of one that stays where it is")
	}
	fmt.Fprintln(w)
	if x.fit != nil && x.battery == "" && outlook.WorstOf(x.fit) != "" {
		fmt.Fprintf(w, "%s:\n", outlook.WorstOf(x.fit))
	}
	first := ""
	for _, l := range x.margins.Lines(x.v.Units) {
		if l.Judged && !l.Met {
			first = "mend what is NOT MET before it is switched on, then "
		}
		fmt.Fprintln(w, l)
	}
	for _, i := range x.v.BeyondMomentum() {
		fmt.Fprintf(w, "test of %s: claims more pull than momentum theory allows for its power: check test_n and prop_diameter_mm\n", x.v.Thrusters[i].Name)
	}
	fmt.Fprintf(w, "\n%s\n\nnext: %stake these readings and write them down: sagline add %[3]s; then sagline compare %[3]s\n", cautions, first, shellWord(x.dir))
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

// batteryWords says which battery the numbers are on.
func (x *prediction) batteryWords() string {
	on := "a battery"
	label := cmp.Or(x.battery, x.log.LastBattery())
	if label != "" {
		on = "battery " + label
		if others := len(x.log.Batteries()) > 1; others && x.battery == "" {
			on += ", the newest dive's (--battery names another),"
		}
	}
	restV, as := x.p[predict.OpenCircuitV], ""
	switch restV {
	case outlook.BegunAt(x.fit, label, &x.v.Battery):
		as = ", as its newest dives begin"
	case x.v.Battery.RestV():
		as = ", full"
	}
	return fmt.Sprintf("on %s that rests at %.2f V%s (--open-circuit-v says another): what it rests above or below that, add to every voltage", on, restV, as)
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
