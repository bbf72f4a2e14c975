package advice

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"sagline/predict"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// firstDraws is how many vehicles that the file allows are tried: their 2.5th
// and 97.5th percentiles then scatter by a tenth of a standard deviation.
const firstDraws = 400

// A FirstReading is what an instrument should read on the first dive.
type FirstReading struct {
	Thrusters string
	Held      bool
	Quantity  quantity.Quantity
	Low       float64 // 95 %, the instrument's scatter in it
	Median    float64
	High      float64
}

// A Narrowing is how much of the doubt in the first readings one key takes off
// that the file leaves out: a share of the variance of their logarithms.
type Narrowing struct {
	Path  string
	Share float64
}

// First is what a vehicle should read before anything is known from its log: at
// rest, all surge thrusters held and running, each heave thruster; at the
// surface, whole tether out, 15 °C fresh. The keys that would narrow it come
// with it, the best first. normal gives standard normal numbers.
func First(v *vehicle.Vehicle, normal func() float64) ([]FirstReading, []Narrowing) {
	runs := firstRuns(v)
	var readings []FirstReading
	columns := make([][]float64, 0) // by reading, over draws
	keys := map[string][]float64{}
	for d := range firstDraws {
		w, rest := v.Draw(normal), restVoltage(v, normal)
		at := 0
		for _, r := range runs {
			for _, x := range r.solve(w, rest) {
				if d == 0 {
					readings = append(readings, x)
					columns = append(columns, nil)
				}
				columns[at] = append(columns[at], x.Median+scatter(w, x)*normal())
				at++
			}
		}
		for _, b := range w.Beliefs() {
			keys[b.Path] = append(keys[b.Path], b.Value)
		}
	}
	for i := range readings {
		sorted := slices.Sorted(slices.Values(columns[i]))
		q := func(p float64) float64 { return stat.Quantile(p, stat.LinInterp, sorted, nil) }
		readings[i].Low, readings[i].Median, readings[i].High = q(0.025), q(0.5), q(0.975)
	}
	return readings, narrowings(v, columns, keys)
}

// restVoltage draws the battery's voltage at rest.
func restVoltage(v *vehicle.Vehicle, normal func() float64) float64 {
	b := v.RestBelief()
	return b.Value + b.SD*normal()
}

// firstRun is one line of a first dive.
type firstRun struct {
	sign []int8
	held bool
	read []quantity.Quantity
}

func firstRuns(v *vehicle.Vehicle) []firstRun {
	off := make([]int8, len(v.Thrusters))
	ahead := slices.Clone(off)
	out := []firstRun{{sign: off, read: []quantity.Quantity{quantity.BatteryV, quantity.Trim}}}
	var heave []firstRun
	for i := range v.Thrusters {
		if v.Thrusters[i].Surge() {
			ahead[i] = 1
			continue
		}
		one := slices.Clone(off)
		one[i] = 1
		heave = append(heave, firstRun{sign: one, read: []quantity.Quantity{quantity.BatteryV, quantity.CurrentA, quantity.VehicleV}})
	}
	electric := []quantity.Quantity{quantity.BatteryV, quantity.CurrentA, quantity.VehicleV}
	if slices.Contains(ahead, 1) {
		out = append(out, firstRun{ahead, true, append(slices.Clone(electric), quantity.Pull)},
			firstRun{ahead, false, append(slices.Clone(electric), quantity.Speed)})
	}
	return append(out, heave...)
}

func (r *firstRun) solve(w *vehicle.Vehicle, rest float64) (out []FirstReading) {
	m := predict.NewModel(w)
	p := m.NewParams()
	p[predict.OpenCircuitV] = rest
	var pt predict.Point
	m.Solve(&predict.Condition{Sign: r.sign, Electrical: true, Held: r.held, TetherOutM: w.Tether.LengthM, WaterC: 15}, p, &pt, nil)
	for _, q := range r.read {
		out = append(out, FirstReading{Thrusters: w.DrivesName(r.sign), Held: r.held, Quantity: q, Median: pt.Out[q]})
	}
	return out
}

// scatter is one standard deviation of an instrument's reading.
func scatter(v *vehicle.Vehicle, r FirstReading) float64 {
	in := &v.Instruments
	switch r.Quantity {
	case quantity.BatteryV:
		return in.BatteryV
	case quantity.CurrentA:
		return in.CurrentA
	case quantity.VehicleV:
		return in.VehicleV
	case quantity.Speed:
		return in.SpeedPercent / 100 * r.Median
	case quantity.Pull:
		return in.PullN
	case quantity.Trim:
		return in.TrimG
	}
	return 0
}

// narrowings are, for every key that the file leaves out, the share of the
// variance of the readings' logarithms that goes with it over the draws, less
// what a measured value would still leave of it. A reading that may be 0 or
// less has none: volts at rest and trim are measured on any first dive.
func narrowings(v *vehicle.Vehicle, readings [][]float64, keys map[string][]float64) (out []Narrowing) {
	var doubts [][]float64
	total := 0.0
	for _, y := range readings {
		if slices.Min(y) > 0 {
			doubts = append(doubts, logs(y))
			total += stat.Variance(doubts[len(doubts)-1], nil)
		}
	}
	for _, b := range v.Beliefs() {
		x := keys[b.Path]
		if b.Origin != vehicle.Prior || b.SD <= b.Tolerance || len(x) != firstDraws {
			continue
		}
		if b.Log {
			x = logs(x)
		}
		share := 0.0
		for _, y := range doubts {
			if r := stat.Correlation(x, y, nil); !math.IsNaN(r) {
				share += r * r * stat.Variance(y, nil) / total
			}
		}
		out = append(out, Narrowing{b.Path, share * (1 - b.Tolerance*b.Tolerance/(b.SD*b.SD))})
	}
	slices.SortStableFunc(out, func(a, b Narrowing) int { return cmp.Compare(b.Share, a.Share) })
	return out
}

func logs(x []float64) []float64 {
	out := make([]float64, len(x))
	for i := range x {
		out[i] = math.Log(x[i])
	}
	return out
}
