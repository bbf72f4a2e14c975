package drift

import (
	"slices"

	"sagline/predict/causes"
	"sagline/predict/findings"
)

// root follows caseOf to its end.
func (a *analysis) root(c int) int {
	for of := a.caseOf(c); of != c; of = a.caseOf(c) {
		c = of
	}
	return c
}

// caseOf returns the cause that a cause is a case of, itself if none.
func (a *analysis) caseOf(c int) int {
	if of := a.causes[c].Of; of != "" {
		for i := range a.causes {
			if a.causes[i].Name == of {
				return i
			}
		}
	}
	return c
}

// reportedAs returns the cause that a cause is reported as: for a thruster's open circuit or
// contact that comes and goes the resistance of its wiring, for a lost propeller the thrust.
func (a *analysis) reportedAs(c int) int {
	if a.causes[c].Thruster() >= 0 {
		return a.caseOf(c)
	}
	return c
}

// related reports whether two causes are of one family: cases of the same cause, or of the same
// quantity.
func (a *analysis) related(c, d int) bool {
	return a.root(c) == a.root(d) || a.causes[c].Quantity == a.causes[d].Quantity
}

// family returns the quantities that share one alarm with a cause's: those of related causes and,
// for a jam, of any thruster's jam.
func (a *analysis) family(c int) []string {
	var out []string
	for i := range a.causes {
		if a.related(c, i) || a.causes[c].Fails.Jam() && a.causes[i].Fails.Jam() {
			out = append(out, a.causes[i].Quantity)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// plainly is the share of its family's probability from which a single case is named. Below it the
// readings do not tell the cases apart.
const plainly = 0.8

// named returns the cause that a component is put down to and its family's probability: a case
// where it is plain which, else what it is a case of. What was not written down has the root's
// name: the evidence says which case it is.
func (a *analysis) named(e *component) (cause int, p float64) {
	cause, p = a.plainest(e)
	if a.causes[cause].Kind == causes.NotLogged {
		cause = a.root(cause)
	}
	return cause, p
}

// plainest returns the likeliest case of a component's family, or their root if no case is plain,
// and the family's probability.
func (a *analysis) plainest(e *component) (cause int, p float64) {
	cause = a.reportedAs(e.cause)
	for i := range e.stays {
		if a.related(i, e.cause) {
			p += e.stays[i]
			if e.stays[i] > e.stays[cause] {
				cause = i
			}
		}
	}
	if e.stays[cause] < plainly*p {
		cause = a.root(cause)
	}
	return cause, p
}

// activeFor reports whether a component is named as a change of the quantity of cause c. Where it may
// be any of several cases of a cause that is not likely itself, it surely changes none of theirs.
func (a *analysis) activeFor(e *component, c int) bool {
	cause, _ := a.named(e)
	if a.causes[cause].Kind == causes.Vehicle && e.stays[cause] < minProbability && e.stays[a.reportedAs(e.cause)] >= minProbability {
		return false
	}
	return a.causes[cause].Quantity == a.causes[c].Quantity
}

// probabilityOf returns the probability of what a component is named.
func (a *analysis) probabilityOf(e *component) float64 {
	_, p := a.named(e)
	return p
}

// asGoodAsOpen is the resistance, over its thruster's voltage per ampere, held, from which an open
// circuit is called so: its thruster draws a quarter of its current or less. Common practice, no
// source.
const asGoodAsOpen = 4.0

// carries reports whether a thruster whose circuit is read as open draws more than next to nothing.
func (a *analysis) carries(h hypothesis) bool {
	how := a.causes[h.cause].Fails
	if how.How != causes.Open {
		return false
	}
	by := a.failedBy(h).Value
	return by > 0 && by < asGoodAsOpen*a.r.Model.TestOhm(a.r.Base, how.Thruster-1)
}

// worded returns a copy of a cause's row for a component that may be it. Its words are those of the
// failure reported as it, if the failure is the likelier of the two and is plain, and for what was
// not written down those of the plain case.
func (a *analysis) worded(e *component, cause int) *causes.Cause {
	of := cause
	for i := range a.causes {
		if i != cause && a.reportedAs(i) == cause && e.best[cause].cause == i && !a.carries(e.best[cause]) {
			of = i
			break
		}
	}
	if a.causes[cause].Kind == causes.NotLogged {
		if c, _ := a.plainest(e); a.root(c) == cause {
			of = c
		}
	}
	c, o := a.causes[cause], &a.causes[of]
	c.Words, c.What, c.Check = o.Words, o.What, o.Check
	return &c
}

// otherFailure returns the cause that the other failure of a thruster that does nothing is reported
// as: an open circuit besides a lost propeller, and the reverse. It returns −1 for any other
// component.
func (a *analysis) otherFailure(e *component) int {
	how := a.causes[e.cause].Fails
	if how.Thruster == 0 || how.Jam() {
		return -1
	}
	for i := range a.causes {
		f := a.causes[i].Fails
		if o := a.reportedAs(i); f.Thruster == how.Thruster && !f.Jam() && f != how {
			return o
		}
	}
	return -1
}

// either returns the row of the cause that a component is named. Where it is not plain which
// thruster it is, or why a thruster does nothing, the row names all candidates, and their
// probabilities are returned.
func (a *analysis) either(e *component, cause int) (*causes.Cause, []findings.Alternative) {
	if o := a.otherFailure(e); o >= 0 && cause != o && e.stays[o] > minProbability {
		this, that := *a.worded(e, cause), a.worded(e, o)
		alike := []findings.Alternative{{Fault: this.Name, Probability: e.stays[cause], Words: this.Words}, {Fault: that.Name, Probability: e.stays[o], Words: that.Words}}
		this.Words, this.What, this.Check = this.Words+" or "+that.Words, this.What+", or "+that.What, this.Check+"; or "+that.Check
		return &this, alike
	}
	c, sum := a.worded(e, cause), 0.0
	var rows []*causes.Cause
	var alike []findings.Alternative
	for i, p := range e.stays {
		if d := &a.causes[i]; i == cause || d.Alike(c) && p >= 1-plainly {
			d = a.worded(e, i)
			rows, alike, sum = append(rows, d), append(alike, findings.Alternative{Fault: d.Name, Probability: p, Words: d.Words}), sum+p
		}
	}
	if len(rows) < 2 || e.stays[cause] >= plainly*sum {
		return c, nil
	}
	return c.Either(rows), alike
}

// oneOf is either, also for a component that is named by a cause of which its own are cases.
func (a *analysis) oneOf(e *component, cause int) (*causes.Cause, []findings.Alternative) {
	c, either := a.either(e, cause)
	which := a.which(e, cause)
	if row := a.anyOf(c, which); row != nil && e.stays[cause] < minProbability {
		return row, which
	}
	return c, either
}

// candidates returns the cause that a component is reported as, and those of other thrusters where it is
// not plain which one it is.
func (a *analysis) candidates(e *component) []int {
	out := []int{a.reportedAs(e.cause)}
	named, _ := a.named(e)
	_, either := a.oneOf(e, named)
	for i := range a.causes {
		if i != out[0] && slices.ContainsFunc(either, func(o findings.Alternative) bool { return o.Fault == a.causes[i].Name }) {
			out = append(out, i)
		}
	}
	return out
}
