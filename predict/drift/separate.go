package drift

import (
	"fmt"
	"math"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/forecast"
	"sagline/session/quantity"
)

// test returns the reading or check that tells a component from its likeliest alternative, nil if
// there is no likely one or nothing tells them apart.
func (a *analysis) test(e *component, now *explanation) *findings.Test {
	other, ok := a.runnerUp(e)
	named, _ := a.named(e)
	if !ok || a.causes[named].Param() < 0 {
		return nil
	}
	this, that := a.worded(e, named), a.worded(e, a.reportedAs(other.cause))
	if t := a.testReading(e, now, this, other); t != nil {
		return t
	}
	switch {
	case this.Kind != causes.Vehicle:
		return &findings.Test{From: that.Name, Words: this.Check + "; if that is in order, it is " + that.Words}
	case that.Kind != causes.Vehicle:
		return &findings.Test{From: that.Name, Words: that.Check + "; if that is in order, it is " + this.Words}
	}
	return nil
}

func (a *analysis) testReading(e *component, now *explanation, cause *causes.Cause, other hypothesis) *findings.Test {
	this, thisOK := a.params(now, e, e.hypothesis)
	that, thatOK := a.params(now, e, other)
	if !thisOK || !thatOK {
		return nil
	}
	v := a.r.Model.Vehicle
	lines := a.r.Dives[a.n].Log.Lines
	c := predict.Condition{WaterC: 15, TetherOutM: v.Tether.LengthM, Salinity: lines[0].Salinity, BallastG: lines[len(lines)-1].BallastG}
	read, there, _, found := forecast.Separates(a.r, this, that, c, false)
	if !found {
		if read, there, _, found = forecast.Separates(a.r, this, that, c, true); !found {
			return nil
		}
	}
	alternative := a.worded(e, a.reportedAs(other.cause))
	out := &findings.Test{From: alternative.Name, Read: &findings.Reading{Quantity: read.Quantity.String(), Thrusters: v.DrivesName(read.Sign),
		Held: read.Held, This: read.Expected, That: there}}
	u := v.Units.In(read.Quantity.Unit())
	x, y := u.FromBase(read.Expected), u.FromBase(there)
	// one digit: no finer than the instrument or the difference needs
	half := 10 * max(math.Abs(x-y)/4, math.Abs(u.FromBase(read.Spread())-u.FromBase(0)))
	out.Words = fmt.Sprintf("%s: about %s %s if it is %s, %s if %s", reading(read, out.Read.Thrusters), findings.Rounded(x, half), u.Name,
		cause.Words, findings.Rounded(y, half), alternative.Words)
	return out
}

// reading words what to read.
func reading(read forecast.Reading, thrusters string) string {
	switch {
	case read.Climbing:
		return "a timed climb with everything off"
	case read.Quantity == quantity.LoopOhm || read.Quantity == quantity.Insulation:
		return read.Quantity.Instrument() + ", battery unplugged"
	case thrusters == "off":
		return read.Quantity.Words() + " with everything off"
	case read.Held:
		return read.Quantity.Words() + " with " + thrusters + ", held still"
	}
	return read.Quantity.Words() + " with " + thrusters
}

// runnerUp returns the best hypothesis of the likeliest unrelated cause that a component may be
// instead; ok is false if none is likelier than listed.
func (a *analysis) runnerUp(e *component) (h hypothesis, ok bool) {
	most := listed
	for c, p := range e.stays {
		if p >= most && !a.related(c, e.cause) && a.causes[c].Param() >= 0 {
			h, most, ok = e.best[c], p, true
		}
	}
	return h, ok
}

// params returns the vehicle's parameters at the newest dive, on a rested battery, under an
// explanation with h in place of one of its components.
func (a *analysis) params(now *explanation, e *component, h hypothesis) (predict.Params, bool) {
	hs := now.hypotheses()
	for i := range hs {
		if hs[i] == e.hypothesis {
			hs[i] = h
		}
	}
	s, cols, ok := a.solve(hs)
	if !ok {
		return nil, false
	}
	p := append(predict.Params(nil), a.r.Base...)
	p[predict.OpenCircuitV], p[predict.SagVPerMinute] = a.r.Model.Vehicle.Battery.RestV(), 0
	static := a.r.Space.Static
	for i, at := range static {
		if k := a.r.Space.All[at]; k != predict.OpenCircuitV {
			p[k] += s.lin[i]
		}
	}
	for c := range cols {
		for _, t := range cols[c].terms {
			p[a.r.Space.All[t.at]] += t.per * cols[c].profile(a.n) * s.lin[len(static)+c]
		}
	}
	for _, h := range hs {
		if h.stays() {
			for _, by := range a.r.Dives[a.n].Summary.Failed[a.causes[h.cause].Fails].By {
				p[by.Param] += by.X
			}
		}
	}
	return p, true
}
