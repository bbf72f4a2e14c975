package vehicle

import (
	"math"
	"slices"
	"strings"
)

// A chemistry holds what follows from a battery's chemistry, per cell.
type chemistry struct {
	name  string
	cells float64    // label voltage of one cell
	by    float64    // cells that come as one block
	sold  []float64  // cells in series of common batteries; common practice, no source
	rest  [5]float64 // V at rest with 0, 25, 50, 75, 100 % of charge
	empty float64    // V under load at which it is empty; common practice, no source
	ohmAh float64    // resistance times capacity, Ω·Ah
	full  float64    // V at which charging ends

	peukert float64 // Peukert's exponent
	whPerKG float64 // Wh in a kilogram
}

// chemistries is the table. Rest voltages: lead-acid BCI at 26.7 °C; agm and gel as printed in
// battery charts, no source; lithium-iron between two charts that disagree by 0.1 V in four cells;
// lithium-ion common practice, no source. Resistance: a small 12 V lead battery of 7 Ah has about
// 25 mΩ by its maker; a lithium-ion cell of 2.6 Ah 45 mΩ, lithium-iron half of that for its
// capacity: common practice, no source. End of charging: makers' sheets at 20 to 25 °C in cyclic
// use, from memory. Peukert: a battery monitor's manual has 1.14 to 1.28 for eleven flooded and
// 1.10 to 1.20 for seven gel batteries, battery sellers 1.05 to 1.15 for agm and about 1.05 for
// lithium. Energy: common practice, no source.
var chemistries = []chemistry{
	{"lead-acid", 2, 3, leadSold, [5]float64{11.89 / 6, 12.06 / 6, 12.24 / 6, 12.45 / 6, 12.65 / 6}, 1.75, 0.029, 2.45, 1.2, 33},
	{"agm", 2, 3, leadSold, [5]float64{11.8 / 6, 12.0 / 6, 12.3 / 6, 12.6 / 6, 12.8 / 6}, 1.75, 0.026, 2.45, 1.1, 33},
	{"gel", 2, 3, leadSold, [5]float64{11.8 / 6, 12.0 / 6, 12.35 / 6, 12.65 / 6, 12.85 / 6}, 1.75, 0.035, 2.4, 1.14, 33},
	{"lithium-iron", 3.2, 1, []float64{2, 4, 8, 12, 16}, [5]float64{11.6 / 4, 12.9 / 4, 13.1 / 4, 13.25 / 4, 13.35 / 4}, 2.5, 0.06, 3.65, 1.05, 100},
	{"lithium-ion", 3.65, 1, []float64{1, 2, 3, 4, 5, 6, 7, 10, 13, 14}, [5]float64{3.3, 3.65, 3.78, 3.97, 4.2}, 3, 0.12, 4.2, 1.05, 150},
}

var leadSold = []float64{3, 6, 12, 18, 24}

// chemistryNames are the words of battery.chemistry.
var chemistryNames = func() (out []string) {
	for i := range chemistries {
		out = append(out, chemistries[i].name)
	}
	return out
}()

// chemistryLabels are what batteries' labels say for the words of battery.chemistry.
var chemistryLabels = map[string]string{"lifepo4": "lithium-iron", "life": "lithium-iron", "lfp": "lithium-iron", "li-ion": "lithium-ion", "liion": "lithium-ion",
	"lipo": "lithium-ion", "nmc": "lithium-ion", "sla": "lead-acid", "vrla": "lead-acid", "pb": "lead-acid", "flooded": "lead-acid"}

// chem returns the row of the battery's chemistry, lead-acid if it is not known.
func (b *Battery) chem() *chemistry {
	return &chemistries[max(0, slices.Index(chemistryNames, b.Chemistry))]
}

// Peukert returns the exponent of Peukert's law.
func (b *Battery) Peukert() float64 { return b.chem().peukert }

// WeightKG returns the battery's approximate weight.
func (b *Battery) WeightKG() float64 { return b.NominalV * b.CapacityAh / b.chem().whPerKG }

// inferChemistry infers the chemistry from the label's voltage: a multiple of 6 V is lead, of 3.2 V
// lithium-iron, of 3.6 or 3.7 V lithium-ion; else lead.
func inferChemistry(label float64) string {
	multiple := func(of float64) bool {
		n := math.Round(label / of)
		return n > 0 && math.Abs(label-n*of) < 0.01*of
	}
	switch {
	case multiple(6):
		return "lead-acid"
	case multiple(3.2):
		return "lithium-iron"
	case multiple(3.7), multiple(3.6):
		return "lithium-ion"
	}
	return "lead-acid"
}

// cells returns the number of cells in series by the label: a whole number or, if the label is none
// of its chemistry, as many as give its voltage.
func (b *Battery) cells() float64 {
	if whole := b.wholeCells(); !b.offLabel(whole) {
		return whole
	}
	return b.NominalV / b.chem().cells
}

// offLabel reports whether the voltage of that many cells is far from the label.
func (b *Battery) offLabel(cells float64) bool {
	volts := cells * b.chem().cells
	return math.Abs(b.NominalV-volts) > labelOff*volts
}

// wholeCells returns the number of cells, in whole blocks, whose voltage is nearest to the label.
func (b *Battery) wholeCells() float64 {
	c := b.chem()
	if n := c.by * math.Round(b.NominalV/(c.cells*c.by)); n > 0 {
		return n
	}
	return max(1, math.Round(b.NominalV/c.cells))
}

// NextV returns the label, V, of the next common battery with more cells of the same chemistry, 0
// if there is none.
func (b *Battery) NextV() float64 {
	c, now, cell := b.chem(), b.cells(), b.NominalV/b.cells()
	for _, n := range c.sold {
		if n > now*1.05 {
			return n * cell
		}
	}
	return 0
}

// Lithium reports whether the battery has lithium cells.
func (b *Battery) Lithium() bool { return strings.HasPrefix(b.Chemistry, "lithium") }

// RestV returns the voltage of the full battery after hours of rest, by chemistry and label: 12.65
// V for a lead-acid "12 V".
func (b *Battery) RestV() float64 { return b.RestAt(1) }

// RestAt returns the voltage at rest with a share of the charge left, 0 to 1.
func (b *Battery) RestAt(charge float64) float64 {
	rest := &b.chem().rest
	at := min(max(charge, 0), 1) * float64(len(rest)-1)
	i := min(int(at), len(rest)-2)
	return b.cells() * (rest[i] + (at-float64(i))*(rest[i+1]-rest[i]))
}

// surfaceShare is how much of the way from the full battery's rest voltage to that at which charging
// ends a battery may still show when it has just left its charger, lead-acid above all. Common
// practice, no source.
const surfaceShare = 0.4

// MostRestV returns the highest voltage that the full battery may have without load, of any
// chemistry if the file does not name one.
func (v *Vehicle) MostRestV() float64 {
	most := 0.0
	for i := range chemistries {
		b, c := v.Battery, &chemistries[i]
		if b.Chemistry = c.name; v.ChemistryGuessed() || c == v.Battery.chem() {
			most = max(most, b.cells()*(c.rest[4]+surfaceShare*(c.full-c.rest[4])))
		}
	}
	return most
}

// Charge returns the share of the charge left, 0 to 1, from a reading at rest. It assumes an hour
// without load, and 27 °C.
func (b *Battery) Charge(restV float64) float64 {
	rest, cell := &b.chem().rest, restV/b.cells()
	for i := len(rest) - 1; i > 0; i-- {
		if lo, hi := rest[i-1], rest[i]; cell >= lo {
			return (float64(i-1) + min((cell-lo)/(hi-lo), 1)) / float64(len(rest)-1)
		}
	}
	return 0
}

// typicalCharge is the usual share of charge before a dive, lowCharge that of one battery in
// forty; common practice, no source.
const (
	typicalCharge = 0.95
	lowCharge     = 0.5
)

// ChargeSD returns one standard deviation of the rest voltage from dive to dive, V, since a battery
// is not always fully charged: at least restV, and chargeShare of the spread over all dives. Common
// practice, no source.
func (b *Battery) ChargeSD() float64 {
	return max(restV, chargeShare*(b.RestAt(typicalCharge)-b.RestAt(lowCharge))/Z95)
}

const restV, chargeShare = 0.12, 0.6

// SagSD returns one standard deviation of a battery's loss of voltage in use, V/min: at least sagV,
// and that of a battery that is half empty after an hour. Common practice, no source.
func (b *Battery) SagSD() float64 {
	return max(sagV, (b.RestAt(typicalCharge)-b.RestAt(lowCharge))/60)
}

const sagV = 0.01

// ChemistryGuessed reports whether the chemistry is not stated, but inferred from the label.
func (v *Vehicle) ChemistryGuessed() bool {
	return v.stated != nil && !v.has("battery.chemistry", 0)
}

// roundedOff is how far a rounded label may lie from the voltage of its cells, as a share: 12.8 V
// of lithium-iron are sold as 12 V. Common practice, no source.
const roundedOff = 0.07

// MostV returns the voltage at which charging ends, the highest of a full battery. If the chemistry
// is only inferred, it is the highest over all chemistries that the label fits.
func (v *Vehicle) MostV() float64 {
	b := v.Battery
	most := b.cells() * b.chem().full
	for _, c := range chemistries {
		b.Chemistry = c.name
		cells := b.wholeCells()
		if v.ChemistryGuessed() && math.Abs(b.NominalV-cells*c.cells) < roundedOff*cells*c.cells {
			most = max(most, cells*c.full)
		}
	}
	return most
}

// RestBelief returns the belief about the rest voltage at the start of a dive before any reading:
// the battery is charged, but not always fully. If the chemistry is only inferred, it may be
// another whose rest voltage lies nearer to the label.
func (v *Vehicle) RestBelief() Belief {
	b := &v.Battery
	x := b.RestAt(typicalCharge)
	sd, source := (x-b.RestAt(lowCharge))/Z95, b.chem().name+" battery of "+trimmed(b.NominalV)+" V, charged"
	if v.ChemistryGuessed() {
		sd, source = max(sd, math.Abs(x-b.NominalV)/Z95*1.5), source+"; chemistry inferred from the label"
	}
	return Belief{Value: x, SD: sd, Residual: sd, Low: x - Z95*sd, High: min(x+Z95*sd, v.MostV()), Source: source}
}
