package main

import (
	"fmt"
	"io"
	"slices"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/fit"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/problem"
)

// printTubes prints the tubes that a depth is too much for.
func printTubes(w io.Writer, v *vehicle.Vehicle, waterC, salinity, depth float64) {
	for _, t := range advice.Tubes(v, predict.WaterDensity(waterC, salinity), depth) {
		if !t.Met() {
			fmt.Fprintln(w, t.Line(v.Units))
		}
	}
}

// dangers are the readings of a log that say stop: a wet power pair, a battery
// too low under load or at rest, a tube too deep; not those that the fit set aside.
func dangers(v *vehicle.Vehicle, log *session.Log, r *fit.Result) problem.List {
	all := problem.Remarks{File: log.File}
	for i := range log.Dives {
		aside := r.Outliers(i)
		for j := range log.Dives[i].Lines {
			l := log.Dives[i].Lines[j]
			for q := range l.Readings {
				if x := &l.Readings[q]; x.Measured() && slices.ContainsFunc(aside, func(o fit.Outlier) bool { return o.Line == l.Number && o.Column == x.Column.Name }) {
					*x = session.Value{}
				}
			}
			for _, d := range advice.LineDangers(v, &l) {
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
