package drift

import (
	"slices"

	"sagline/predict/causes"
	"sagline/predict/findings"
)

// root is the cause that a cause is a case of in the end, itself where it is none.
func (a *analysis) root(c int) int {
	for of := a.caseOf(c); of != c; of = a.caseOf(c) {
		c = of
	}
	return c
}

// caseOf is the cause that a cause is a case of, itself where it is none.
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

// reportedAs is the cause that a cause is reported as: of an open circuit, or a thruster's contact that comes and goes, its wiring's
// resistance, of a lost propeller its thrust.
func (a *analysis) reportedAs(c int) int {
	if a.causes[c].Thruster() >= 0 {
		return a.caseOf(c)
	}
	return c
}

// related says whether two causes are of one family: cases of the same, or of
// the same quantity.
func (a *analysis) related(c, d int) bool {
	return a.root(c) == a.root(d) || a.causes[c].Quantity == a.causes[d].Quantity
}

// family are the quantities of the causes that one alarm is of: those related to one, any jam's of a jam.
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

// plainly is the share of its family's probability from which one case is named
// by itself: below, the readings do not tell which of them it is.
const plainly = 0.8

// named is the cause that a component is put down to, and how probable that is: a
// case where it is plain which, else what it is a case of, with all its cases. What was not written
// down has one name: which case it is, the evidence says.
func (a *analysis) named(e *component) (cause int, p float64) {
	cause, p = a.plainest(e)
	if a.causes[cause].Kind == causes.NotLogged {
		cause = a.root(cause)
	}
	return cause, p
}

// plainest is the likeliest case of a component's family, the root of its cases where none is plain, and how
// probable the family is.
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

// activeFor says whether a component changes the quantity of cause c: it is named so.
func (a *analysis) activeFor(e *component, c int) bool {
	cause, _ := a.named(e)
	return a.causes[cause].Quantity == a.causes[c].Quantity
}

// probabilityOf is that of what a component is named.
func (a *analysis) probabilityOf(e *component) float64 {
	_, p := a.named(e)
	return p
}

// worded is the row of a cause that a component may be, in the words of the failure that is told as it where it is likelier that, and
// of the plain case of what was not written down.
func (a *analysis) worded(e *component, cause int) *causes.Cause {
	of := cause
	for i := range a.causes {
		if i != cause && a.reportedAs(i) == cause && e.best[cause].cause == i {
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

// otherFailure is what else is told of a thruster that does nothing, its circuit open or its propeller lost: −1 where nothing
// does so.
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

// either is the cause that a component is named, and where it is not plain of which thruster, or in which way one does nothing, worded as
// of any that it may be, with each one's probability.
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
