package session

import "sagline/session/quantity"

// ballast finds ballast that was moved with no weighing on one of its sides,
// since the last move or before the next: what the move itself did then looks
// like water taken in.
func (r *remarker) ballast() {
	weighed, total := false, 0.0
	var moved *Line // a move that no weighing has followed
	for d := range r.log.Dives {
		lines := r.log.Dives[d].Lines
		for i := range lines {
			l := &lines[i]
			if l.BallastG != total {
				if moved != nil {
					r.moved(moved, "after")
				}
				moved = l
				if !weighed && (d > 0 || i > 0) {
					r.moved(l, "before")
					moved = nil
				}
				weighed, total = false, l.BallastG
			}
			if l.Readings[quantity.Trim].Measured() || l.Readings[quantity.Climb].Measured() {
				weighed, moved = true, nil
			}
		}
	}
	if moved != nil {
		r.moved(moved, "after")
	}
}

func (r *remarker) moved(l *Line, side string) {
	name := "ballast_g"
	if c, ok := r.log.column("ballast"); ok {
		name = c.Name
	}
	r.add("ballast", l.Number, name, "moved with no trim weight or free climb read %s it: the next leak is judged from a guess", side)
}

// column is the one that the log has for a quantity.
func (l *Log) column(quantity string) (*Column, bool) {
	for _, name := range l.Columns {
		if c, ok := Find(name); ok && c.Quantity == quantity {
			return c, true
		}
	}
	return nil, false
}

// divesToJudge is how many dives it takes to say what a log never reads:
// common practice, no source.
const divesToJudge = 3

// unfilled finds columns for readings that no line has.
func (r *remarker) unfilled() {
	if len(r.log.Dives) < divesToJudge {
		return
	}
	filled := map[string]bool{}
	for d := range r.log.Dives {
		for i := range r.log.Dives[d].Lines {
			for q := range quantity.Count {
				if v := r.log.Dives[d].Lines[i].Readings[q]; v.Measured() {
					filled[v.Column.Quantity] = true
				}
			}
		}
	}
	for _, name := range r.log.Columns {
		c, ok := Find(name)
		if _, reading := QuantityOf(name); ok && reading && !filled[c.Quantity] && !r.timedInstead(c, filled) {
			r.add("unfilled "+name, r.log.Header, name, "never filled: leave it out, or read it (%s)", c.Help)
		}
	}
}

// timedInstead says whether a speed or climb was written down as a timed run.
func (r *remarker) timedInstead(c *Column, filled map[string]bool) bool {
	return c.Quantity == quantity.Speed.String() && filled["run time"] || c.Quantity == quantity.Climb.String() && filled["climb time"]
}
