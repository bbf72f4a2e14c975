package main

import (
	"fmt"
	"math"
	"strings"

	"github.com/spf13/cobra"

	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/session/problem"
)

// shows says in five lines what a dive shows, once it is written down.
func shows(cmd *cobra.Command, dir, dive string) error {
	w := cmd.OutOrStdout()
	r, _, err := fitLogbook(cmd, dir)
	if err != nil {
		return err
	}
	which, err := diveAt(r, dive)
	if err != nil {
		return err
	}
	rep := drift.Analyse(r)
	d := rep.Dives[which]
	fmt.Fprintf(w, "dive %s of %s, %s compared, %d set aside\n", d.Dive, d.Date, problem.Count(len(r.Dives[which].Cells), "reading"), len(d.SetAside))
	if which < r.Baseline && !rep.Judged {
		fmt.Fprintln(w, rep.Verdict())
		for _, m := range r.Mismatches() {
			fmt.Fprintf(w, "from the start: %s\n", m.Text)
		}
	} else {
		fmt.Fprintf(w, "explained by: %s\n", explained(rep, which))
	}
	fmt.Fprintf(w, "since the dive before: %s\n", since(rep, which))
	fmt.Fprintf(w, "alarms: %s\n", alarms(rep, r, which))
	for _, danger := range diveDangers(r.Model.Vehicle, r.Dives[which].Log) {
		fmt.Fprintln(w, danger)
	}
	next := "nothing is open; sagline trend " + dir
	if len(rep.Findings) > 0 {
		next = rep.Findings[0].CheckNext
	}
	fmt.Fprintf(w, "next: %s\n", next)
	return nil
}

// explained names the drifts of a dive that its own readings are sure of.
func explained(rep *drift.Report, which int) string {
	var out []string
	for _, t := range rep.Trends {
		e := rep.Dives[which].Estimates[t.Quantity]
		if sound := t.Baseline; e.Low <= sound && sound <= e.High {
			continue
		}
		words := t.Cause.Words
		unit := rep.Unit(t.Quantity)
		out = append(out, strings.TrimSpace(fmt.Sprintf("%s %s %s", words, interval(e.In(unit)), unit.Name)))
	}
	if len(out) == 0 {
		return "a sound vehicle; no loss stands out of the readings' scatter"
	}
	return strings.Join(out, "; ")
}

// since words what changed most against the dive before, in intervals.
func since(rep *drift.Report, which int) string {
	if which == 0 {
		return "it is the first"
	}
	words, most := "", 1.0
	for _, t := range rep.Trends {
		unit := rep.Unit(t.Quantity)
		a, b := rep.Dives[which-1].Estimates[t.Quantity].In(unit), rep.Dives[which].Estimates[t.Quantity].In(unit)
		half := math.Hypot(a.High-a.Low, b.High-b.Low) / 2
		if half > 0 && math.Abs(b.Value-a.Value)/half > most {
			most = math.Abs(b.Value-a.Value) / half
			name := t.Cause.Words
			words = strings.TrimSpace(fmt.Sprintf("%s %s by %s ± %s %s", name, map[bool]string{true: "up", false: "down"}[b.Value > a.Value],
				rounded(math.Abs(b.Value-a.Value), half), rounded(half, half), unit.Name))
		}
	}
	if words == "" {
		return "no change that the readings are sure of"
	}
	return words
}

func alarms(rep *drift.Report, r *fit.Result, which int) string {
	var out []string
	for _, a := range rep.Alarms {
		if a.ClearedDive != nil {
			continue
		}
		words := a.Cause.Words
		state := "open since dive " + a.RaisedDive
		if a.RaisedDive == r.Dives[which].Log.Label {
			state = "raised by this dive"
		}
		out = append(out, fmt.Sprintf("%s (%s)", words, state))
	}
	if len(out) == 0 {
		return "none"
	}
	return strings.Join(out, "; ")
}
