package session

// runs says whether v is a timed run that the columns for distance and time
// can hold.
func (p *pen) runs(v Value, distance, time string) bool {
	return v.Measured() && v.Column.Quantity == time && p.has[distance] != nil && p.has[time] != nil
}

// timed is the cell of a timed run in c: its distance, its seconds, or the
// seconds of its way back.
func (p *pen) timed(c *Column, v Value, distance, time string) string {
	if !p.runs(v, distance, time) {
		return ""
	}
	both := v.X != v.Run/v.Entered // the two ways differ
	switch c.Quantity {
	case distance:
		return c.shortest(v.Run)
	case time:
		if both && p.has["run back"] == nil {
			return decimals(v.Run / v.X) // one way at the mean speed
		}
		return decimals(v.Entered)
	default:
		if !both {
			return ""
		}
		s, _ := shortest(v.Run/(2*v.X-v.Run/v.Entered), func(back float64) bool { return meanSpeed(v.Run, v.Entered, back) == v.X })
		return s
	}
}
