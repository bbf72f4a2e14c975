package circumstances

import (
	"time"

	"sagline/predict"
	"sagline/predict/normal"
	"sagline/session"
	"sagline/session/quantity"
)

// A lineKind is the key of lines that are made at similar depths.
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

// Typical accumulates the circumstances of the dives so far.
type Typical struct {
	kinds    map[lineKind]*kindDepth
	depth    normal.Moments // mean depths of the dives' lines below the surface
	fromMean normal.Moments // depths of such lines, less their dive's mean
	tether   normal.Moments
	water    float64
	seen     bool      // whether a water temperature was read
	on       time.Time // the date of that reading
}

// A kindDepth is the depth of lines of a kind, m: itself, and less the mean of their dive's other
// lines below the surface.
type kindDepth struct{ absolute, relative normal.Moments }

func (u *Typical) kind(k lineKind) *kindDepth {
	if u.kinds == nil {
		u.kinds = map[lineKind]*kindDepth{}
	}
	if u.kinds[k] == nil {
		u.kinds[k] = &kindDepth{}
	}
	return u.kinds[k]
}

// Learn adds a dive's circumstances, for the dives after it.
func (u *Typical) Learn(m *predict.Model, d *session.Dive) {
	mean, n := depthOf(d)
	if n > 0 {
		u.depth.Add(mean)
	}
	for i := range d.Lines {
		l := &d.Lines[i]
		if v := l.Depth; v.Measured() {
			kind := u.kind(kindOf(m, l))
			kind.absolute.Add(v.X)
			switch below := belowSurface(l); {
			case below && n > 1:
				u.fromMean.Add(v.X - mean)
				kind.relative.Add((v.X - mean) * float64(n) / float64(n-1)) // without itself
			case !below && n > 0:
				kind.relative.Add(v.X - mean)
			}
		}
		if v := l.TetherOut; v.Measured() {
			u.tether.Add(v.X)
		}
		if v := l.WaterC; v.Measured() {
			u.water, u.seen, u.on = v.X, true, d.Date
		}
	}
}

// belowSurface reports whether a line was made under water, at its dive's depth: hover weights and
// pulls are read beside the dock.
func belowSurface(l *session.Line) bool {
	return l.Depth.Measured() && l.Depth.X > surfaceM && !l.Held && !l.Readings[quantity.Trim].Measured()
}

// depthOf returns the mean depth of a dive's n lines below the surface.
func depthOf(d *session.Dive) (mean float64, n int) {
	for i := range d.Lines {
		if l := &d.Lines[i]; belowSurface(l) {
			mean, n = mean+l.Depth.X, n+1
		}
	}
	return mean / max(float64(n), 1), n
}
