package units

import "slices"

// A System is the units that a person reads in. The zero System is Metric.
type System string

// The two systems, as vehicle.toml and --units name them.
const (
	Metric   System = "metric"
	Imperial System = "imperial"
)

// Names are the systems' names.
var Names = []string{string(Metric), string(Imperial)}

// imperial pairs base units with what is read instead. Speeds are in feet a
// second, since they come from a tape and a stopwatch; a log may hold knots.
var imperial = map[string]string{"m": "ft", "mm": "in", "m/s": "ft/s", "N": "lbf", "g": "oz", "kg": "lb", "°C": "°F",
	"g/m": "oz/ft", "kg/m³": "lb/ft³", "m²": "ft²"}

// Valid says whether a system is one of the two.
func (s System) Valid() bool { return slices.Contains(Names, string(s)) }

// In is the unit in which the system's people read what is held in base; base
// itself where both read the same, as volts.
func (s System) In(base string) Unit {
	if to, ok := imperial[base]; ok && s == Imperial {
		return Find(to)
	}
	return Find(base)
}

// Show is x, held in base, as the system's people read it; decimals are those
// of base.
func (s System) Show(x float64, base string, decimals int) string {
	return s.In(base).Show(x, decimals)
}

// Plain is x as it was given in base, to three digits in any other unit.
func (s System) Plain(x float64, base string) string { return s.In(base).Plain(x) }
