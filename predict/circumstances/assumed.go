package circumstances

import (
	"math"
	"time"

	"sagline/predict"
	"sagline/session"
	"sagline/session/quantity"
)

// What is assumed of circumstances before a log has shown its own; common practice, no source.
const (
	surfaceM      = 0.5  // m, above which a vehicle is at the surface
	depthShare    = 0.6  // one standard deviation of a dive's depth, as a share
	withinShare   = 0.15 // the same of the lines of one dive
	typicalWaterC = 15.0
	waterK        = 4.0 // one standard deviation of typicalWaterC, beside the year's course
	daysOfYear    = 365.25
	nextWaterK    = 3.0  // of unread water against the last reading
	lineMinutes   = 3.0  // between lines
	minuteError   = 2.0  // one standard deviation of a guessed minute
	warmMinutes   = 12.0 // time constant of windings: they reach 63 % of their final warmth
	lineWarmK     = 3.0  // one standard deviation of a winding's warmth from line to line
	mooredSpreadM = 0.3  // m, of lines at the surface
	alikeLineM    = 0.2  // m, of one dive's lines in a log without depths; more scatter shows as noise of speeds
)

// TetherShare is one standard deviation of a paid-out length uniform over the tether's, as a share
// of that.
const TetherShare = 0.29

// TypicalDepthM is the assumed depth of a dive's lines below the surface in a log that never gives
// one, and UnknownDepthM one standard deviation of it, m; common practice, no source.
const (
	TypicalDepthM = 2.5
	UnknownDepthM = depthShare * TypicalDepthM
)

// YearK is one standard deviation of the cosine and of the sine amplitude of the water's
// temperature over the year, K: common practice, no source.
const YearK = 5.0

// Of returns the circumstances of a dive's lines. What a line does not give is taken from the
// dive's other lines, then from earlier lines of its kind.
func (u *Typical) Of(m *predict.Model, d *session.Dive) []Circumstance {
	out := make([]Circumstance, len(d.Lines))
	mean, known := depthOf(d)
	minutes, guessed := minutesOf(d)
	var load, tether float64
	began := -1 // the first line on which something runs
	paidOut := false
	for i := range d.Lines {
		l := &d.Lines[i]
		c := &out[i]
		c.Cond = predict.Condition{Sign: make([]int8, len(m.Vehicle.Thrusters)), Electrical: l.Electrical, Lights: l.Lights, Held: l.Held,
			Climbing: l.Readings[quantity.Climb].Measured(), Minute: minutes[i], RestMin: max(minutes[i]-load, 0), Salinity: l.Salinity, BallastG: l.BallastG,
			Warm: 1 - math.Exp(-load/warmMinutes)}
		if guessed[i] {
			c.add(predict.MinuteMin, minuteError, 0)
		}
		if began < 0 && len(l.Drives) > 0 {
			began = i
		}
		if began >= 0 && i > began {
			c.Cond.UnderWay = 1
			if end := minutes[len(minutes)-1]; end > minutes[began] {
				c.Cond.UnderWay = (minutes[i] - minutes[began]) / (end - minutes[began])
			}
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
			c.Cond.TetherOutM = v.X
		} else {
			u.fillTether(c, m.Vehicle.Tether.LengthM, tether, paidOut)
		}
		u.fillWater(c, l, d.Date)
		if l.Salinity > 0 {
			c.add(predict.SalinityPSU, 0, math.Hypot(salinityPSU, salinityShare*l.Salinity))
		}
	}
	return out
}

// salinityPSU and salinityShare are one standard deviation of a salinity that is written down: of a
// refractometer with divisions of one psu, and of a table for the whole season; common practice, no
// source.
const salinityPSU, salinityShare = 0.5, 0.03

// fillDepth fills in a depth that is not given. It is mean, that of the dive's known other lines
// below the surface, plus the usual difference of lines of its kind, or their usual depth (hover
// weights are read at the surface): whichever earlier lines of its kind kept to more closely.
func (u *Typical) fillDepth(c *Circumstance, k lineKind, l *session.Line, mean float64, known int) {
	if v := l.Depth; v.Measured() {
		c.Cond.DepthM = v.X
		return
	}
	kind, spread := u.kind(k), func(depth float64) float64 { return withinShare*depth + mooredSpreadM }
	var line, dive float64
	switch absolute, relative := &kind.absolute, &kind.relative; {
	case absolute.N > 0 && known > 0 && relative.N > 0 && relative.SD(spread(mean), 1) < absolute.SD(spread(absolute.Mean(0, 0)), 1):
		c.Cond.DepthM, line = max(mean+relative.Mean(0, 1), 0), relative.SD(spread(mean), 1)
	case absolute.N > 0:
		c.Cond.DepthM = absolute.Mean(0, 0)
		all := absolute.SD(spread(c.Cond.DepthM), 1)
		line = min(all, u.fromMean.SD(spread(c.Cond.DepthM), 2))
		dive = math.Sqrt(all*all - line*line)
	case k.held || k.trim:
		line = mooredSpreadM
	case known > 0:
		c.Cond.DepthM, line = mean, u.fromMean.SD(spread(mean), 2)
	case u.depth.N == 0:
		c.Cond.DepthM, c.Cond.DepthAssumed = TypicalDepthM, 1
		line = alikeLineM
	default:
		c.Cond.DepthM = u.depth.Mean(TypicalDepthM, 0.5)
		line, dive = u.fromMean.SD(spread(c.Cond.DepthM), 2), u.depth.SD(depthShare*c.Cond.DepthM, 2)
	}
	if v := l.TetherOut; v.Measured() && v.X < c.Cond.DepthM { // no deeper than the tether that is out
		c.Cond.DepthM, line = v.X, min(line, v.X)
	}
	c.add(predict.DepthM, line, dive)
}

// fillTether fills in the tether paid out: that of the line before, or the log's mean, or half of
// the length, with uniform uncertainty, if it was never given.
func (u *Typical) fillTether(c *Circumstance, length, before float64, paidOut bool) {
	spread := u.tether.SD(TetherShare*length, 1)
	switch {
	case paidOut:
		c.Cond.TetherOutM = before
	case u.tether.N > 0:
		c.Cond.TetherOutM = u.tether.Mean(0, 0)
	default:
		c.Cond.TetherOutM, c.Cond.OutAssumed = length/2, 1
	}
	c.Cond.TetherOutM = max(c.Cond.TetherOutM, min(c.Cond.DepthM, length))
	if paidOut {
		c.add(predict.TetherOutM, spread, 0)
		return
	}
	c.add(predict.TetherOutM, spread, spread/2)
}

// fillWater fills in the water's temperature. An unread one follows the year's course from the last
// reading: over a long time the difference is not random from dive to dive.
func (u *Typical) fillWater(c *Circumstance, l *session.Line, date time.Time) {
	sin, cos := ofYear(date)
	switch v := l.WaterC; {
	case v.Measured():
		c.Cond.WaterC = v.X
	case u.seen:
		c.Cond.WaterC = u.water
		if s, k := ofYear(u.on); !date.IsZero() && !u.on.IsZero() {
			c.Cond.YearSin, c.Cond.YearCos = sin-s, cos-k
		}
		c.add(predict.WaterK, 0, nextWaterK)
	case date.IsZero(): // at any time of the year
		c.Cond.WaterC = typicalWaterC
		c.add(predict.WaterK, 0, math.Hypot(waterK, YearK))
	default:
		c.Cond.WaterC = typicalWaterC
		c.Cond.YearSin, c.Cond.YearCos = sin, cos
		c.add(predict.WaterK, 0, waterK)
	}
}

// ofYear returns the sine and cosine of a day's phase in the year.
func ofYear(date time.Time) (sin, cos float64) {
	return math.Sincos(2 * math.Pi * float64(date.YearDay()) / daysOfYear)
}
