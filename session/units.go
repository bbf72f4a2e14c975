package session

// factors turn a unit into the base unit of its quantity. All are exact by
// definition: the international foot, the nautical mile and hour, standard
// gravity and the avoirdupois pound, NIST SP 811 (2008) appendix B, and the
// SI brochure (9th edition) for those it accepts.
var factors = map[string]float64{
	"ft": 0.3048, "ft/s": 0.3048, "kn": 1852.0 / 3600, "oz": 28.349523125, "kgf": 9.80665,
	"lbf": 4.4482216152605, "°F": 5.0 / 9,
}

// toBase is what base = (x − offset)·factor needs for a unit.
func toBase(unit string) (factor, offset float64) {
	if unit == "°F" {
		offset = 32
	}
	if f, ok := factors[unit]; ok {
		return f, offset
	}
	return 1, offset
}

// ToBase turns a number in the column's unit into the base unit.
func (c *Column) ToBase(x float64) float64 { return (x - c.offset) * c.factor }

// FromBase turns a number in the base unit into the column's.
func (c *Column) FromBase(x float64) float64 { return x/c.factor + c.offset }

// timed says whether the column holds the seconds of a timed run or climb.
func (c *Column) timed() bool { return c.Quantity == "run time" || c.Quantity == "climb time" }

// Express is what would have been written in v's cell had the value been
// base, which is in the base unit. For a timed run that is the seconds, both
// ways being quicker or slower alike where both were timed; a speed of 0 then
// takes for ever (+Inf). Where v was not measured it is base itself.
func (v Value) Express(base float64) float64 {
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
