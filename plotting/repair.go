package plotting

import (
	"fmt"
	"slices"
	"strings"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/drift"
	"sagline/predict/fit"
)

// A Repair is what a vehicle could do before something was serviced or rebuilt
// and after, by what all dives say, on a full battery in fresh water of 15 °C
// with the whole tether out.
type Repair struct {
	Title string // what was done, at which dive
	Rows  []RepairRow
}

// A RepairRow is one ability.
type RepairRow struct {
	Name          string
	Before, After float64 // in the reader's units
	Says          string
}

// ReadRepair is the newest service that ended more than a sound trend, or
// rebuild, of a log; nil where there is none.
func ReadRepair(r *fit.Result, rep *drift.Report) *Repair {
	n, words := repaired(rep)
	if n < 1 {
		return nil
	}
	before, after := abilities(r, rep, n-1), abilities(r, rep, n)
	out := &Repair{Title: fmt.Sprintf("%s, dive %s", words, SafeText(rep.Dives[n].Dive, 20))}
	for i, what := range []struct {
		name, unit string
		digits     int
	}{{"speed ahead", "m/s", 2}, {"pull", "N", 1}, {"lost in tether and joints", "W", 0}, {"strongest current it holds in", "m/s", 2}} {
		if before[i] == 0 && after[i] == 0 {
			continue
		}
		u := rep.Units.In(what.unit)
		out.Rows = append(out.Rows, RepairRow{what.name, u.FromBase(before[i]), u.FromBase(after[i]),
			u.Number(before[i], what.digits) + " → " + u.Show(after[i], what.digits)})
	}
	return out
}

// repaired is the dive at which what ReadRepair looks for was done, and what.
func repaired(rep *drift.Report) (dive int, words string) {
	for i := range rep.Dives {
		if rebuilt := rep.Dives[i].Rebuilt; len(rebuilt) > 0 {
			dive, words = i, SafeText("rebuilt: "+strings.Join(rebuilt, ", "), 80)
		}
	}
	for _, t := range rep.Trends {
		for _, e := range t.Eras {
			if e.Pattern != drift.Steady && e.To >= dive && len(rep.Dives[e.To].Serviced) > 0 {
				dive, words = e.To, strings.Join(slices.Compact(slices.Clone(rep.Dives[e.To].Serviced)), ", ")+" serviced"
			}
		}
	}
	return dive, words
}

// strongest is the strongest current that is looked at, m/s.
const strongest = 1.5

// abilities are a vehicle's speed ahead, its pull, the watts lost on the way
// and the strongest current in which it holds half a tether down, at a dive.
func abilities(r *fit.Result, rep *drift.Report, dive int) [4]float64 {
	m, p := r.ModelOf(dive), drift.At(r, rep, dive)
	length := m.Vehicle.Tether.LengthM
	o := advice.AllAhead(m, predict.Condition{WaterC: 15, TetherOutM: length}, p)
	held := advice.Strongest(m, advice.Station{DepthM: length / 2, TetherOutM: length, WaterC: 15}, p, strongest)
	return [4]float64{o.SpeedMS, o.PullN, o.TetherW, held}
}

// Picture draws what a vehicle could do before a repair, thin, and after, thick.
func (r *Repair) Picture(room Layout) *Picture {
	p := &Picture{Title: "before and after", Says: r.Title + "; thin: before, thick: after", Width: room.Width, High: 44 * float64(len(r.Rows)),
		Alt: "Before and after " + r.Title + "."}
	for i, row := range r.Rows {
		y, scale := 44*float64(i), (p.Width-20)/max(row.Before, row.After)
		p.text("ink", row.Name+": "+row.Says, 0, y+13)
		p.path("quiet full", box(0, y+18, scale*row.Before, y+23))
		p.path("measured full", box(0, y+24, scale*row.After, y+34))
		p.Alt += " " + Capital(row.Name) + ": " + row.Says + "."
	}
	return p
}
