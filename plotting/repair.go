package plotting

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/forecast"
	"sagline/predict/outlook"
)

// A Repair compares what a vehicle could do before and after a service or rebuild, by the
// estimates from all dives. The battery is full, the water fresh and at 15 °C, and the whole tether
// is out.
type Repair struct {
	Title string // what was done and at which dive
	Rows  []RepairRow
}

// A RepairRow is one ability in the reader's unit, with 95 % ranges.
type RepairRow struct {
	Name, Unit    string
	Digits        int
	Before, After advice.Range
}

// ReadRepair returns a log's newest rebuild, or newest service that ended a trend other than
// steady; nil if there is none.
func ReadRepair(r *fit.Result, rep *findings.Report) *Repair {
	n, words := repaired(rep)
	if n < 1 {
		return nil
	}
	deep := min(r.ModelOf(n-1).Vehicle.Tether.LengthM, r.ModelOf(n).Vehicle.Tether.LengthM) / 2
	before, after := abilities(r, rep, n-1, deep), abilities(r, rep, n, deep)
	out := &Repair{Title: fmt.Sprintf("%s, dive %s", words, DiveLabel(rep.Dives[n].Dive, 20))}
	for i, what := range []struct {
		name, unit string
		digits     int
	}{{"speed ahead at the surface", "m/s", 2}, {"pull", "N", 1}, {"lost in tether and joints", "W", 0}, {"strongest current it holds in, " + rep.Units.Show(deep, "m", 0) + " deep", "m/s", 2}} {
		if before[i].Value == 0 && after[i].Value == 0 {
			continue
		}
		u := rep.Units.In(what.unit)
		in := func(r advice.Range) advice.Range {
			return advice.Range{Low: u.FromBase(r.Low), Value: u.FromBase(r.Value), High: u.FromBase(r.High)}
		}
		out.Rows = append(out.Rows, RepairRow{what.name, u.Name, what.digits, in(before[i]), in(after[i])})
	}
	return out
}

// repaired finds the repair of ReadRepair: its dive, 0 for none, and its words.
func repaired(rep *findings.Report) (dive int, words string) {
	for i := range rep.Dives {
		if rebuilt := rep.Dives[i].Rebuilt; len(rebuilt) > 0 {
			dive, words = i, SafeText("rebuilt: "+strings.Join(rebuilt, ", "), 80)
		}
	}
	for _, t := range rep.Trends {
		for _, e := range t.Eras {
			if e.Pattern != findings.Steady && e.To >= dive && len(rep.Dives[e.To].Serviced) > 0 {
				dive, words = e.To, strings.Join(slices.Compact(slices.Clone(rep.Dives[e.To].Serviced)), ", ")+" serviced"
			}
		}
	}
	return dive, words
}

// strongest is the upper bound of the search for the strongest current, in m/s.
const strongest = 1.5

// abilities returns what the vehicle could do at a dive: its speed ahead in m/s, its pull in N,
// the power lost in tether and joints in W, and the strongest current in m/s in which it holds its
// place at depth deep (m) with the whole tether out. Each such current takes a search, so the ends
// of its range are computed only for the two samples at the ends of the range of speed.
func abilities(r *fit.Result, rep *findings.Report, dive int, deep float64) []advice.Range {
	m, p := r.ModelOf(dive), outlook.At(r, rep, dive)
	length, lines := m.Vehicle.Tether.LengthM, r.Dives[dive].Log.Lines
	last := &lines[len(lines)-1]
	var drawn []predict.Params
	ahead := func(p predict.Params) []float64 {
		p = p.ReadAsIs()
		drawn = append(drawn, p)
		o := advice.AllAhead(m, predict.Condition{WaterC: 15, TetherOutM: length}, p)
		return []float64{o.SpeedMS, o.PullN, o.TetherW}
	}
	speed := func(p predict.Params) float64 { return ahead(p)[0] }
	held := func(p predict.Params) float64 {
		return advice.Strongest(m, advice.Station{DepthM: deep, TetherOutM: length, WaterC: 15, Salinity: last.Salinity, BallastG: last.BallastG}, p, strongest)
	}
	fixed := map[int]float64{predict.OpenCircuitV: p[predict.OpenCircuitV], predict.SagVPerMinute: 0}
	var posterior fit.Posterior
	if dive == len(rep.Dives)-1 {
		posterior = rep.Posterior
	}
	out := outlook.Ranges(forecast.New(r, p, rep.DoubtsAt(dive), posterior), ahead(p), fixed, ahead)
	all := slices.Clone(drawn)
	slices.SortFunc(all, func(a, b predict.Params) int { return cmp.Compare(speed(a), speed(b)) })
	at := func(share float64) float64 { return held(all[int(share*float64(len(all)-1))]) }
	value := held(p)
	return append(out, advice.Range{Low: min(at(0.025), value), Value: value, High: max(at(0.975), value)})
}

// Picture draws what a vehicle could do before and after a repair, with 95 % ranges.
func (r *Repair) Picture(room Layout) *Picture {
	const wordsWidth, pitch = 150.0, 50.0
	p := &Picture{Title: "before and after", Says: r.Title + "; upper: before, lower: after; hatched: 95 % range",
		Width: room.Width, High: pitch * float64(len(r.Rows)), Alt: "Before and after " + r.Title + "."}
	for i, row := range r.Rows {
		y, scale := pitch*float64(i), (p.Width-wordsWidth)/max(row.Before.High, row.After.High)
		p.text("ink", row.Name, 0, y+11)
		p.Alt += " " + Capital(row.Name)
		for k, x := range []advice.Range{row.Before, row.After} {
			class, y := []string{"quiet", "measured"}[k], y+15+15*float64(k)
			low, high := scale*max(x.Low, 0), scale*x.High
			p.path(class+" full", box(0, y+2, low, y+12))
			p.path(class, append(hatch(low, y+2, high, y+12), outline(low, y+2, high, y+2, high, y+12, low, y+12)...))
			words := row.says(x)
			p.text(class, words, p.Width-wordsWidth+8, y+11)
			p.Alt += []string{" before: ", "; after: "}[k] + words
		}
		p.Alt += "."
	}
	return p
}

// says writes a value with its range.
func (r *RepairRow) says(x advice.Range) string {
	number := func(x float64) string { return strconv.FormatFloat(x, 'f', r.Digits, 64) }
	return fmt.Sprintf("%s (%s to %s) %s", number(x.Value), number(x.Low), number(x.High), r.Unit)
}
