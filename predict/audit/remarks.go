package audit

import (
	"fmt"
	"math"
	"slices"

	"sagline/predict/advice"
	"sagline/predict/circumstances"
	"sagline/predict/fit"
	"sagline/predict/instrument"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/problem"
	"sagline/session/quantity"
	"sagline/session/units"
	"sagline/session/wording"
)

// Remarks returns what is odd in a log beside its vehicle, by file: readings that cannot be
// compared, runs too short to tell a speed, more tether paid out than there is, slips, and
// instruments whose scatter is not as stated. r is nil for a log without dives.
func Remarks(v *vehicle.Vehicle, log *session.Log, r *fit.Result, at *vehicle.Places) (ofVehicle, ofLog problem.List) {
	m := remarker{v: v, all: problem.Remarks{File: log.File}}
	for d := range log.Dives {
		if r != nil {
			m.v = r.ModelOf(d).Vehicle
		}
		for i := range log.Dives[d].Lines {
			m.line(&log.Dives[d].Lines[i])
		}
	}
	m.depths(log)
	if r != nil {
		m.ballast(log, r)
		m.slips(r)
		m.unsettled(r)
		z, dives := distances(r)
		ofVehicle = append(m.mismatches(r, at), scatters(r.Model.Vehicle, r.Noise, z, ofAmpleDives(dives), at)...)
	}
	return ofVehicle, m.all.List()
}

// depths remarks on a log of timed runs that never gives a depth, if their depth changes speeds by
// more than they are read to.
func (m *remarker) depths(log *session.Log) {
	var run *session.Line
	for d := range log.Dives {
		for i := range log.Dives[d].Lines {
			l := &log.Dives[d].Lines[i]
			if l.Depth.Measured() {
				return
			}
			if run == nil && l.Readings[quantity.Speed].Measured() {
				run = l
			}
		}
	}
	if run == nil {
		return
	}
	// m² of drag area per m of depth; speed goes with its inverse root
	perM := m.v.Tether.NormalDrag * m.v.Tether.DiameterMM / 1000
	if percent := 100 * perM / 2 / (m.v.Hull.DragAreaM2 + perM*circumstances.TypicalDepthM); percent*circumstances.UnknownDepthM > m.v.Instruments.SpeedPercent {
		m.add("depth", run, "depth_m", "no line has a depth: runs are taken to be made at like depths, and 1 m deeper reads %.0f %% slower, as more drag does: want the depth of runs", percent)
	}
}

// muchBallast is the share of what a vehicle displaces from which on ballast moved at once is taken
// for a slip: common practice, no source.
const muchBallast = 0.25

// ballast remarks on ballast that by the hover weights is lighter than any, so that its number or
// sign is wrong or floats went on with it, and on moves of more than any vehicle bears.
func (m *remarker) ballast(log *session.Log, r *fit.Result) {
	var first *session.Line
	total := 0.0
	for d := range log.Dives {
		for i := range log.Dives[d].Lines {
			l := &log.Dives[d].Lines[i]
			moved := l.BallastG - total
			total = l.BallastG
			if first == nil && moved != 0 {
				first = l
			}
			if v := r.ModelOf(d).Vehicle; math.Abs(moved) > muchBallast*1000*v.Hull.DisplacedKG {
				m.add("much ballast", l, log.BallastColumn(), "%s of %s that the vehicle displaces: a slip?", v.Units.Plain(moved, "g"), v.Units.Plain(v.Hull.DisplacedKG, "kg"))
			}
		}
	}
	all := Keys(r, asDived(r))
	at := slices.IndexFunc(all, func(k Known) bool { return k.Path == "hull.ballast_density_kg_m3" })
	if k := all[at].Now; first != nil && k.High < advice.LightestBallast {
		m.add("light ballast", first, log.BallastColumn(), "by the hover weights what was moved weighs next to nothing in water, as if of at most %s: look at its number and sign, and at floats moved with it",
			m.v.Units.Plain(math.Round(k.High), "kg/m³"))
	}
}

type remarker struct {
	v   *vehicle.Vehicle // as built at the line's dive
	all problem.Remarks
}

func (m *remarker) add(kind string, l *session.Line, column, format string, args ...any) {
	m.all.Add(kind, l.Number, fmt.Sprintf("column %q", column), format, args...)
}

func (m *remarker) line(l *session.Line) {
	if wording.Ashore(l.Note) {
		m.add("ashore", l, "note", "says that the line was read out of the water: it is kept and not judged")
		return
	}
	if out := l.TetherOut; out.Measured() && out.X > m.v.MostTetherM() {
		m.add("tether", l, out.Column.Name, "found %g %s paid out of a tether of %s: a slip, or was it longer then? sagline change says from which dive on it is shorter", out.Entered, out.Column.Unit,
			m.v.Units.Plain(m.v.MostTetherM(), "m"))
	}
	if deep := l.Depth; deep.Measured() && !l.TetherOut.Measured() && deep.X > m.v.MostTetherM() { // else the tether paid out is compared
		m.add("deep", l, deep.Column.Name, "found %g %s on a tether of %s: a slip?", deep.Entered, deep.Column.Unit, m.v.Units.Plain(m.v.MostTetherM(), "m"))
	}
	// voltages of an electrical line are compared with its fit
	for _, q := range []quantity.Quantity{quantity.BatteryV, quantity.VehicleV} {
		if v, most := l.Readings[q], m.v.MostV(); v.Measured() && !l.Electrical && v.X > muchMore*most {
			m.add("volts", l, v.Column.Name, "found %g V, a full battery of %g V has at most %.1f V: a slip?", v.X, m.v.Battery.NominalV, most)
		}
	}
	// under load it is the battery's margin that is not met
	if v, least := l.Readings[quantity.BatteryV], m.v.Battery.MinimumV; v.Measured() && len(l.Drives) == 0 && v.X < least && v.X*muchLess > least {
		m.add("spent", l, v.Column.Name, "found %g V, below the %.2f V at which a dive ends: charge it before it lies, and end dives earlier", v.Entered, least)
	}
	m.uncompared(l)
	m.run(l, quantity.Speed, m.v.Instruments.SpeedPercent, "speed_percent")
	m.run(l, quantity.Climb, m.v.Instruments.ClimbPercent, "climb_percent")
}

// uncompared remarks on a speed or a pull that has no prediction under the line's circumstances.
func (m *remarker) uncompared(l *session.Line) {
	if v := l.Readings[quantity.Pull]; v.Measured() && !(l.Held && l.Electrical) {
		m.add("pull", l, v.Column.Name, "not compared: the line does not say held and which thrusters pulled")
	}
	v := l.Readings[quantity.Speed]
	if !v.Measured() {
		return
	}
	surge, yaw := m.turning(l)
	switch {
	case l.Held:
		m.add("held", l, v.Column.Name, "not compared: the line says held")
	case !surge:
		m.add("still", l, v.Column.Name, "not compared: no surge thruster ran")
	case math.Abs(yaw) >= vehicle.Straight:
		m.add("turns", l, v.Column.Name, "not compared: the thrusters that ran would turn the vehicle (their arm_mm add up to %+.6g)", yaw)
	}
}

// muchMore is how many times the highest voltage of a full battery makes a reading a slip: a meter
// may err. Common practice, no source.
const muchMore = 1.1

// muchLess is how many times below the least voltage of a dive a reading is a slip, and no spent
// battery: a battery that is that empty runs nothing. Common practice, no source.
const muchLess = 1.5

// turning reports whether a line ran a surge thruster, and returns the sum of the arms of those
// that ran, mm.
func (m *remarker) turning(l *session.Line) (surge bool, yaw float64) {
	for _, d := range l.Drives {
		for _, t := range m.v.Thrusters {
			if t.Name != d.Name || !t.Surge() {
				continue
			}
			surge = true
			if yaw += t.ArmMM; d.Reversed {
				yaw -= 2 * t.ArmMM
			}
		}
	}
	return surge, yaw
}

// Standard deviations of a timed run at each end.
const (
	pressS = 0.1 // s, of pressing a stopwatch: about what NIST SP 960-12 finds of operators, from memory
	markM  = 0.1 // m, of seeing a vehicle pass a mark: common practice, no source
)

// run remarks on a timed run or climb whose speed is less certain than the vehicle's file says, by
// the errors of distance and time at each end.
func (m *remarker) run(l *session.Line, q quantity.Quantity, percent float64, key string) {
	v := l.Readings[q]
	if !v.Measured() || v.Run == 0 {
		return
	}
	length, speed, ways := math.Abs(v.Run), math.Abs(v.Run/v.Entered), 1.0
	if _, back := l.Runs(); q == quantity.Speed && back.Measured() {
		ways = 2
	}
	apart := math.Sqrt(2/ways) * math.Hypot(markM, pressS*speed)
	if worth := 100 * apart / length; worth > percent {
		long, less := m.v.Units.In("m"), ""
		if q == quantity.Speed && ways == 1 {
			less = ", less when timed both ways"
		}
		m.add("run", l, v.Column.Name, "%s in %g s tells a speed to ±%s %% (95 %%), worse than the ±%s %% of %s: want %s%s",
			long.Plain(length), v.Entered, units.Digits(2*worth, 2), units.Digits(2*percent, 2), key, long.Show(100*apart/percent, 1), less)
	}
}

// slips remarks on each cell that the fit set aside.
func (m *remarker) slips(r *fit.Result) {
	for d := range r.Dives {
		for _, s := range r.Outliers(d) {
			column := fmt.Sprintf("column %q", s.Column)
			m.all.Add(fmt.Sprint(s.Line, column), s.Line, column, "found %s, %s is expected: %s it is set aside", units.Digits(s.Entered, 15), units.Digits(s.Expected, 3), s.Doubt())
		}
	}
}

// unsettled remarks on fits that did not converge.
func (m *remarker) unsettled(r *fit.Result) {
	if text := r.NotConverged(); text != "" {
		m.all.Add("calibration", r.Dives[0].Log.Lines[0].Number, "dive", "%s", text)
	}
	for i := range r.Dives {
		// with a failed thruster, the fit without the failure means nothing
		if d := &r.Dives[i]; d.NotConverged() && len(d.Summary.Failed) == 0 {
			m.all.Add("unsettled", d.Log.Lines[0].Number, "dive", "the fit of dive %s did not converge: its estimates may be off; %s", d.Log.Label, lookAt(r, i))
		}
	}
}

// farSD is the number of standard deviations from which a reading is worth a look: common practice,
// no source.
const farSD = 3

// lookAt words what to check in a dive whose readings do not fit together: the one farthest from a
// sound vehicle's.
func lookAt(r *fit.Result, dive int) string {
	var far *fit.Compared
	all := r.NewComparison().Dive(dive)
	for i := range all {
		if far == nil || math.Abs(all[i].Z) > math.Abs(far.Z) {
			far = &all[i]
		}
	}
	if far == nil || math.Abs(far.Z) < farSD {
		return "no reading of it is far from a sound vehicle's: go by the dives beside it"
	}
	entered, want, _ := far.AsWritten()
	return fmt.Sprintf("compare its lines with the notebook (thrusters, units, decimal points), first line %d, %s %s, where a sound vehicle reads %s",
		far.Line.Number, far.Line.Readings[far.Quantity].Column.Name, units.Digits(entered, 15), units.Digits(want, 3))
}

// An instrument's scatter is remarked on from fewestRead readings on, above muchScatter or below
// littleShare times its standard deviation. 120 simulated sound seasons, half of them with what the
// model leaves out, all lie between.
const (
	fewestRead  = 40
	muchScatter = 1.6
	littleShare = 0.35
	// fewestOfDive is the number of readings of a dive from which they tell that an instrument
	// scatters little: a dive's fit has its own rest voltage, sag and battery resistance, and
	// passes through fewer. Common practice, no source.
	fewestOfDive = 6
)

// mismatches returns the remarks on where the dives differ from the file, at its key. It adds those
// on a dive that differs from others to m.
func (m *remarker) mismatches(r *fit.Result, at *vehicle.Places) problem.List {
	all := problem.Remarks{File: at.File}
	for _, x := range Mismatches(r) {
		if x.Path == "" {
			m.all.Add(x.Text, r.Dives[x.Dive].Log.Lines[0].Number, "dive", "%s", x.Text)
			continue
		}
		all.Add(x.Path, at.Line(m.v.ID(x.Path, x.Since)), x.Path, "%s", x.Text)
	}
	return all.List()
}

// scatters compares the instruments' standard deviations with the scatter of readings about each
// dive's own fit, z, by the median of |z|. ample holds the z of dives with enough readings to tell
// that they scatter little.
func scatters(v *vehicle.Vehicle, noise *instrument.Noise, z, ample map[quantity.Quantity][]float64, at *vehicle.Places) problem.List {
	all := problem.Remarks{File: at.File}
	for q := range quantity.Count {
		key, n := "instruments."+instrument.Key(q), len(z[q])
		stated := v.Belief(key)
		learnt := stated.Origin == vehicle.Prior && at.Line(key) > 0
		if n < fewestRead || stated.Path == "" || learnt {
			continue
		}
		median := func(of []float64) float64 {
			slices.Sort(of)
			return normalOfMedian * of[len(of)/2] * noise.Factor[q]
		}
		times, so := median(z[q]), "the intervals are too narrow"
		if times <= muchScatter {
			if n = len(ample[q]); n < fewestRead {
				continue
			}
			if times, so = median(ample[q]), "the intervals are wider than need be"; times >= littleShare {
				continue
			}
		}
		said := "stated"
		if at.Line(key) == 0 {
			said = "assumed"
		}
		all.Add(key, at.Line(key), key, "%g is %s, but %d readings scatter by about %s about their fits: %s", stated.Value, said, n, units.Digits(times*stated.Value, 2), so)
	}
	return all.List()
}

// ofAmpleDives returns the distances of the dives that have enough readings of a quantity.
func ofAmpleDives(of []map[quantity.Quantity][]float64) map[quantity.Quantity][]float64 {
	ample := map[quantity.Quantity][]float64{}
	for _, dive := range of {
		for q, z := range dive {
			if len(z) >= fewestOfDive {
				ample[q] = append(ample[q], z...)
			}
		}
	}
	return ample
}

// distances returns how many standard deviations each reading that is not set aside lies from its
// dive's own fit, of all dives and dive by dive. Dives with an intermittent contact are left out,
// which scatters all their readings, as are those with a failed thruster or with contradictions.
func distances(r *fit.Result) (z map[quantity.Quantity][]float64, dives []map[quantity.Quantity][]float64) {
	z = map[quantity.Quantity][]float64{}
	for d := range r.Dives {
		if s := r.Dives[d].Summary; s.IsIntermittent() || len(s.Failed) > 0 || s.Contradicts {
			continue
		}
		of := map[quantity.Quantity][]float64{}
		for _, c := range r.Compare(d, r.Dives[d].Summary.Params) {
			if !c.Outlier {
				of[c.Quantity] = append(of[c.Quantity], math.Abs(c.Z))
			}
		}
		dives = append(dives, of)
		for q := range of {
			z[q] = append(z[q], of[q]...)
		}
	}
	return z, dives
}

// normalOfMedian times the median of |z| is a normal scatter's standard
// deviation: 1/Φ⁻¹(0.75).
const normalOfMedian = 1.4826
