package session

// ToBase turns a number in the column's unit into the base unit.
func (c *Column) ToBase(x float64) float64 { return c.in.ToBase(x) }

// FromBase turns a number in the base unit into the column's.
func (c *Column) FromBase(x float64) float64 { return c.in.FromBase(x) }

// timed says whether the column holds the seconds of a timed run or climb.
func (c *Column) timed() bool { return c.Quantity == "run time" || c.Quantity == "climb time" }

// EnteredFor is what would have been written in v's cell had the value been
// base, which is in the base unit. For a timed run that is the seconds, both
// ways being quicker or slower alike where both were timed; a speed of 0 then
// takes for ever (+Inf). Where v was not measured it is base itself.
func (v Value) EnteredFor(base float64) float64 {
	switch c := v.Column; {
	case c == nil:
		return base
	case c.timed() && v.X == 0: // no distance covered, whatever the time
		return v.Entered
	case c.timed() && v.X == v.Run/v.Entered:
		return v.Run / base
	case c.timed():
		return v.Entered * v.X / base
	case c.Quantity == "clock":
		return v.Entered + base - v.X
	default:
		return c.FromBase(base)
	}
}
