package fit

import (
	"math"
	"slices"

	"sagline/predict"
	"sagline/predict/circumstances"
	"sagline/predict/instrument"
	"sagline/session"
	"sagline/session/problem"
	"sagline/session/quantity"
	"sagline/session/wording"
)

// A Cell is one reading with what the model says of it.
type Cell struct {
	Line      *session.Line
	Quantity  quantity.Quantity
	Value, SD float64 // as compared: see package instrument
	Outlier   bool    // set aside: it moves no estimate and needs no explanation

	obs     int     // index into the dive's observations
	weight  float64 // of the squared residual
	rounded float64 // one standard deviation of what was rounded off, as compared
	noisier float64 // factor on its instrument's noise; 0 means 1
	inexact float64 // one standard deviation of the model's error in the dive's changes
	slip    bool    // a decimal slip or another plain mistake
	stream  bool    // half the difference between the speeds of a run's two ways, a reading of the stream
}

// observation is a line under which at least one cell is compared.
type observation struct {
	circumstances.Circumstance
	line *session.Line
}

// A dive holds one dive's lines, ready for the model.
type dive struct {
	log      *session.Dive
	obs      []observation
	cells    []Cell
	unrested bool    // no line at rest
	spent    float64 // Condition.Spent
	rest     float64 // V, median of the lines at rest; without any as charged, after the baseline as in the baseline
	about    float64 // V, median of the battery's readings; 0: too few

	uneven       []lineScatter // parameters that vary from line to line
	notConverged bool          // its last fit ended early
	steps        int           // left to its own fits

	contradicts bool // a baseline dive whose lines disagree, or that looks as if a thruster failed
	leftOut     bool // it counts for next to nothing in the calibration
}

// matcher turns a log's lines into observations of a vehicle.
type matcher struct {
	file     string
	problems problem.List
	typical  circumstances.Typical
	noise    *instrument.Noise
	steps    instrument.Steps
}

// match turns a log into observations, without the lines whose notes say that they were read out of
// the water. Its error lists every name in the log that the vehicle does
// not have.
func match(models []*predict.Model, log *session.Log, n *instrument.Noise) ([]dive, circumstances.Typical, error) {
	m := matcher{file: log.File, noise: n, steps: instrument.OfLog(log.Dives)}
	dives := make([]dive, len(log.Dives))
	for k := range log.Dives {
		dives[k] = m.dive(models[k], &log.Dives[k])
	}
	shareRounding(dives, n)
	return dives, m.typical, m.problems.Err()
}

func (m *matcher) dive(model *predict.Model, d *session.Dive) dive {
	out := dive{log: d, obs: make([]observation, 0, len(d.Lines)), cells: make([]Cell, 0, 4*len(d.Lines))}
	lines, steps := m.typical.Of(model, d), m.steps.OfDive(d)
	for i := range d.Lines {
		l := &d.Lines[i]
		o := observation{lines[i], l}
		circumstances.Signs(model, l, o.Cond.Sign, m.file, &m.problems)
		if wording.Ashore(l.Note) {
			continue
		}
		before := len(out.cells)
		out.addCells(model, m.noise, &o, steps)
		if len(out.cells) > before {
			out.obs = append(out.obs, o)
		}
	}
	m.typical.Learn(model, d)
	out.steps = stepsOf(mostOfADive, fewest, manyCells, len(out.cells))
	out.rest, out.about, out.unrested = restVoltage(model, &out)
	return out
}

func (d *dive) addCells(m *predict.Model, n *instrument.Noise, o *observation, steps instrument.Steps) {
	o.Cond.OneWay = circumstances.OneWay(o.line)
	known := m.Known(&o.Cond)
	for q := range quantity.Count {
		v := o.line.Readings[q]
		if !v.Measured() || !known[q] {
			continue
		}
		c := Cell{Line: o.line, Quantity: q, Value: instrument.OnScale(q, v.X), obs: len(d.obs), weight: 1, rounded: steps.Rounded(q, &v)}
		c.SD = c.noiseAt(n, instrument.OnScale(q, v.X))
		d.cells = append(d.cells, c)
		if out, back := o.line.Runs(); q == quantity.Speed && back.Measured() {
			c.Value, c.stream = (out.X-back.X)/2, true
			d.cells = append(d.cells, c)
		}
	}
}

// apartFromRest is the largest ratio of a battery's voltage at rest to that under load, or from
// dive to dive: common practice, no source. Two exchanged digits of 12.77 make more.
const apartFromRest = 1.3

// restVoltage returns rest, the median battery voltage of a dive's lines at rest that its other
// readings agree with, or the charged battery's if there is none, and about, the median of all its
// battery voltages, 0 for fewer than three.
func restVoltage(m *predict.Model, d *dive) (rest, about float64, none bool) {
	var volts, all []float64
	for k := range d.cells {
		c := &d.cells[k]
		if c.Quantity != quantity.BatteryV {
			continue
		}
		all = append(all, c.Value)
		if len(c.Line.Drives) == 0 {
			volts = append(volts, c.Value)
		}
	}
	nominal, most := m.Vehicle.Battery.NominalV, 2.0
	centre := nominal
	if len(all) >= 3 {
		slices.Sort(all)
		about, most = all[len(all)/2], apartFromRest
		centre = about
	}
	volts = slices.DeleteFunc(volts, func(v float64) bool { return v < centre/most || v > centre*most })
	if len(volts) == 0 {
		return m.Vehicle.RestBelief().Value, about, true
	}
	slices.Sort(volts)
	return volts[len(volts)/2], about, false
}

// A sameReading is the key of readings that may all have the same rounding error.
type sameReading struct {
	alike
	column string
	step   float64 // as Cell.rounded
}

// shareRounding has equal readings that hardly vary compared with their step share their rounding
// error: 2.4 A that is read a hundred times and written down as 2 is wrong the same way each time,
// and the mean is no better.
func shareRounding(dives []dive, n *instrument.Noise) {
	same := map[sameReading][]*Cell{}
	for i := range dives {
		d := &dives[i]
		for k := range d.cells {
			c := &d.cells[k]
			if c.rounded == 0 || c.stream {
				continue
			}
			key := sameReading{d.key(k), c.Line.Readings[c.Quantity].Column.Name, c.rounded}
			same[key] = append(same[key], c)
		}
	}
	for key, cells := range same {
		// of successive readings, so that one real change does not pass for scatter (von Neumann et
		// al. 1941, The mean square successive difference, Ann. Math. Statist. 12)
		squares, equal := 0.0, map[float64]float64{}
		for i, c := range cells {
			equal[c.Value]++
			if i > 0 {
				squares += sq((c.Value - cells[i-1].Value) / (key.step * math.Sqrt(12)))
			}
		}
		if len(cells) == 1 {
			continue
		}
		variance := squares/2/float64(len(cells)-1) - 1.0/12 // Sheppard's correction
		shared := instrument.SharedRounding(math.Sqrt(max(variance, 0)))
		for _, c := range cells {
			c.rounded *= math.Sqrt(1 + shared*(equal[c.Value]-1))
			c.SD = c.noiseAt(n, c.Value)
		}
	}
}
