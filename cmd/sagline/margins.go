package main

import (
	"fmt"
	"io"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/problem"
)

// marginsOf judges a vehicle as built and, where it has a log, as that says
// that it is now. openV is its battery's voltage at rest, 0: what a battery
// comes to a dive with.
func marginsOf(v *vehicle.Vehicle, r *fit.Result, rep *drift.Report, log *session.Log, c predict.Condition, openV float64) advice.Margins {
	m := predict.NewModel(v)
	q := advice.Question{Cases: []advice.Case{advice.AsBuilt(m, &c)}, Condition: c, Drives: append(m.Combinations(), everything(v)),
		Rest: advice.Range{Low: v.RestBelief().Low, Value: v.Battery.RestV(), High: v.Battery.RestV()}, DepthM: max(c.DepthM, deepest(log))}
	if openV > 0 {
		q.Rest = advice.Range{Low: openV, Value: openV, High: openV}
	}
	if r != nil && len(r.Dives) > 0 {
		doubts := rep.Doubts()
		q.Cases = append(q.Cases, advice.ByLog(m, &c, drift.Present(r, rep), doubts[predict.LoopOhm], doubts[predict.BatteryOhm]))
	}
	return q.Judge()
}

// everything is all thrusters on at once.
func everything(v *vehicle.Vehicle) []int8 {
	all := make([]int8, len(v.Thrusters))
	for i := range all {
		all[i] = 1
	}
	return all
}

// deepest is the greatest depth that a log has, m.
func deepest(log *session.Log) (depth float64) {
	for i := range log.Dives {
		for _, l := range log.Dives[i].Lines {
			if l.Depth.Measured() {
				depth = max(depth, l.Depth.X)
			}
		}
	}
	return depth
}

// printTubes prints the tubes that a depth is too much for.
func printTubes(w io.Writer, v *vehicle.Vehicle, waterC, salinity, depth float64) {
	for _, t := range advice.Tubes(v, predict.WaterDensity(waterC, salinity), depth) {
		if !t.Met() {
			fmt.Fprintln(w, t.Line(v.Units))
		}
	}
}

// dangers are the readings of a log that say stop: a wet power pair, a battery
// too low under load or at rest, a tube too deep.
func dangers(v *vehicle.Vehicle, log *session.Log) problem.List {
	all := problem.Remarks{File: log.File}
	for i := range log.Dives {
		for j := range log.Dives[i].Lines {
			l := &log.Dives[i].Lines[j]
			for _, d := range advice.LineDangers(v, l) {
				all.Add(d.Name, l.Number, "", "%s", d)
			}
		}
	}
	return all.List()
}

// printDangers prints those of a dive that was just written into a logbook.
func printDangers(w io.Writer, dir, dive string) {
	v, errV := vehicle.Open(dir)
	log, errL := session.Open(dir)
	if errV != nil || errL != nil {
		return // check says what is wrong
	}
	for i := range log.Dives {
		if d := &log.Dives[i]; d.Label == dive {
			for _, danger := range advice.DiveDangers(v.Latest(), d) {
				fmt.Fprintln(w, danger)
			}
		}
	}
}
