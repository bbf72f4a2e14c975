package main

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/outlook"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/problem"
)

// printTubes prints the tubes for which the depth in m, or the log's greatest, may be too deep, at
// this salinity or the log's greatest. Of each it takes the greater.
func printTubes(w io.Writer, v *vehicle.Vehicle, waterC, salinity, depth float64, log *session.Log) {
	for _, t := range advice.Tubes(v, predict.WaterDensity(waterC, max(salinity, log.SaltiestPSU())), max(depth, log.DeepestM())) {
		if !t.Met() {
			fmt.Fprintln(w, t.Line(v.Units))
		}
	}
}

// dangers lists the readings of a log that show a danger: a wet power pair, a battery too low under
// load or at rest, a tube too deep. It leaves out readings that the fit set aside.
func dangers(file string, r *fit.Result) problem.List {
	all := problem.Remarks{File: file}
	for i := range r.Dives {
		lines := r.WithoutOutliers(i).Lines
		for j := range lines {
			for _, d := range advice.LineDangers(r.ModelOf(i).Vehicle, lines[:j+1]) {
				all.Add(d.Name, lines[j].Number, "", "%s", d)
			}
		}
	}
	return all.List()
}

// keyOf maps margins to the keys of vehicle.toml that would change them.
var keyOf = map[string]string{"fuse": "battery.fuse_a", "heating": "tether.power", "motors": "battery.nominal_v", "lights' wire": "tether.signal", "relays": "relay.pull_in_v",
	"battery": "battery.minimum_v", "camera": "camera.minimum_v", "lights": "lights"}

// notMet lists the margins that predict calls not met, except those already told by a remark on the
// key or on a reading of the log. r and rep are nil if the log was not fitted.
func notMet(v *vehicle.Vehicle, at *vehicle.Places, log *session.Log, r *fit.Result, rep *findings.Report, remarks problem.List) problem.List {
	all := problem.Remarks{File: at.File}
	if r != nil { // the vehicle without what its dives taught its file
		v = r.Model.Vehicle
	}
	m := outlook.Margins(v, r, rep, log, predict.Condition{TetherOutM: v.Tether.LengthM, WaterC: 15}, 0, "")
	for _, l := range m.Lines(v.Units) {
		key := keyOf[l.Name]
		if l.Judged && !l.Met && !slices.ContainsFunc(remarks, func(p *problem.Problem) bool {
			return p.Column == key && key != "" || strings.HasPrefix(p.Text, l.Name+": ")
		}) {
			all.Add(l.Name, max(at.Line(key), at.Line(strings.Split(key, ".")[0])), "", "%s", l)
		}
	}
	return all.List()
}

// printDangers prints the dangers of a dive that was just written into a logbook.
func printDangers(w io.Writer, dir, dive string) {
	v, errV := vehicle.Open(dir)
	log, errL := session.Open(dir)
	if errV != nil || errL != nil {
		return // check reports what is wrong
	}
	i := log.Find(dive)
	if i < 0 {
		return
	}
	d := &log.Dives[i]
	if r, err := fit.Fit(v, log); err == nil {
		d = r.WithoutOutliers(i)
	}
	for _, danger := range advice.DiveDangers(v.At(dive, log.Labels()), d) {
		fmt.Fprintln(w, danger)
	}
}
