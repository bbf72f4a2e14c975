package session

import "sagline/session/quantity"

// runs says whether v is a timed run that the columns for distance and time
// can hold.
func (p *pen) runs(v Value, distance, time string) bool {
	return v.Measured() && v.Column.Quantity == time && p.has[distance] != nil && p.has[time] != nil
}

// timed is the cell of a timed run in c: its distance, its seconds, or the
// seconds of its way back.
func (p *pen) timed(c *Column, l *Line, q quantity.Quantity, distance, time string) string {
	v := l.Readings[q]
	switch {
	case !p.runs(v, distance, time):
		return ""
	case c.Quantity == distance:
		return c.shortest(v.Run)
	case c.Quantity == "run back":
		return c.cellOf(l.Back)
	case q == quantity.Speed && p.has["run back"] == nil && l.Back.Measured():
		return decimals(v.Run / v.X) // one way at the mean speed
	}
	return decimals(v.Entered)
}
