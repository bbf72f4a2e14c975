package fit

import (
	"math"
	"time"

	"sagline/predict"
	"sagline/session"
	"sagline/session/quantity"
)

// An unknown is a circumstance that a line does not give: the parameter of
// predict.Params that stands for its error, and one standard deviation of that
// error: for all of the dive's lines that share it, for this line alone, and for each
// of its readings alone, as they are not made at one moment.
type unknown struct {
	param            int
	dive, line, cell float64
}

// A circumstance is what a line was read under, and what of it is guessed.
type circumstance struct {
	cond    predict.Condition
	unknown []unknown
}

// What is assumed of circumstances before a log has shown its own; common
// practice, no source.
const (
	surfaceM      = 0.5  // m above which a vehicle is at the surface
	usualDepthM   = 2.5  // m, of a dive's lines below the surface
	depthShare    = 0.6  // one standard deviation of that, as a share
	withinShare   = 0.15 // of the lines of one dive
	usualWaterC   = 15.0
	waterK        = 4.0 // one standard deviation of that, beside the year's course
	yearK         = 5.0 // one standard deviation of either part of the year's course
	daysOfYear    = 365.25
	nextWaterK    = 3.0  // of water against the dive before's
	lineMinutes   = 3.0  // between lines
	minuteError   = 2.0  // one standard deviation of a minute that is guessed
	warmMinutes   = 12.0 // in which windings warm by 63 % of what they will
	lineWarmK     = 3.0  // one standard deviation of a winding's warmth from line to line
	tetherShare   = 0.29 // one standard deviation of what is even from nothing to the whole length
	mooredSpreadM = 0.3  // m, of lines at the surface
)

// A lineKind is what lines have in common that are made at like depths.
type lineKind struct{ surge, heave, held, climb, trim bool }

func kindOf(m *predict.Model, l *session.Line) lineKind {
	k := lineKind{held: l.Held, climb: l.Readings[quantity.Climb].Measured(), trim: l.Readings[quantity.Trim].Measured()}
	for _, d := range l.Drives {
		for i := range m.Vehicle.Thrusters {
			if t := &m.Vehicle.Thrusters[i]; t.Name == d.Name {
				k.surge, k.heave = k.surge || t.Surge(), k.heave || !t.Surge()
			}
		}
	}
	return k
}

// moments gather a mean and a standard deviation.
type moments struct{ n, sum, squares float64 }

func (m *moments) add(x float64) { m.n, m.sum, m.squares = m.n+1, m.sum+x, m.squares+x*x }

// mean and sd begin from worth readings at what is usual.
func (m *moments) mean(usual, worth float64) float64 { return (m.sum + worth*usual) / (m.n + worth) }

func (m *moments) sd(usual, worth float64) float64 {
	if m.n == 0 {
		return usual
	}
	mean := m.sum / m.n
	return math.Sqrt((max(m.squares-m.n*mean*mean, 0) + worth*usual*usual) / (m.n - 1 + worth))
}

// usual is what the dives so far had as circumstances.
type usual struct {
	kinds  map[lineKind]*kindDepth
	depth  moments // of a dive's lines below the surface, their mean
	within moments // of such lines, less their dive's mean
	tether moments
	water  float64
	seen   bool      // a water temperature
	on     time.Time // when it was
}

// A kindDepth is at which depth lines of a kind are made, m: as it is, and less the mean of their dive's other
// lines below the surface.
type kindDepth struct{ own, beside moments }

func (u *usual) kind(k lineKind) *kindDepth {
	if u.kinds == nil {
		u.kinds = map[lineKind]*kindDepth{}
	}
	if u.kinds[k] == nil {
		u.kinds[k] = &kindDepth{}
	}
	return u.kinds[k]
}

// learn takes in a dive's circumstances for those after it.
func (u *usual) learn(m *predict.Model, d *session.Dive) {
	mean, n := depthOf(d)
	if n > 0 {
		u.depth.add(mean)
	}
	for i := range d.Lines {
		l := &d.Lines[i]
		if v := l.Depth; v.Measured() {
			kind := u.kind(kindOf(m, l))
			kind.own.add(v.X)
			switch below := belowSurface(l); {
			case below && n > 1:
				u.within.add(v.X - mean)
				kind.beside.add((v.X - mean) * float64(n) / float64(n-1)) // without itself
			case !below && n > 0:
				kind.beside.add(v.X - mean)
			}
		}
		if v := l.TetherOut; v.Measured() {
			u.tether.add(v.X)
		}
		if v := l.WaterC; v.Measured() {
			u.water, u.seen, u.on = v.X, true, d.Date
		}
	}
}

// belowSurface says whether a line was made under water, at the depth of its dive: hover weights and pulls are read
// beside the dock.
func belowSurface(l *session.Line) bool {
	return l.Depth.Measured() && l.Depth.X > surfaceM && !l.Held && !l.Readings[quantity.Trim].Measured()
}

// depthOf is the mean depth of a dive's n lines below the surface.
func depthOf(d *session.Dive) (mean float64, n int) {
	for i := range d.Lines {
		if l := &d.Lines[i]; belowSurface(l) {
			mean, n = mean+l.Depth.X, n+1
		}
	}
	return mean / max(float64(n), 1), n
}

// dive is the circumstances of a dive's lines; what a line does not give is
// what its dive's other lines have, then what lines of its kind had before.
func (u *usual) dive(m *predict.Model, d *session.Dive) []circumstance {
	out := make([]circumstance, len(d.Lines))
	mean, known := depthOf(d)
	minutes, guessed := minutesOf(d)
	var load, tether float64
	paidOut := false
	for i := range d.Lines {
		l := &d.Lines[i]
		c := &out[i]
		c.cond = predict.Condition{Sign: make([]int8, len(m.Vehicle.Thrusters)), Electrical: l.Electrical, Lights: l.Lights, Held: l.Held,
			Climbing: l.Readings[quantity.Climb].Measured(), Minute: minutes[i], Salinity: l.Salinity, BallastG: l.BallastG,
			Warm: 1 - math.Exp(-load/warmMinutes)}
		if guessed[i] {
			c.add(predict.MinuteMin, minuteError, 0)
		}
		if len(l.Drives) > 0 && i+1 < len(d.Lines) {
			load += min(max(minutes[i+1]-minutes[i], 0), 2*warmMinutes)
		}
		if load > 0 {
			c.add(predict.WarmK, lineWarmK, 0)
		}
		u.fillDepth(c, kindOf(m, l), l, mean, known)
		if v := l.TetherOut; v.Measured() {
			tether, paidOut = v.X, true
			c.cond.TetherOutM = v.X
		} else {
			u.fillTether(c, m.Vehicle.Tether.LengthM, tether, paidOut)
		}
		u.fillWater(c, l, d.Date)
		c.add(predict.ReelK, 0, reelKelvins)
		if l.Salinity > 0 {
			c.add(predict.SalinityPSU, 0, math.Hypot(salinityPSU, salinityShare*l.Salinity))
		}
	}
	return out
}

// salinityPSU and salinityShare are one standard deviation of a salinity that is written down:
// of a refractometer of which a line is one, and of a table for the whole season; common practice, no
// source.
const salinityPSU, salinityShare = 0.5, 0.03

// reelKelvins is one standard deviation of how much warmer than the water a
// reel's copper is: common practice, no source.
const reelKelvins = 5.0

func (c *circumstance) add(param int, line, dive float64) {
	c.unknown = append(c.unknown, unknown{param: param, dive: dive, line: line})
}

// fillDepth fills in a depth that is not given: that of the dive's other lines below the surface, of which known
// have mean, or that of lines of its kind, as hover weights are read at the surface: whichever lines of its kind have kept to.
func (u *usual) fillDepth(c *circumstance, k lineKind, l *session.Line, mean float64, known int) {
	if v := l.Depth; v.Measured() {
		c.cond.DepthM = v.X
		return
	}
	kind, spread := u.kind(k), func(depth float64) float64 { return withinShare*depth + mooredSpreadM }
	var line, dive float64
	switch own, beside := &kind.own, &kind.beside; {
	case own.n > 0 && known > 0 && beside.n > 0 && beside.sd(spread(mean), 1) < own.sd(spread(own.mean(0, 0)), 1):
		c.cond.DepthM, line = max(mean+beside.mean(0, 1), 0), beside.sd(spread(mean), 1)
	case own.n > 0:
		c.cond.DepthM = own.mean(0, 0)
		all := own.sd(spread(c.cond.DepthM), 1)
		line = min(all, u.within.sd(spread(c.cond.DepthM), 2))
		dive = math.Sqrt(all*all - line*line)
	case k.held || k.trim:
		line = mooredSpreadM
	case known > 0:
		c.cond.DepthM, line = mean, u.within.sd(spread(mean), 2)
	default:
		c.cond.DepthM = u.depth.mean(usualDepthM, 0.5)
		line, dive = u.within.sd(spread(c.cond.DepthM), 2), u.depth.sd(depthShare*c.cond.DepthM, 2)
	}
	if v := l.TetherOut; v.Measured() && v.X < c.cond.DepthM { // no deeper than the tether that is out
		c.cond.DepthM, line = v.X, min(line, v.X)
	}
	c.add(predict.DepthM, line, dive)
}

// fillTether takes what was paid out on the line before; of what was never
// given it takes half of the length, evenly unknown.
func (u *usual) fillTether(c *circumstance, length, before float64, paidOut bool) {
	spread := u.tether.sd(tetherShare*length, 1)
	switch {
	case paidOut:
		c.cond.TetherOutM = before
	case u.tether.n > 0:
		c.cond.TetherOutM = u.tether.sum / u.tether.n
	default:
		c.cond.TetherOutM = length / 2
	}
	c.cond.TetherOutM = max(c.cond.TetherOutM, min(c.cond.DepthM, length))
	if paidOut {
		c.add(predict.TetherOutM, spread, 0)
		return
	}
	c.add(predict.TetherOutM, spread, spread/2)
}

// fillWater fills in the water's temperature. One that is not read follows the year from the last that was:
// unread for long, it is no chance from dive to dive.
func (u *usual) fillWater(c *circumstance, l *session.Line, date time.Time) {
	sin, cos := ofYear(date)
	switch v := l.WaterC; {
	case v.Measured():
		c.cond.WaterC = v.X
	case u.seen:
		c.cond.WaterC = u.water
		if s, k := ofYear(u.on); !date.IsZero() && !u.on.IsZero() {
			c.cond.YearSin, c.cond.YearCos = sin-s, cos-k
		}
		c.add(predict.WaterK, 0, nextWaterK)
	case date.IsZero(): // at any time of the year
		c.cond.WaterC = usualWaterC
		c.add(predict.WaterK, 0, math.Hypot(waterK, yearK))
	default:
		c.cond.WaterC = usualWaterC
		c.cond.YearSin, c.cond.YearCos = sin, cos
		c.add(predict.WaterK, 0, waterK)
	}
}

// ofYear are the sine and cosine of a day in the year.
func ofYear(date time.Time) (sin, cos float64) {
	return math.Sincos(2 * math.Pi * float64(date.YearDay()) / daysOfYear)
}

// minutesOf are the minutes of a dive's lines, those not given between their
// neighbours', and which those are.
func minutesOf(d *session.Dive) (minutes []float64, guessed []bool) {
	minutes, guessed = make([]float64, len(d.Lines)), make([]bool, len(d.Lines))
	last, at := -1, 0.0
	for i := range d.Lines {
		v := d.Lines[i].Minute
		if !v.Measured() {
			guessed[i] = true
			minutes[i] = at + lineMinutes*float64(i-last)
			continue
		}
		for k := last + 1; k < i; k++ { // between two that are given
			share := float64(k-last) / float64(i-last)
			if last < 0 {
				minutes[k] = max(v.X-lineMinutes*float64(i-k), 0)
			} else {
				minutes[k] = at + share*(v.X-at)
			}
		}
		minutes[i], last, at = v.X, i, v.X
	}
	return minutes, guessed
}
