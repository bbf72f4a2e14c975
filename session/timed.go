package session

import "sagline/session/quantity"

// timing names the columns of a timed run or climb; nil where the file has
// none, back always for a climb.
type timing struct {
	of                      quantity.Quantity
	distance, out, back     *Column
	distanceNames, timeName string
}

// timed reads a timed run, whose speed's own column is direct.
func (b *builder) timed(r *row, l *Line, t timing, direct *Column) {
	run, badRun := r.value(t.distance)
	out, badOut := r.value(t.out)
	back, badBack := r.value(t.back)
	if badRun || badOut || badBack {
		return // told already; what is missing beside it is not known
	}
	switch {
	case !run.Measured() && !out.Measured() && !back.Measured():
	case !out.Measured() && back.Measured():
		r.bad(t.back, "given without %s, want both", t.timeName)
	case !out.Measured():
		r.bad(t.distance, "given without %s, want both", t.timeName)
	case !run.Measured():
		r.bad(t.out, "given without %s, want both", t.lacking())
	case clean(r.text(direct)) != "":
		r.bad(t.out, "given beside %q, want one of them", direct.Name)
	default:
		l.PutRun(t.of, run, out, back)
		b.plausible(r, l.Readings[t.of])
	}
}

// lacking names the column of the distance, in either unit if the file has
// neither.
func (t timing) lacking() string {
	if t.distance != nil {
		return t.distance.Name
	}
	return t.distanceNames
}

// plausible holds a timed speed to the range of speeds that are written down.
func (b *builder) plausible(r *row, v Value) {
	limit := byName["speed_m_s"].Highest
	if v.X > limit || v.X < -limit {
		r.bad(v.Column, "found %.6g m in %g s, want at most %g m/s", v.Run, v.Entered, limit)
	}
}
