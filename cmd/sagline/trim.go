package main

import (
	"fmt"
	"io"
	"math"
	"slices"

	"github.com/spf13/cobra"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/outlook"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
	"sagline/session/units"
)

// trimOptions are the next dive's water and the buoyancy wanted.
type trimOptions struct {
	waterC, salinityPSU, depthM, wantG float64
}

// trimmed is the answer of trim. Masses are in g.
type trimmed struct {
	Schema    int                `json:"schema"`
	Vehicle   string             `json:"vehicle"`
	Density   float64            `json:"water_kg_m3"`
	BallastOn float64            `json:"ballast_on_g"`
	FloatsNow findings.Estimate  `json:"floats_now_g"`
	Add       findings.Estimate  `json:"add_ballast_g"`
	AtSurface float64            `json:"then_at_surface_g"`
	AtTwice   float64            `json:"then_at_twice_the_depth_g"` // or with all of the tether down, if that is less
	LeastG    float64            `json:"then_at_least_g"`           // lowest end of the ranges at 0, 1 and 2 times the depth
	Tubes     []tubeSuspicion    `json:"tubes"`
	GrowsG    *findings.Estimate `json:"grows_g_a_dive"` // growth of the water taken in; nil if it does not grow
	Ballast   float64            `json:"ballast_kg_m3"`
	open      []findings.Finding // of what changes the hover weight
	weighed   string             // the log's newest hover weight, in words; "" if none was read
	depths    []advice.TubeDepth // at the greatest depth logged or planned
	vehicle   *vehicle.Vehicle
	twiceM    float64
}

// tubeSuspicion compares what a tube holds with the water taken in.
type tubeSuspicion struct {
	Name     string   `json:"name"`
	FloodedG float64  `json:"flooded_g"`
	Could    bool     `json:"could_hold_it"`
	DeepestM *float64 `json:"deepest_m"` // elastic collapse with its safety factor; never a promise
}

func newTrim() *cobra.Command {
	var o trimOptions
	c := &cobra.Command{
		Use: "trim [LOGBOOK]", Short: "How much ballast to add or take off for the next dive's water",
		Example: "  $ sagline trim examples/joint --water-c 8 --salinity-psu 33 --depth-m 4 --want-g 30", Args: upTo(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			r, rep, log, err := analyse(cmd, folder(args))
			if err != nil {
				return err
			}
			var ingress findings.Estimate // water taken in, by the trend
			var grows *findings.Estimate  // its growth per dive
			if t := rep.Trend("ingress_g"); t != nil {
				ingress, grows = t.Level, t.PerDive
			}
			if err := onTether(cmd, r.Model.Vehicle, log, &o.depthM, predict.Condition{WaterC: o.waterC, Salinity: o.salinityPSU}); err != nil {
				return err
			}
			p := outlook.Present(r, rep)
			t := o.answer(r.Model, p, forecastRanges(r.Model.Vehicle, r, rep, p), ingress, log.LastBallastG())
			t.depths = advice.Tubes(t.vehicle, predict.WaterDensity(o.waterC, max(o.salinityPSU, log.SaltiestPSU())), max(o.depthM, log.DeepestM()))
			for i := range t.depths {
				t.Tubes[t.depths[i].Index].DeepestM = &t.depths[i].DeepestM
			}
			t.GrowsG = grows
			for i := range rep.Findings {
				if f := rep.Findings[i]; f.Cause.OfBuoyancy() || f.Hovers {
					t.open = append(t.open, f)
				}
			}
			t.weighed = weighed(log, t.vehicle.Units)
			return show(cmd, t, func(w io.Writer) { printTrim(w, &o, t, freshSaid(cmd, o.salinityPSU, log)) })
		},
	}
	f := c.Flags()
	f.Bool("json", false, "print the results as JSON")
	f.Float64Var(&o.waterC, "water-c", 15, "water temperature, °C")
	f.Float64Var(&o.salinityPSU, "salinity-psu", 0, "salinity, psu")
	f.Float64Var(&o.depthM, "depth-m", 0, "depth to trim for, m")
	f.Float64Var(&o.wantG, "want-g", 30, "how much it should float there, g")
	return c
}

// answer computes the ballast. Its ranges cover the uncertainty of the vehicle and of the water that
// it has taken in.
func (o *trimOptions) answer(m *predict.Model, p predict.Params, over advice.Over, ingress findings.Estimate, ballast float64) trimmed {
	v := m.Vehicle
	c := predict.Condition{Sign: make([]int8, len(v.Thrusters)), WaterC: o.waterC, Salinity: o.salinityPSU, DepthM: o.depthM, BallastG: ballast}
	floats := func(p predict.Params, depth, more float64) float64 {
		d := c
		d.DepthM, d.BallastG = depth, ballast+more
		return m.NetBuoyancyG(&d, p)
	}
	add, twice := advice.BallastFor(m, &c, p, o.wantG), min(2*o.depthM, v.MostTetherM())
	all := func(p predict.Params) []float64 {
		return []float64{floats(p, o.depthM, 0), advice.BallastFor(m, &c, p, o.wantG), floats(p, 0, add), floats(p, twice, add), floats(p, o.depthM, add)}
	}
	x := over(all(p), nil, all)
	t := trimmed{Schema: 1, Vehicle: v.Name, Density: predict.WaterDensity(o.waterC, o.salinityPSU), BallastOn: ballast, vehicle: v, twiceM: twice, Tubes: []tubeSuspicion{}}
	t.Ballast = t.Density / (1 - advice.BallastShare(m, &c, p))
	t.FloatsNow, t.Add = findings.Estimate{Value: x[0].Value, Low: x[0].Low, High: x[0].High}, findings.Estimate{Value: x[1].Value, Low: x[1].Low, High: x[1].High}
	t.AtSurface, t.AtTwice, t.LeastG = x[2].Value, x[3].Value, min(x[2].Low, x[3].Low, x[4].Low)
	for i := range v.Tubes {
		full := advice.FloodedG(&v.Tubes[i], t.Density)
		t.Tubes = append(t.Tubes, tubeSuspicion{Name: v.Tubes[i].Name, FloodedG: full, Could: ingress.Low > 0 && full >= ingress.Low})
	}
	return t
}

// learntShare is by what share the ballast's density by the log must differ from what is assumed for
// the log to be named as its source: common practice, no source.
const learntShare = 0.01

// positive removes an estimate's sign and returns the word for it, plus or minus.
func positive(e findings.Estimate, plus, minus string) (string, findings.Estimate) {
	if e.Value < 0 {
		return minus, findings.Estimate{Value: -e.Value, Low: -e.High, High: -e.Low}
	}
	return plus, e
}

func printTrim(w io.Writer, o *trimOptions, t trimmed, fresh string) {
	u := t.vehicle.Units
	g := u.In("g")
	fmt.Fprintf(w, "%s in water of %s and %g psu%s, %s, at %s, with %s of ballast on since its file:\n\n", t.Vehicle, u.Show(o.waterC, "°C", 1),
		o.salinityPSU, fresh, u.Show(t.Density, "kg/m³", 1), u.Plain(o.depthM, "m"), g.Signed(t.BallastOn, 0))
	fate, floats := positive(t.FloatsNow, "floats", "sinks")
	line := fmt.Sprintf("it %s by %s %s there", fate, floats.In(g), g.Name)
	verb, add := positive(t.Add, "add", "take off")
	assumed := ""
	if t.vehicle.Belief("hull.ballast_density_kg_m3").Origin == vehicle.Prior {
		assumed = ", assumed: the file has no ballast_density_kg_m3"
		if math.Abs(t.Ballast/t.vehicle.Hull.BallastDensityKGM3-1) > learntShare {
			assumed = ", by the log's hover weights"
		}
		if t.Ballast < 1.001*advice.LightestBallast {
			assumed = ", as stone, the lightest: by the hover weights ballast_g weighs less, look at its numbers and signs"
		}
	}
	amount := fmt.Sprintf("%s %s", add.In(g), g.Name)
	if t.Add.Low < 0 && t.Add.High > 0 { // a part of the range is of the opposite sign
		amount = fmt.Sprintf("%s (%s taken off to %s added)", g.Show(add.Value, 0), g.Show(-t.Add.Low, 0), g.Show(t.Add.High, 0))
	}
	line += fmt.Sprintf("; for %s, %s %s of ballast (dry, of %s%s)", g.Plain(o.wantG), verb, amount, u.Show(t.Ballast, "kg/m³", 0), assumed)
	if t.Add.Value < 0 {
		line += fmt.Sprintf(", or add floats that lift %s", g.Show(o.wantG-t.FloatsNow.Value, 0))
	}
	fmt.Fprintln(w, line)
	if o.depthM > 0 {
		deeper := ""
		if t.twiceM > o.depthM {
			deeper = fmt.Sprintf(" and by %s at %s", g.Show(t.AtTwice, 0), u.Plain(t.twiceM, "m"))
		}
		fmt.Fprintf(w, "it then floats by %s at the surface%s\n", g.Show(t.AtSurface, 0), deeper)
	}
	for _, f := range t.open {
		fmt.Fprintf(w, "careful: %s, since dive %s (%s sure): find out first, as ballast hides it; %s\n", f.What(), f.SinceDive, findings.Sure(f.Sure()), f.CheckNext)
	}
	if t.weighed != "" && slices.ContainsFunc(t.open, func(f findings.Finding) bool { return f.Cause.Kind == causes.NotLogged }) {
		fmt.Fprintf(w, "what was not written down is not in these numbers: %s\n", t.weighed)
	}
	if t.GrowsG != nil {
		fmt.Fprintf(w, "it takes in %s %s of water a dive: find the leak first, or trim anew each dive\n", t.GrowsG.In(g), g.Name)
	}
	for _, tube := range t.Tubes {
		word := ""
		if tube.Could {
			word = ": it could hold the water taken in"
		}
		fmt.Fprintf(w, "tube %s, flooded, would weigh %s more%s\n", tube.Name, g.Show(tube.FloodedG, 0), word)
	}
	for _, tube := range t.depths {
		fmt.Fprintln(w, tube.Line(u))
	}
	switch {
	case math.Min(t.AtSurface, t.AtTwice) < 0:
		fmt.Fprintln(w, "careful: somewhere between the surface and twice the depth it sinks; keep the tether ready")
	case t.LeastG < 0:
		fmt.Fprintf(w, "careful: by what is known it may as well sink, with %s: less ballast first, and keep the tether ready\n", g.Show(-t.LeastG, 0))
	}
	fmt.Fprintln(w, "\nnext: try it in a tub or at the dock before the dive, and write the ballast down with its sign")
}

// weighed words the newest hover weight that was read.
func weighed(log *session.Log, u units.System) string {
	for d := len(log.Dives) - 1; d >= 0; d-- {
		for _, l := range slices.Backward(log.Dives[d].Lines) {
			if x := l.Readings[quantity.Trim]; x.Measured() {
				return fmt.Sprintf("dive %s floated by %s", log.Dives[d].Label, u.Show(x.X, "g", 0))
			}
		}
	}
	return ""
}
